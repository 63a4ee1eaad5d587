"""The styles of a Word file, as far as they decide how much room words take. All lengths are in points."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any
from xml.etree.ElementTree import Element

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
VAL = f"{W}val"
_TWIPS, _HALVES, _EIGHTHS, _LINES = 20, 2, 8, 240
"""How many of Word's units are a point, in lengths, sizes of letters, widths of borders; and of line pitch, a
line."""


@dataclass(frozen=True)
class Style:
    """How a paragraph and its words are set."""

    size: float = 12.0
    bold: bool = False
    font: str = "Arial"
    before: float = 0.0
    after: float = 0.0
    line: float = 1.0
    """Times the height of a single line; or the height itself where it is `exact`."""
    exact: bool = False
    left: float = 0.0
    right: float = 0.0
    first: float = 0.0
    """How far the first line begins to the right of the others; below 0 to the left."""
    tabs: tuple[tuple[float, bool], ...] = ()
    """Where tabs end, and whether what follows ends there (at the right), not begins."""
    keep_next: bool = False
    keep_lines: bool = False
    new_page: bool = False
    border: float = 0.0
    """Height of lines above and below, with the room between them and the words."""


@dataclass(frozen=True)
class TableStyle:
    """Room around the words of a cell, and the height of a line between rows."""

    top: float = 0.0
    bottom: float = 0.0
    sides: float = 10.8
    border: float = 0.0
    """Between rows."""
    frame: float = 0.0
    """Above the first row, and below the last."""


@dataclass(frozen=True)
class Styles:
    """Styles by their ids."""

    normal: Style = field(default_factory=Style)
    paragraphs: Mapping[str, Style] = field(default_factory=dict)
    characters: Mapping[str, Element] = field(default_factory=dict)
    """Run properties."""
    tables: Mapping[str, TableStyle] = field(default_factory=dict)
    indents: Mapping[str, Element] = field(default_factory=dict)
    """Number of a list -> its indent."""


def on(element: Element | None) -> bool:
    """Whether a switch such as w:b is there and not turned off."""
    return element is not None and element.get(VAL, "1") not in ("0", "false", "off")


def number(element: Element | None, name: str, unit: float = _TWIPS) -> float | None:
    """An attribute as points; None where it is not there."""
    written = None if element is None else element.get(f"{W}{name}")
    return None if written is None else float(written) / unit


def set_words(style: Style, properties: Element | None) -> Style:
    """A style with some run properties over it."""
    if properties is None:
        return style
    new: dict[str, Any] = {}
    if (size := number(properties.find(f"{W}sz"), "val", _HALVES)) is not None:
        new["size"] = size
    if (bold := properties.find(f"{W}b")) is not None:
        new["bold"] = on(bold)
    fonts = properties.find(f"{W}rFonts")
    if fonts is not None and (font := fonts.get(f"{W}ascii")):
        new["font"] = font
    return replace(style, **new) if new else style


def set_paragraph(style: Style, properties: Element | None, indents: Mapping[str, Element]) -> Style:
    """A style with some paragraph properties over it."""
    if properties is None or (len(properties) == 1 and properties[0].tag == f"{W}pStyle"):
        return style  # most say nothing else: there is nothing to be looked for
    new: dict[str, Any] = {}
    for tag, name in (
        ("keepNext", "keep_next"),
        ("keepLines", "keep_lines"),
        ("pageBreakBefore", "new_page"),
    ):
        if (switch := properties.find(f"{W}{tag}")) is not None:
            new[name] = on(switch)
    listed = properties.find(f"{W}numPr/{W}numId")
    for indent in (
        indents.get(listed.get(VAL, "")) if listed is not None else None,
        properties.find(f"{W}ind"),
    ):
        new |= _indent(indent)
    new |= _spacing(properties.find(f"{W}spacing"))
    if (tabs := properties.find(f"{W}tabs")) is not None:
        new["tabs"] = tuple((number(t, "pos") or 0.0, t.get(VAL) in ("right", "end")) for t in tabs)
    if (borders := properties.find(f"{W}pBdr")) is not None:
        new["border"] = sum(_line(borders.find(f"{W}{side}")) for side in ("top", "bottom"))
    return replace(style, **new) if new else style


def _indent(element: Element | None) -> dict[str, float]:
    if element is None:
        return {}
    found = {"left": number(element, "left"), "right": number(element, "right")}
    hanging = number(element, "hanging")
    found["first"] = number(element, "firstLine") if hanging is None else -hanging
    return {name: value for name, value in found.items() if value is not None}


def _spacing(element: Element | None) -> dict[str, Any]:
    if element is None:
        return {}
    found: dict[str, Any] = {"before": number(element, "before"), "after": number(element, "after")}
    if element.get(f"{W}line"):
        exact = element.get(f"{W}lineRule", "auto") == "exact"
        found |= {"exact": exact, "line": number(element, "line", _TWIPS if exact else _LINES)}
    return {name: value for name, value in found.items() if value is not None}


def _line(border: Element | None) -> float:
    """Height of a border with its distance from the words."""
    if border is None or border.get(VAL) in ("none", "nil"):
        return 0.0
    return (number(border, "sz", _EIGHTHS) or 0.0) + (number(border, "space", 1) or 0.0)


def read_styles(styles: Element, numbering: Element | None) -> Styles:
    """The styles of a file, each with what it is based on."""
    indents = _indents(numbering)
    defaults = styles.find(f"{W}docDefaults")
    base = Style()
    if defaults is not None:
        base = set_words(base, defaults.find(f"{W}rPrDefault/{W}rPr"))
        base = set_paragraph(base, defaults.find(f"{W}pPrDefault/{W}pPr"), indents)
    by_id = {each.get(f"{W}styleId", ""): each for each in styles.iter(f"{W}style")}
    made: dict[str, Style] = {}

    def style(id: str) -> Style:
        if id not in made and id in by_id:
            made[id] = base  # a style that is based on itself must not turn for ever
            parent = by_id[id].find(f"{W}basedOn")
            under = base if parent is None else style(parent.get(VAL, ""))
            under = set_words(under, by_id[id].find(f"{W}rPr"))
            made[id] = set_paragraph(under, by_id[id].find(f"{W}pPr"), indents)
        return made.get(id, base)

    kinds = {id: each.get(f"{W}type") for id, each in by_id.items()}
    paragraphs = {id: style(id) for id, kind in kinds.items() if kind == "paragraph"}
    run = {id: by_id[id].find(f"{W}rPr") for id, kind in kinds.items() if kind == "character"}
    tables = {id: _table(by_id[id]) for id, kind in kinds.items() if kind == "table"}
    named = {id: each for id, each in run.items() if each is not None}
    return Styles(paragraphs.get("Normal", base), paragraphs, named, tables, indents)


def _indents(numbering: Element | None) -> dict[str, Element]:
    if numbering is None:
        return {}
    indents = {
        each.get(f"{W}abstractNumId", ""): each.find(f"{W}lvl/{W}pPr/{W}ind")
        for each in numbering.iter(f"{W}abstractNum")
    }
    found = {
        each.get(f"{W}numId", ""): indents.get(abstract.get(VAL, ""))
        for each in numbering.iter(f"{W}num")
        if (abstract := each.find(f"{W}abstractNumId")) is not None
    }
    return {id: indent for id, indent in found.items() if indent is not None}


def _table(style: Element) -> TableStyle:
    margins = style.find(f"{W}tblPr/{W}tblCellMar")
    borders = style.find(f"{W}tblPr/{W}tblBorders")
    lines = {} if borders is None else {each.tag.removeprefix(W): _line(each) for each in borders}

    def margin(side: str, usual: float) -> float:
        found = None if margins is None else number(margins.find(f"{W}{side}"), "w")
        return usual if found is None else found

    return TableStyle(
        top=margin("top", 0.0),
        bottom=margin("bottom", 0.0),
        sides=margin("left", 5.4) + margin("right", 5.4),
        border=lines.get("insideH", 0.0),
        frame=max(lines.get("top", 0.0), lines.get("bottom", 0.0)),
    )
