"""Word files: paragraphs, lists, cells, text boxes and notes in the order of the page."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from consentpack.errors import Problem, ReadError
from consentpack.limits import DAMAGED, OverLimit, bounded_zip
from consentpack.readers import prose
from consentpack.readers.build import Builder, Parts
from consentpack.readers.letters import empty, known_kind, too_large
from consentpack.readers.ooxml import Line, Look, Page, W, blocks, kind, words
from consentpack.tree import Source

_SAVE = "Open it in Word or LibreOffice and save it as a Word document (.docx)."
_BROKEN = (KeyError, ValueError, AttributeError, TypeError, IndexError)
"""What python-docx and our own walk meet in XML that is no WordprocessingML."""
_STRICT = b"purl.oclc.org/ooxml"


def read_word(data: bytes, file: str) -> Parts:
    """The parts of a .docx. Raises ReadError when it is none."""
    document = _opened(data, file)
    try:
        return _parts(document, file)
    except (SyntaxError, *_BROKEN):  # the first is lxml's kind of error for a part that is no XML
        raise damaged(file) from None


def _parts(document: Any, file: str) -> Parts:
    body = document.element.body
    if body is None or any(kind(each) == "altChunk" for each in blocks(body)):
        what = (
            "it holds another file that Word has not yet taken in." if body is not None else "it has no body."
        )
        raise ReadError(Problem(file, what, _SAVE))
    builder = Builder(file)
    page = Page(_look(document.part))
    lines = list(page.lines(body))
    for place, line in enumerate(lines):
        _take(builder, line, file, alone=_is_alone(lines, place))
    for line in _notes(document.part, page):
        _take(builder, line, file, alone=True)
    for name in ("header", "footer"):
        for text in _margins(document.part, name):
            builder.unread(text, Source(f"{file}, {name}"))
    return builder.parts()


# --- opening -------------------------------------------------------------------------------


def _opened(data: bytes, file: str) -> Any:
    """python-docx's document. Raises ReadError that says what the file is instead."""
    import docx  # noqa: PLC0415 - python-docx is slow to load
    from docx.opc.exceptions import PackageNotFoundError  # noqa: PLC0415

    if not data:
        raise empty(file)
    check_zip(data, file)
    try:
        return docx.Document(io.BytesIO(data))
    except (PackageNotFoundError, SyntaxError, *DAMAGED):
        raise damaged(file) from None
    except _BROKEN:
        raise ReadError(Problem(file, "this is not a Word document (.docx).", _SAVE)) from None


def damaged(file: str) -> ReadError:
    fix = "Let Word repair it (File, Open, Open and Repair) and save it, or get it again from where it came."
    return ReadError(Problem(file, "the file is damaged: what is inside cannot be unpacked.", fix))


def check_zip(data: bytes, file: str) -> None:
    """Say what a file is that is no Word file, or more than any form, before anything is built of it."""
    try:
        with bounded_zip(data) as package:
            _check_members(package, file)
            if "_rels/.rels" in package.names and _STRICT in package.read("_rels/.rels"):
                fix = "Open it in Word and save it as 'Word Document', not as 'Strict Open XML Document'."
                raise ReadError(Problem(file, "this is a Strict Open XML file.", fix))
            package.check_tags()
    except OverLimit as error:
        raise too_large(error, file) from None
    except DAMAGED:
        found = known_kind(data)
        if found.startswith("locked"):
            fix = "Open it in Word, take the password off (File, Info, Protect Document) and save it."
            raise ReadError(Problem(file, f"the file is {found}.", fix)) from None
        if not found or data.startswith(b"PK"):
            raise damaged(file) if data.startswith(b"PK") else _none(file, "not a Word document") from None
        raise _none(file, found) from None


def _none(file: str, found: str) -> ReadError:
    return ReadError(Problem(file, f"its name ends in .docx, but this is {found}.", _SAVE))


def _check_members(package: bounded_zip, file: str) -> None:
    if package.locked:
        fix = "Unpack it with its password, or save it in Word without one."
        raise ReadError(Problem(file, "the file is locked with a password.", fix))
    if {"mimetype", "content.xml"} <= package.names:
        raise _none(file, "a LibreOffice file (such as .odt)")
    if "[Content_Types].xml" not in package.names:
        raise _none(file, "a zip file of another kind")


