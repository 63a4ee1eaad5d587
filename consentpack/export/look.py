"""How a document looks: the clinic's brand and large print, laid over our own styles.

`styles.xml` is written for A4, 12 pt and our own colour. Everything else is worked out from it here,
once per look, so that a body never carries a size, a font or a colour of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any
from xml.sax.saxutils import quoteattr

from docx.oxml import parse_xml

from consentpack.brand.colours import mixed
from consentpack.export import _ooxml as x
from consentpack.export._script import FALLBACKS
from consentpack.model import Brand, TextStyle

PAPERS = {"A4": (11906, 16838), "Letter": (12240, 15840)}
"""Width and height in twentieths of a point."""
MARGIN = 1021
"""18 mm."""
CLOSE_MARGIN = 907
"""16 mm, in a paper of a few sides; a scanner and a punch still find room."""
SHEET_MARGIN = 794
"""14 mm: printers of offices and homes reach nearer to the edge than that (common practice, no source)."""
MM = 1440 / 25.4
"""Twentieths of a point in a millimetre."""


@dataclass(frozen=True)
class Edges:
    """Millimetres above and below the text, and from the edge of the paper to header and footer."""

    above: int
    below: int
    running: int


EDGES = {"usual": Edges(22, 18, 9), "close": Edges(15, 12, 8), "sheet": Edges(14, 12, 7)}
LARGE = 1.5
"""12 pt becomes 18 pt: the size RNIB and UKAAF (G003 2019) ask for; footers and labels too."""

LARGE_CLOSE = 4 / 3
"""16 pt, the least that large print may have (RNIB; from memory), for what must fit on two sheets then."""

_COLOUR, _TINT, _WIDTH = "1B3A4B", "E6ECEF", "9865"
"""As styles.xml has them: headings and lines, the head of a table, the width of the text."""
_TINT_PERCENT = 12
_PLAIN_FONTS = ("Arial", "Liberation Sans")


@dataclass(frozen=True)
class Look:
    """What decides how a document looks, whatever it says."""

    brand: Brand = field(default_factory=Brand)
    large: bool = False
    close: bool = False
    """Whether lines stand closer, in a paper of a few sides. The letters stay as large."""
    sheet: bool = False
    """For what must fit on one sheet of paper: less room still, never smaller letters."""
    coded: bool = False
    """Whether page one carries the square of a code, as papers that were given do."""

    @property
    def margin(self) -> int:
        return SHEET_MARGIN if self.sheet else CLOSE_MARGIN if self.close else MARGIN

    @property
    def scale(self) -> float:
        return (LARGE_CLOSE if self.sheet else LARGE) if self.large else 1

    @property
    def text_width(self) -> int:
        return PAPERS[self.brand.paper][0] - 2 * self.margin

    @property
    def line_length(self) -> int:
        """Characters on a line of Arial, about: half as wide as high."""
        return int(self.text_width / (120 * self.scale))

    @property
    def most_lines(self) -> int:
        """Lines of a table's row that fit on one page for certain, below header and head of the table."""
        return 26 if self.large else 42

    @property
    def edges(self) -> Edges:
        return EDGES["sheet" if self.sheet else "close" if self.close else "usual"]

    @property
    def has_letterhead(self) -> bool:
        return bool(self.brand.logo or self.brand.letterhead)

    @property
    def has_first_header(self) -> bool:
        return self.has_letterhead or self.coded

    @property
    def fonts(self) -> tuple[str, ...]:
        """The preferred font, then what stands for it: Arial at last, which every Word has."""
        return tuple(dict.fromkeys((*self.brand.fonts, *_PLAIN_FONTS)))


def styles_xml(text: str, look: Look) -> Any:
    """Our styles in a look."""
    if look.brand.colour:
        text = text.replace(_COLOUR, look.brand.colour)
        text = text.replace(_TINT, mixed(look.brand.colour, "FFFFFF", _TINT_PERCENT))
    text = text.replace(f'"{_WIDTH}"', f'"{look.text_width}"').replace('"Arial"', quoteattr(look.fonts[0]))
    styles = parse_xml(text.encode())
    for name, style in look.brand.styles:
        _adopt(styles, name, style)
    if look.close:
        _close_up(styles)
    if look.sheet:
        _on_one_sheet(styles)
    _enlarge(styles, look.scale)
    return styles


def numbering_xml(text: str, look: Look) -> Any:
    numbering = parse_xml(text.encode())
    _enlarge(numbering, look.scale)
    return numbering


def font_table(look: Look) -> bytes:
    """Tells Word what may stand for a font that is not there (ECMA-376 part 1, 17.8.3.1)."""
    first, *others = look.fonts
    names = quoteattr(", ".join(others))
    more = "".join(
        f"<w:font w:name={quoteattr(name)}><w:altName w:val={quoteattr(alternatives)}/></w:font>"
        for name, alternatives in FALLBACKS.items()
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<w:fonts {x.NAMESPACES}>'
        f'<w:font w:name={quoteattr(first)}><w:altName w:val={names}/><w:family w:val="swiss"/>'
        f'<w:pitch w:val="variable"/></w:font>{more}</w:fonts>'
    ).encode()


