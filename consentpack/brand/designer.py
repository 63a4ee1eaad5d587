"""A designer's Word file: only fonts, sizes, colours and spaces of its styles are taken.

Its words would go into a patient's form unread and unscored, and its macros would run: a file that
holds either is refused, not stripped, so that nobody thinks they are there.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from xml.etree import ElementTree as ET

from consentpack.brand.colours import LEAST_CONTRAST, contrast
from consentpack.model import TextStyle

NEEDED = ("Normal", "heading 1", "heading 2", "heading 3")
TAKEN = (*NEEDED, "header", "footer")
"""Names of Word's own styles; the same in every language of Word, unlike what its menu shows."""
LEAST_SIZE = 24
"""12 pt (UKAAF G003 2019), in half-points."""
LARGEST_SIZE = 80
MOST_BYTES = 20_000_000
"""Of one part, unpacked: a small file may unpack to one that fills the memory."""

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_A = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
_HEX = re.compile(r"[0-9A-Fa-f]{6}")
_WITH_WORDS = re.compile(r"word/(document|header\d*|footer\d*|footnotes|endnotes|comments)\.xml")


@dataclass
class BaseError(Exception):
    """A file that cannot be the base; `what` finishes a sentence that begins with its name."""

    what: str
    fix: str = ""


def styles_of(data: bytes) -> tuple[tuple[str, TextStyle], ...]:
    """Style name -> what is taken of it. Raises BaseError."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = {entry.filename: entry for entry in package.infolist()}
            _refuse_macros(package, parts)
            for name in filter(_WITH_WORDS.fullmatch, parts):
                _refuse_words(_part(package, parts, name))
            styles = _part(package, parts, "word/styles.xml")
            theme = "word/theme/theme1.xml"
            fonts = _theme_fonts(_part(package, parts, theme)) if theme in parts else {}
    except (
        zipfile.BadZipFile,
        zlib.error,
        ET.ParseError,
        OSError,
        RuntimeError,
        EOFError,
        NotImplementedError,
    ):
        raise BaseError("is no Word file, or a broken one.", "Save it again in Word, as .docx.") from None
    return _checked(_resolved(styles, fonts))


def _part(package: zipfile.ZipFile, parts: Mapping[str, zipfile.ZipInfo], name: str) -> ET.Element:
    if name not in parts:
        raise BaseError(f"is no Word file: it has no {name}.", "Save it again in Word, as .docx.")
    if parts[name].file_size > MOST_BYTES:
        raise BaseError(f"unpacks to more than {MOST_BYTES // 1_000_000} MB.")
    content = package.read(name)
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise BaseError("declares entities, which no Word file does.", "Save it again in Word, as .docx.")
    return ET.fromstring(content)


def _refuse_macros(package: zipfile.ZipFile, parts: Mapping[str, zipfile.ZipInfo]) -> None:
    active = [name for name in parts if re.search(r"vba|activeX|embeddings/", name, re.I)]
    kinds = _part(package, parts, "[Content_Types].xml")
    if active or any("macroEnabled" in node.get("ContentType", "") for node in kinds):
        fix = "Save it in Word as .docx without macros and without objects from other programs."
        raise BaseError("holds macros or embedded objects.", fix)


def _refuse_words(part: ET.Element) -> None:
    words = "".join(node.text or "" for node in part.iter(f"{_W}t")).strip()
    if words:
        what = f"holds text, “{words[:40]}”. Only its styles are taken, so the text would be lost."
        raise BaseError(what, "Delete all text in the file, headers and footers too, and keep the styles.")


def _theme_fonts(theme: ET.Element) -> dict[str, str]:
    """'major' and 'minor' -> the font's name."""
    found = {}
    for kind in ("major", "minor"):
        node = theme.find(f".//{_A}{kind}Font/{_A}latin")
        if node is not None:
            found[kind] = node.get("typeface", "")
    return found


