"""Pictures inside a Word document: DrawingML as a string, beside the parts that hold the pictures."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.sax.saxutils import quoteattr

from consentpack.export._ooxml import clean
from consentpack.export._relations import Relations
from consentpack.export.pictograph import drawing, png
from consentpack.tree import Pictograph

_DRAWINGML = "http://schemas.openxmlformats.org/drawingml/2006"
LOGO_ID, CODE_ID = 1, 2
_EMU_PER_MM = 36_000
_DPI = 600
"""What office printers print; black and white alone has no soft edges to hide coarser dots."""


@dataclass
class Pictures:
    """The pictures of one document. Word wants each to have an id of its own."""

    relations: Relations
    scale: float = 1
    """How much larger than usual: in large print the pictures grow with the words."""
    ids: int = CODE_ID
    """The last id given; logo and code in the header have the first two."""
    parts: dict[tuple[int, int, bool], str] = field(default_factory=dict)
    """(marked, total) -> relationship: a picture that occurs twice is kept once."""

    def run(self, pictograph: Pictograph) -> str:
        """A run that holds a pictograph, in line with the text, with its words for who cannot see it."""
        self.ids += 1
        width, height = (round(side * self.scale * _EMU_PER_MM) for side in drawing(pictograph).size_mm)
        return _inline(self.ids, clean(pictograph.alt), self._part(pictograph), width, height)

    def _part(self, pictograph: Pictograph) -> str:
        key = pictograph.marked, pictograph.total, pictograph.mirrored
        if key not in self.parts:
            self.parts[key] = self.relations.picture(png(pictograph, _DPI))
        return self.parts[key]


def _inline(id: int, alt: str, relationship: str, width: int, height: int) -> str:
    """Children in the order of the schema (ECMA-376 part 1, 20.4.2.8 and 20.2.2)."""
    size = f'cx="{width}" cy="{height}"'
    named = f'id="{id}" name="pictograph {id}"'
    return (
        f'<w:r><w:drawing><wp:inline {_NAMES} distT="0" distB="0" distL="0" distR="0">'
        f"<wp:extent {size}/>{_picture(named, alt, relationship, size)}</wp:inline></w:drawing></w:r>"
    )


def in_margin(alt: str, relationship: str, *, side_mm: float, top_mm: float, rtl: bool) -> str:
    """A run that holds the square of a code in the margin, close to where lines end. It takes no room from
    the lines.

    It is placed by the margin: a distance from the paper's edge is counted from the right by LibreOffice on
    a page from right to left. Children in the order of the schema (ECMA-376 part 1, 20.4.2.3).
    """
    side, top = round(side_mm * _EMU_PER_MM), round(top_mm * _EMU_PER_MM)
    size = f'cx="{side}" cy="{side}"'
    margin, edge = ("leftMargin", "right") if rtl else ("rightMargin", "left")
    places = (
        f'<wp:positionH relativeFrom="{margin}"><wp:align>{edge}</wp:align></wp:positionH>'
        f'<wp:positionV relativeFrom="page"><wp:posOffset>{top}</wp:posOffset></wp:positionV>'
    )
    return (
        f'<w:r><w:drawing><wp:anchor {_NAMES} distT="0" distB="0" distL="0" distR="0" simplePos="0" '
        'relativeHeight="1" behindDoc="0" locked="0" layoutInCell="0" allowOverlap="1">'
        f'<wp:simplePos x="0" y="0"/>{places}<wp:extent {size}/><wp:effectExtent l="0" t="0" r="0" b="0"/>'
        f"<wp:wrapNone/>{_picture(_CODE, clean(alt), relationship, size)}</wp:anchor></w:drawing></w:r>"
    )


_NAMES = f'xmlns:wp="{_DRAWINGML}/wordprocessingDrawing" xmlns:a="{_DRAWINGML}/main"'
_CODE = f'id="{CODE_ID}" name="code"'


def _picture(named: str, alt: str, relationship: str, size: str) -> str:
    """What a drawing holds, in line or floating."""
    return (
        f"<wp:docPr {named} descr={quoteattr(alt)}/>"
        '<wp:cNvGraphicFramePr><a:graphicFrameLocks noChangeAspect="1"/></wp:cNvGraphicFramePr>'
        f'<a:graphic><a:graphicData uri="{_DRAWINGML}/picture">'
        f'<pic:pic xmlns:pic="{_DRAWINGML}/picture"><pic:nvPicPr><pic:cNvPr {named}/><pic:cNvPicPr/>'
        f'</pic:nvPicPr><pic:blipFill><a:blip r:embed="{relationship}"/>'
        "<a:stretch><a:fillRect/></a:stretch></pic:blipFill>"
        f'<pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext {size}/></a:xfrm>'
        '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic>'
        "</a:graphicData></a:graphic>"
    )
