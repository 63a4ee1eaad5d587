"""What stands around the body: header, footer, and the file's properties."""

from __future__ import annotations

from datetime import date
from xml.sax.saxutils import escape

from consentpack.direction import joined
from consentpack.export import _ooxml as x
from consentpack.export._base import CODE_PART
from consentpack.export._code import QUIET, Symbol
from consentpack.export._drawing import in_margin
from consentpack.export._frame import Frame
from consentpack.export._script import Script
from consentpack.export.look import MM, Look
from consentpack.length.fonts import font_of
from consentpack.length.letters import width_of
from consentpack.model import Logo
from consentpack.tree import PAGE, PAGES, Document, page_parts

LONGEST_RUNNING = 160
"""Characters of one line of a header or footer: an endless name would leave no room for the page."""
LONGEST_PROPERTY = 255
"""What Word allows in a property of a file."""
FOOT_SIZE, POINT = 12, 20
"""Points of the letters of a footer; twentieths in one of them."""
BESIDE_LOGO = 64
"""Characters of an address that fit on one line with the widest logo."""
LOGO_HEIGHT, LOGO_WIDTH = 540_000, 1_980_000
"""15 mm high, or as high as 55 mm of width allow; in English Metric Units, as Word counts."""


def running_parts(frame: Frame, document: Document, look: Look, script: Script) -> dict[str, str]:
    """Whose document, which reference, which page, and whether it is a draft: on every page. By part.

    The logo stands on page one, with the address, and so does the square of the document's code.
    """
    names = frame.running
    head, foot = "".join(_head(document, look, script)), "".join(_foot(document, look, script))
    made = {names.header: head, names.footer: foot}
    if look.has_first_header:
        first = "".join(_first_head(frame, document, look, script))
        made |= {names.first_header: first, names.first_footer: foot}
    return made


def code_picture(document: Document, look: Look) -> dict[str, bytes]:
    """The part that holds the square of a document's code; none of a working copy."""
    if not document.code:
        return {}
    symbol = Symbol(document.code)
    return {CODE_PART: symbol.png(symbol.dots_in(look.margin / MM))}


def _first_head(frame: Frame, document: Document, look: Look, script: Script) -> list[str]:
    pictures = frame.on_page_one
    head = _letterhead(document, look, pictures.logo, script) if look.has_letterhead else []
    head += _head(document, look, script, titled=not look.has_letterhead)
    if document.code:
        head[0] = x.with_run(head[0], _square(document, look, pictures.code, script))
    return head


def _square(document: Document, look: Look, relationship: str, script: Script) -> str:
    """The square of the code in the margin at the end of the lines, level with the first: there nothing is
    written on any paper, so it covers no word and takes no room from them."""
    symbol = Symbol(document.code)
    side = symbol.size_mm(symbol.dots_in(look.margin / MM))
    top = look.edges.running - side * QUIET / symbol.side
    return in_margin(document.labels["code"], relationship, side_mm=side, top_mm=top, rtl=script.rtl)


def _head(document: Document, look: Look, script: Script, *, titled: bool = True) -> list[str]:
    """On a sheet in one line, or as few as it takes. The first side of a sheet is not `titled` there: its
    title stands below."""
    labels = document.labels
    clinic, title = _short(document.clinic_name), _short(document.title)
    whose = (clinic, title) if look.large else (joined((x.level(clinic), x.level(title)), rtl=script.rtl),)
    head = [x.paragraph(script.words(line), "Header", rtl=script.rtl) for line in whose]
    if "invented" in labels:
        head.append(x.paragraph(script.words(_short(labels["invented"])), "Header", rtl=script.rtl))
    if look.sheet:
        said = [clinic, *([title] if titled else [])]
        said += [_short(labels["invented"])] if "invented" in labels else []
        head = [
            x.paragraph(
                script.words(joined(tuple(map(x.level, said)), rtl=script.rtl)), "Header", rtl=script.rtl
            )
        ]
    if document.draft:
        head.append(x.paragraph(script.words(_short(labels["draft"])), "DraftMark", rtl=script.rtl))
    return head