def _resolved(styles: ET.Element, fonts: Mapping[str, str]) -> dict[str, TextStyle]:
    """Every style that is taken, with what it inherits: ours may be based on another one."""
    by_id = {node.get(f"{_W}styleId", ""): node for node in styles.iter(f"{_W}style")}
    names = {_name(node): id for id, node in by_id.items() if node.get(f"{_W}type") == "paragraph"}
    defaults = styles.find(f"{_W}docDefaults")
    base = TextStyle()
    if defaults is not None:
        for path in ("pPrDefault", "rPrDefault"):
            node = defaults.find(f"{_W}{path}")
            base = base if node is None else _over(base, node, fonts)
    missing = [name for name in NEEDED if name.lower() not in names]
    if missing:
        fix = "In Word, apply each of them once and save: Word keeps only styles that were used."
        raise BaseError(f"lacks the style {' and '.join(repr(name) for name in missing)}.", fix)
    found = {}
    for name in TAKEN:
        if name.lower() in names:
            style = base
            for node in reversed(_chain(names[name.lower()], by_id)):
                style = _over(style, node, fonts)
            found[name] = style
    return found


def _name(node: ET.Element) -> str:
    name = node.find(f"{_W}name")
    return "" if name is None else name.get(f"{_W}val", "").lower()


def _chain(id: str, by_id: Mapping[str, ET.Element]) -> list[ET.Element]:
    """A style and those it is based on; a circle of styles ends where it closes."""
    found: dict[str, ET.Element] = {}
    while id in by_id and id not in found:
        found[id] = by_id[id]
        parent = by_id[id].find(f"{_W}basedOn")
        id = "" if parent is None else parent.get(f"{_W}val", "")
    return list(found.values())


def _over(style: TextStyle, node: ET.Element, fonts: Mapping[str, str]) -> TextStyle:
    """A style with what one definition sets laid over it."""
    run, space = node.find(f"{_W}rPr"), node.find(f"{_W}pPr/{_W}spacing")
    if run is not None:
        style = _run_over(style, run, fonts)
    if space is not None:
        style = replace(
            style,
            before=_number(space, "before", style.before),
            after=_number(space, "after", style.after),
            line=style.line
            if space.get(f"{_W}lineRule", "auto") != "auto"
            else _number(space, "line", style.line),
        )
    return style


def _run_over(style: TextStyle, run: ET.Element, fonts: Mapping[str, str]) -> TextStyle:
    names, size, colour, bold = (run.find(f"{_W}{tag}") for tag in ("rFonts", "sz", "color", "b"))
    if names is not None:
        themed = fonts.get(names.get(f"{_W}asciiTheme", "")[:5], "")
        style = replace(style, font=themed or names.get(f"{_W}ascii", style.font))
    if size is not None:
        style = replace(style, size=_number(size, "val", style.size) or 0)
    if colour is not None:
        value = colour.get(f"{_W}val", "")
        style = replace(style, colour=value.upper() if _HEX.fullmatch(value) else "")
    if bold is not None:
        style = replace(style, bold=bold.get(f"{_W}val", "1") not in ("0", "false", "off"))
    return style


def _number(node: ET.Element, name: str, otherwise: int | None) -> int | None:
    value = node.get(f"{_W}{name}", "")
    return int(value) if value.isascii() and value.isdigit() and len(value) < 5 else otherwise


def _checked(styles: dict[str, TextStyle]) -> tuple[tuple[str, TextStyle], ...]:
    """What would be hard to read is refused, with what was measured."""
    for name, style in styles.items():
        size = style.size or 20  # Word's own size where no style gives one
        if size < LEAST_SIZE or size > LARGEST_SIZE:
            right = f"from {LEAST_SIZE // 2} to {LARGEST_SIZE // 2} pt is right"
            what = f"has {size / 2:g} pt in the style '{name}'; {right}."
            raise BaseError(what, "Change that style in Word and save.")
        found = contrast(style.colour or "000000", "FFFFFF")
        if found < LEAST_CONTRAST:
            what = f"has the colour #{style.colour} in the style '{name}': {found:.2f} to 1 on white."
            raise BaseError(what, f"Words need {LEAST_CONTRAST} to 1 (WCAG 1.4.3). Take a darker shade.")
    return tuple(styles.items())