def _adopt(styles: Any, name: str, taken: TextStyle) -> None:
    """Lay what a designer's style sets over ours. What holds lines together stays ours."""
    if name == "Normal":
        # words stand on dark fills too, where the table's white must win
        taken = replace(taken, colour="", bold=None)
    style = next(s for s in styles.iter(x.w("style")) if s.find(x.w("name")).get(x.w("val")) == name)
    properties = _child(style, "rPr")
    if taken.font:
        fonts = dict.fromkeys(("ascii", "hAnsi", "eastAsia", "cs"), taken.font)
        _put(properties, "rFonts", fonts)
    if taken.bold is not None:
        for tag in ("b", "bCs"):
            _put(properties, tag, {"val": "1" if taken.bold else "0"})
    if taken.colour:
        _put(properties, "color", {"val": taken.colour})
    if taken.size:
        for tag in ("sz", "szCs"):
            _put(properties, tag, {"val": str(taken.size)})
    space = {"before": taken.before, "after": taken.after, "line": taken.line}
    wanted = {key: str(value) for key, value in space.items() if value is not None}
    if wanted:
        _put(_child(style, "pPr"), "spacing", wanted)


_ORDER = {
    "style": ("name", "basedOn", "next", "uiPriority", "semiHidden", "qFormat", "pPr", "rPr"),
    "rPr": ("rFonts", "b", "bCs", "color", "sz", "szCs", "lang"),
    "pPr": ("keepNext", "keepLines", "numPr", "pBdr", "tabs", "spacing", "ind", "jc", "outlineLvl"),
}
"""Children as the schema orders them: those that occur in styles.xml, or are put there."""


def _child(parent: Any, tag: str) -> Any:
    found = parent.find(x.w(tag))
    return _put(parent, tag, {}) if found is None else found


def _put(parent: Any, tag: str, attributes: dict[str, str]) -> Any:
    """Set attributes of a child, which is put in its place if it is not there."""
    child = parent.find(x.w(tag))
    if child is None:
        order = _ORDER[parent.tag.split("}")[1]]
        child = parent.makeelement(x.w(tag))
        later = order[order.index(tag) + 1 :]
        follower = next((node for node in parent if node.tag.split("}")[1] in later), None)
        if follower is None:
            parent.append(child)
        else:
            follower.addprevious(child)
    for name, value in attributes.items():
        child.set(x.w(name), value)
    return child


_CLOSER, _CLOSEST_LINE = 0.4, 240
"""What is left of the room around paragraphs; and single lines, in 240ths. Long paragraphs say themselves
that their lines stay at 1.15, as clear print has them."""


def _close_up(styles: Any) -> None:
    """Less room between paragraphs, and single lines in cells, labels and whatever takes one line."""
    for spacing in styles.iter(x.w("spacing")):
        for name in ("before", "after"):
            if room := spacing.get(x.w(name)):
                spacing.set(x.w(name), str(round(int(room) * _CLOSER)))
        if spacing.get(x.w("line")):
            spacing.set(x.w("line"), str(_CLOSEST_LINE))
    _room_in_line(styles)
    for edges in styles.iter(x.w("tblCellMar")):
        for edge in edges:
            if edge.tag in (x.w("top"), x.w("bottom")):
                edge.set(x.w("w"), str(round(int(edge.get(x.w("w"))) * _CLOSER)))


_HEADING_LINE = 312


def _room_in_line(styles: Any) -> None:
    """The room above a heading stands in its line. Inside a border, where a paper of a few sides follows on
    from a table, LibreOffice 7.4 lost all but the first row of the next (9 of the 24 sides of a record)."""
    for style in styles.iter(x.w("style")):
        if style.get(x.w("styleId")) == "Heading2":
            border = style.find(f".//{x.w('pBdr')}")
            border.remove(border.find(x.w("top")))
            _put(_child(style, "pPr"), "spacing", {"line": str(_HEADING_LINE), "lineRule": "auto"})


_HEADINGS_ON_SHEET = {"heading 1": 36, "heading 2": 28}
"""Sizes of headings where room is short, in half points."""
_ON_SHEET = {
    "Normal": {"after": 26, "line": 240},
    "heading 1": {"after": 60, "line": 240},
    "heading 2": {"before": 0, "after": 24},
    "List Bullet": {"after": 10},
    "Cell Text": {"after": 0, "line": 240},
    "Field": {"before": 80, "after": 10},
    "Fact": {"after": 20},
    "header": {"after": 20, "line": 240},
    "Draft Mark": {"before": 20, "after": 60},
    "Letterhead": {"after": 20},
}
"""Style -> its room between lines on a sheet that must hold much, in twentieths of a point and 240ths of a
line. Words keep their size."""


def _on_one_sheet(styles: Any) -> None:
    for style in styles.iter(x.w("style")):
        name = style.find(x.w("name")).get(x.w("val"))
        for side in style.iter(x.w("top"), x.w("bottom")):
            if side.getparent().tag == x.w("tblCellMar"):
                side.set(x.w("w"), str(int(side.get(x.w("w"))) // 3))
        for border in style.iter(x.w("pBdr")):
            if (above := border.find(x.w("top"))) is not None:
                above.set(x.w("space"), "4")
        if name in _ON_SHEET:
            spacing = {key: str(value) for key, value in _ON_SHEET[name].items()}
            _put(_child(style, "pPr"), "spacing", {**spacing, "lineRule": "auto"})
        if name in _HEADINGS_ON_SHEET:
            for tag in ("sz", "szCs"):
                _put(_child(style, "rPr"), tag, {"val": str(_HEADINGS_ON_SHEET[name])})


def _enlarge(part: Any, scale: float) -> None:
    """Every size and every indent by the same share."""
    for tag in ("sz", "szCs") if scale > 1 else ():
        for size in part.iter(x.w(tag)):
            size.set(x.w("val"), str(2 * round(int(size.get(x.w("val"))) * scale / 2)))
    for indent in part.iter(x.w("ind")) if scale > 1 else ():
        for name, value in indent.attrib.items():
            indent.set(name, str(round(int(value) * scale)))