def _foot(document: Document, look: Look, script: Script) -> list[str]:
    """What the document's foot says, and which page of how many. Where that takes two lines, as in large
    print, the code begins the second: broken at its hyphen it would be copied wrong."""
    pages = "".join(
        {PAGE: x.field("PAGE"), PAGES: x.field("NUMPAGES")}.get(part) or script.words(part)
        for part in page_parts(_short(document.labels["page"]))
    )
    *first, last = (x.level(_short(part)) for part in document.foot)
    long = look.large or not _fits(" · ".join((*first, last, document.labels["page"])), look)
    lines = [first, [last]] if long else [[*first, last]]
    made = [script.words(joined(parts, rtl=script.rtl)) for parts in lines]
    made[-1] += x.tab() + pages
    return [x.paragraph(line, "Footer", rtl=script.rtl) for line in made]


def _fits(text: str, look: Look) -> bool:
    """Whether the words of a foot stand on one line, about."""
    return fits(text.replace(PAGE, "9").replace(PAGES, "99"), look, size=FOOT_SIZE)


def fits(text: str, look: Look, *, size: float, bold: bool = False, aside: float = 0) -> bool:
    """Whether words of some size stand on one line, about; size, and room that is not theirs, in points."""
    return width_in_points(text, look, size=size, bold=bold) <= look.text_width / POINT - aside


def width_in_points(text: str, look: Look, *, size: float, bold: bool = False) -> float:
    """How wide words of some size are on one line, about."""
    widths = sum(width_of(word, bold=bold) for word in text.split(" ")) + text.count(" ") * width_of(" ")
    return widths * size / 1000 * font_of(look.fonts[0]).width


def _letterhead(document: Document, look: Look, logo: str, script: Script) -> list[str]:
    """Logo and address, above the header that every page has.

    The clinic's own record has no address: nobody rings from it, and its body says no number to ring.
    """
    brand = look.brand
    mark = x.picture(logo, *_fitted(brand.logo), brand.logo.alt) if brand.logo else ""
    lines = [_short(line) for line in brand.letterhead] if document.audience == "patient" else []
    together = " · ".join(lines)
    if mark and lines and len(together) <= BESIDE_LOGO and not look.large:
        return [x.paragraph(mark + x.tab() + script.words(together), "Letterhead", rtl=script.rtl)]
    marks = [mark] if mark else []
    return [x.paragraph(each, "Letterhead", rtl=script.rtl) for each in (*marks, *map(script.words, lines))]


def _fitted(logo: Logo) -> tuple[int, int]:
    """Width and height on paper, in the logo's own proportion."""
    width = LOGO_HEIGHT * logo.width // logo.height
    if width <= LOGO_WIDTH:
        return width, LOGO_HEIGHT
    return LOGO_WIDTH, LOGO_WIDTH * logo.height // logo.width


def properties(document: Document, day: date) -> str:
    """Title, author, language and day of the file (ECMA-376 part 2, 11.1)."""
    title, author = _property(f"{document.title} – {document.reference}"), _property(document.clinic_name)
    subject, language = _property(document.labels["subject"]), _property(document.language)
    when = f'xsi:type="dcterms:W3CDTF">{day.isoformat()}T00:00:00Z'
    return (
        f"<dc:title>{title}</dc:title><dc:subject>{subject}</dc:subject><dc:creator>{author}</dc:creator>"
        "<cp:keywords></cp:keywords><dc:description></dc:description>"
        f"<cp:lastModifiedBy>{author}</cp:lastModifiedBy><cp:revision>1</cp:revision>"
        f"<dcterms:created {when}</dcterms:created><dcterms:modified {when}</dcterms:modified>"
        f"<cp:category></cp:category><dc:language>{language}</dc:language>{_identifier(document)}"
    )


def _identifier(document: Document) -> str:
    """By what the file is found again; none of a working copy."""
    return f"<dc:identifier>{_property(document.code)}</dc:identifier>" if document.code else ""


def _property(text: str) -> str:
    return escape(x.clean(text)[:LONGEST_PROPERTY])


def _short(text: str) -> str:
    """A value that fits into a header; the body has it whole."""
    return text if len(text) <= LONGEST_RUNNING else f"{text[: LONGEST_RUNNING - 1]}…"