# --- styles, notes, margins ------------------------------------------------------------------


def _look(part: Any) -> Look:
    """Styles and lists, from their parts where the file has them."""
    look = Look()
    styles = _related(part, "styles")
    for style in styles.iter(f"{W}style") if styles is not None else ():
        look.styles[style.get(f"{W}styleId", "")] = style
        if style.get(f"{W}default") in ("1", "true") and style.get(f"{W}type") == "paragraph":
            look.default = style.get(f"{W}styleId", "")
    numbering = _related(part, "numbering")
    if numbering is not None:
        look.formats = dict(_formats(numbering))
    return look


def _formats(numbering: Any) -> Iterator[tuple[tuple[str, str], str]]:
    """List and level -> how its points are marked."""
    levels = {
        abstract.get(f"{W}abstractNumId"): {
            level.get(f"{W}ilvl"): level.find(f"{W}numFmt").get(f"{W}val")
            for level in abstract.iter(f"{W}lvl")
            if level.find(f"{W}numFmt") is not None
        }
        for abstract in numbering.iter(f"{W}abstractNum")
    }
    for number in numbering.iter(f"{W}num"):
        link = number.find(f"{W}abstractNumId")
        for level, form in levels.get(link.get(f"{W}val") if link is not None else "", {}).items():
            yield (number.get(f"{W}numId"), level), form


def _related(part: Any, name: str) -> Any:
    """The XML of a part the document points to, such as its styles; None where it has none."""
    return next(iter(_all_related(part, name)), None)


def _all_related(part: Any, name: str) -> list[Any]:
    from docx.oxml import parse_xml  # noqa: PLC0415

    found = [rel for rel in part.rels.values() if not rel.is_external and rel.reltype.endswith(f"/{name}")]
    return [parse_xml(rel.target_part.blob) for rel in found]


def _margins(part: Any, name: str) -> list[str]:
    """What the headers or footers say, each text once: they are printed on every page."""
    texts = [" ".join(words(p).split()) for root in _all_related(part, name) for p in root.iter(f"{W}p")]
    return list(dict.fromkeys(filter(None, texts)))


def _notes(part: Any, page: Page) -> Iterator[Line]:
    """Footnotes, then endnotes, by the number they have on the page."""
    for name in ("footnote", "endnote"):
        root = _related(part, f"{name}s")
        held = {n.get(f"{W}id"): n for n in root.iter(f"{W}{name}")} if root is not None else {}
        marks = [id for each, id in page.notes if each == name]
        for number, id in enumerate(marks, 1):
            if id in held:
                yield from page.lines(held[id], f"{name} {number}")


# --- paragraphs to the builder ---------------------------------------------------------------


def _is_alone(lines: list[Line], place: int) -> bool:
    """Whether a line that looks like a point of a list has no other beside it."""
    near = [lines[n] for n in (place - 1, place + 1) if 0 <= n < len(lines)]
    return not any(_is_point(line) for line in near)


def _is_point(line: Line) -> bool:
    return bool(line.listed) or bool(prose.BULLET.match(line.text))


def _take(builder: Builder, line: Line, file: str, *, alone: bool) -> None:
    """One paragraph; line breaks inside it part it where they do for the eye."""
    source = Source(f"{file}, {line.place}")
    whole = " ".join(line.text.split())
    if line.unread:
        return builder.unread(whole, source)
    made = line.stands_out and prose.is_handmade_heading(whole) and (alone or not _is_point(line))
    if line.heading and not line.in_row:
        return builder.heading(whole, source)
    if line.label or (line.in_row and (made or line.heading)):
        return builder.label(whole, source)
    if made and not prose.is_name(whole):
        return builder.heading(whole, source)
    for number, (_, text) in enumerate(prose.joined([(source, row) for row in line.text.split("\n")])):
        _piece(builder, text, line, source, first=number == 0)


def _piece(builder: Builder, text: str, line: Line, source: Source, *, first: bool) -> None:
    typed = prose.BULLET.match(text)
    if line.listed and not first and not typed:
        builder.more(text, source)
    elif line.listed or typed:
        numbered = line.listed == "number" or (not line.listed and prose.is_numbered(text))
        builder.item(text[typed.end() :] if typed else text, source, numbered=numbered)
    else:
        builder.paragraph(text, source, in_row=line.in_row)
