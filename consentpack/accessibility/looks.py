"""What Word makes of styles: the look of a paragraph or run after all that it takes from elsewhere.

A look is searched in layers, the nearest first: what stands on the run, its character style, the
paragraph's style and those it is based on, the table's style, the file's defaults.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from consentpack.readers.ooxml import W

Layers = tuple[Any, ...]
_OFF = ("0", "false", "off", "none")


def value(element: Any, name: str = "val") -> str:
    return "" if element is None else str(element.get(f"{W}{name}", ""))


def find(layers: Iterable[Any], tag: str, attribute: str = "") -> Any:
    """The nearest element of a name (that has an attribute); None where nothing says it."""
    for layer in layers:
        found = layer.find(f"{W}{tag}")
        if found is not None and (not attribute or found.get(f"{W}{attribute}") is not None):
            return found
    return None


def switched(layers: Iterable[Any], tag: str) -> bool:
    """Whether a property such as bold is on."""
    found = find(layers, tag)
    return found is not None and value(found) not in _OFF


class Looks:
    """The styles of one file."""

    def __init__(self, styles: Any):
        found = list(styles.iter(f"{W}style")) if styles is not None else []
        self._styles = {value(style, "styleId"): style for style in found}
        self._usual = {
            value(s, "type"): value(s, "styleId") for s in found if value(s, "default") in ("1", "true")
        }
        defaults = styles.find(f"{W}docDefaults") if styles is not None else None
        self.run_defaults = _inside(defaults, "rPrDefault/rPr")
        self.paragraph_defaults = _inside(defaults, "pPrDefault/pPr")

    def chain(self, id: str, of: str = "paragraph") -> Iterator[Any]:
        """A style and those it is based on. Ends also where they are based on each other in a ring."""
        seen: set[str] = set()
        id = id or self._usual.get(of, "")
        while id in self._styles and id not in seen:
            seen.add(id)
            yield self._styles[id]
            id = value(self._styles[id].find(f"{W}basedOn"))

    def name(self, id: str) -> str:
        return value(next((s.find(f"{W}name") for s in self.chain(id)), None)).lower()

    def layers(self, id: str, properties: str, of: str = "paragraph") -> Layers:
        """The pPr or rPr of a style and of those it is based on."""
        return tuple(p for style in self.chain(id, of) for p in style.findall(f"{W}{properties}"))

    def default_language(self) -> str:
        """The language of text that says nothing itself."""
        return value(find((*self.layers("", "rPr"), *self.run_defaults), "lang", "val"))


def _inside(element: Any, path: str) -> Layers:
    if element is None:
        return ()
    return tuple(element.findall("/".join(f"{W}{step}" for step in path.split("/"))))


class TableLook:
    """What a table's style says of one of its cells, row and column counted from 0."""

    def __init__(self, looks: Looks, table: Any):
        properties = table.find(f"{W}tblPr")
        self._direct = () if properties is None else (properties,)
        self._style = value(find(self._direct, "tblStyle"))
        self._look = find(self._direct, "tblLook")
        self._chain = tuple(looks.chain(self._style, "table"))

    def layers(self, properties: str, row: int, column: int, rows: int, columns: int) -> Layers:
        """The rPr, pPr or tcPr of the style for this cell, those for parts of a table first."""
        wanted = list(self._parts(row, column, rows, columns))
        parts = [
            p
            for w in wanted
            for style in self._chain
            for p in style.findall(f"{W}tblStylePr")
            if value(p, "type") == w
        ]
        return tuple(e for holder in (*parts, *self._chain) for e in holder.findall(f"{W}{properties}"))

    def whole(self) -> Layers:
        """Properties of the table itself, then of its styles."""
        return (*self._direct, *(p for style in self._chain for p in style.findall(f"{W}tblPr")))

    def _parts(self, row: int, column: int, rows: int, columns: int) -> Iterator[str]:
        here = {
            "firstRow": row == 0, "lastRow": row == rows - 1,
            "firstColumn": column == 0, "lastColumn": column == columns - 1,
        }  # fmt: skip
        short = {"firstColumn": "firstCol", "lastColumn": "lastCol"}
        yield from (short.get(part, part) for part, is_here in here.items() if is_here and self._wants(part))
        band = row - self._wants("firstRow")  # the head is outside the bands
        if band >= 0 and not self._wants("noHBand"):
            yield "band1Horz" if band % 2 == 0 else "band2Horz"

    def _wants(self, part: str) -> bool:
        """Whether w:tblLook asks for a part, by its attribute or by its bit (17.4.56)."""
        bits = {"firstRow": 0x20, "lastRow": 0x40, "firstColumn": 0x80, "lastColumn": 0x100, "noHBand": 0x200}
        if self._look is None:
            return False
        if said := value(self._look, part):
            return said not in _OFF
        number = value(self._look)
        return bool(re.fullmatch("[0-9A-Fa-f]{1,4}", number)) and bool(int(number, 16) & bits[part])
