"""The runs of a paragraph: words in one look, with the link they are part of."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from consentpack.accessibility.looks import Layers, switched, value
from consentpack.readers.ooxml import W, kind

Links = Mapping[str, tuple[str, str]]
"""Relationship id -> kind and target."""
_SIGNS = {"t": None, "tab": "\t", "ptab": "\t", "br": "\n", "cr": "\n", "noBreakHyphen": "-", "sym": "•"}
_OPENED = ("ins", "moveTo", "smartTag", "customXml", "sdt", "sdtContent", "fldSimple", "bdo", "dir")
_LINK = re.compile(r'^\s*HYPERLINK\s+(?:\\l\s+)?"([^"]*)"')


@dataclass(frozen=True)
class Run:
    """Words in one look."""

    element: Any
    text: str
    link: Any = None
    """The w:hyperlink or field the words are part of; None outside links."""
    address: str = ""
    layers: Layers = ()


def runs_in(paragraph: Any, links: Links, layers: Callable[[Any], Layers]) -> Iterator[Run]:
    """The runs that show words, in order."""
    fields = _Fields()
    for each, link in _run_elements(paragraph, None):
        fields.pass_by(each)
        if text := "".join(_shown_text(each)):
            holder, address = fields.link() if link is None else (link, _address(link, links))
            yield Run(each, text, holder, address, layers(each))


@dataclass
class _Fields:
    """The fields that are open: their begin, code and end stand in runs of their own (17.16.18)."""

    open: list[tuple[Any, list[str]]] = field(default_factory=list)
    """The run each began in, and the pieces of its code."""

    def pass_by(self, run: Any) -> None:
        for child in run:
            name, said = kind(child), value(child, "fldCharType")
            if name == "fldChar" and said == "begin":
                self.open.append((run, []))
            elif name == "fldChar" and said == "end" and self.open:
                self.open.pop()
            elif name == "instrText" and self.open:
                self.open[-1][1].append(child.text or "")

    def link(self) -> tuple[Any, str]:
        """The first open field that is a link, and where it leads."""
        for begin, code in self.open:
            if found := _LINK.match("".join(code)):
                return begin, found[1]
        return None, ""


def _run_elements(holder: Any, link: Any) -> Iterator[tuple[Any, Any]]:
    """Runs with the link they stand in; deleted and hidden ones are passed over."""
    for child in holder:
        name = kind(child)
        if name == "r" and not switched(child.findall(f"{W}rPr"), "vanish"):
            yield child, link
        elif name == "hyperlink" or (name == "fldSimple" and _LINK.match(value(child, "instr"))):
            yield from _run_elements(child, child)
        elif name in _OPENED:
            yield from _run_elements(child, link)


def _shown_text(run: Any) -> Iterator[str]:
    for child in run:
        sign = _SIGNS.get(kind(child), "")
        yield (child.text or "") if sign is None else sign


_ID = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def _address(link: Any, links: Links) -> str:
    """Where a link leads; an anchor inside the document begins with '#'."""
    if found := _LINK.match(value(link, "instr")):
        return found[1]
    outside = links.get(link.get(_ID, ""), ("", ""))[1]
    return f"{outside}#{value(link, 'anchor')}" if value(link, "anchor") else outside
