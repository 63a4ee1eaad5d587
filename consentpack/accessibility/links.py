"""Rules about links and about what is to be filled in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from consentpack.accessibility.file import Paragraph, WordFile, snippet
from consentpack.accessibility.finding import US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import find, value
from consentpack.readers.ooxml import W, kind

_IDLE = re.compile(
    r"(?:please )?(?:click |press |see |follow )?(?:here|this|this link|link|more|read more|learn more"
    r"|more info(?:rmation)?|details|this page|page|website|web ?site|go|download|continue)[.!…>»]*",
    re.IGNORECASE,
)
_ADDRESS = re.compile(r"(?:https?://|www\.)\S+", re.IGNORECASE)
_NO_FIELD = ("docPartObj", "docPartList", "group", "bibliography", "citation", "equation", "repeatingSection")


@dataclass(frozen=True)
class Link:
    paragraph: Paragraph
    text: str
    address: str


def links(file: WordFile) -> Iterator[Link]:
    """Each link once, though its words may be in several runs."""
    for paragraph in file.told:
        found: dict[Any, tuple[str, str]] = {}
        for run in paragraph.runs:
            if run.link is not None:
                found[run.link] = (found.get(run.link, ("", ""))[0] + run.text, run.address)
        for text, address in found.values():
            yield Link(paragraph, " ".join(text.split()), address)


@rule("link-text", "The words of a link say where it leads.", wcag("2.4.4"), US_LISTS)
def link_text(file: WordFile) -> Iterator[Fault]:
    """Links are also read as a list, without the words around them."""
    fix = "Right-click it, Edit Hyperlink, Text to display: name the page it leads to."
    for link in links(file):
        if not link.text or _IDLE.fullmatch(link.text):
            yield Fault(link.paragraph.where, f"the link “{link.text}” does not say where it leads.", fix)
        elif _ADDRESS.fullmatch(link.text):
            what = f"a link is a bare address{snippet(link.text)}, which is read out sign by sign."
            yield Fault(link.paragraph.where, what, fix)


@rule("same-links", "Links with the same words lead to the same page.", wcag("2.4.4"))
def same_links(file: WordFile) -> Iterator[Fault]:
    first: dict[str, str] = {}
    for link in links(file):
        if link.text and first.setdefault(link.text.casefold(), link.address) != link.address:
            what = f"“{link.text}” leads to another page than the same words before."
            yield Fault(link.paragraph.where, what, "Say in each what is different.")


@rule("field-title", "Each field to fill in has a title.", wcag("3.3.2"), wcag("1.3.1"))
def field_title(file: WordFile) -> Iterator[Fault]:
    for where, element in _controls(file):
        if not value(find((element,), "alias")).strip():
            fix = "Developer, Properties: type in Title what belongs there."
            yield Fault(where, "a control to fill in has no title.", fix)
    for paragraph in file.paragraphs:
        for old in paragraph.element.iter(f"{W}ffData"):
            if not (value(find((old,), "helpText")) or value(find((old,), "statusText"))):
                fix = "Double-click it, Add Help Text: say what belongs there."
                yield Fault(paragraph.where, "a form field has no help text.", fix)


def _controls(file: WordFile) -> Iterator[tuple[str, Any]]:
    """The properties of each content control; a table of contents and the like are no fields."""
    by_element = {paragraph.element: paragraph.where for paragraph in file.paragraphs}
    for _, _, holder in file.stories:
        for properties in holder.iter(f"{W}sdtPr"):
            if not any(kind(each) in _NO_FIELD for each in properties):
                yield _place(properties, by_element), properties


def _place(properties: Any, by_element: dict[Any, str]) -> str:
    """The paragraph a control is in, or the first that is in it."""
    control = properties.getparent()
    near = (*control.iterancestors(f"{W}p"), *control.iter(f"{W}p"))
    return next((by_element[p] for p in near if p in by_element), "the file")
