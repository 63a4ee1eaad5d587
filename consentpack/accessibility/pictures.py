"""Rules about pictures, shapes, charts and text boxes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from consentpack.accessibility.file import Paragraph, WordFile
from consentpack.accessibility.finding import US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import find
from consentpack.readers.ooxml import W, kind

_IDLE = re.compile(
    r"\.(?:png|jpe?g|gif|bmp|tiff?|svg|emf|wmf)$"
    r"|^(?:image|picture|photo|graphic|chart|figure|diagram|shape|img|logo|screenshot|untitled)[\s_-]*\d*\.?$"
    r"|^(?:https?://|www\.)",
    re.IGNORECASE,
)
_VML = ("shape", "rect", "oval", "line", "group", "roundrect", "polyline", "arc", "image")


@dataclass(frozen=True)
class Picture:
    """A picture, shape, chart or group; what is inside a group has its group's words."""

    paragraph: Paragraph
    alt: str
    decorative: bool
    floats: bool
    boxed: bool
    """It holds text."""


def pictures(file: WordFile) -> Iterator[Picture]:
    for paragraph in file.paragraphs:
        for each in _outer(paragraph.element):
            if kind(each) in ("inline", "anchor"):
                yield _drawn(paragraph, each)
            else:
                yield _vml(paragraph, each)


def _outer(holder: Any) -> Iterator[Any]:
    """Drawings right in a paragraph, not those in a text box there, whose paragraphs are walked too."""
    for child in holder:
        name = kind(child)
        if name in ("inline", "anchor") or (name in _VML and "vml" in child.tag):
            yield child
        elif name not in ("Fallback", "txbxContent", "pPr", "rPr"):
            yield from _outer(child)


def _drawn(paragraph: Paragraph, element: Any) -> Picture:
    properties = next((each for each in element if kind(each) == "docPr"), None)
    alt = properties.get("descr", "") if properties is not None else ""
    inside = properties.iter() if properties is not None else ()
    idle = any(kind(each) == "decorative" and each.get("val") in ("1", "true") for each in inside)
    return Picture(paragraph, alt.strip(), idle, kind(element) == "anchor", _has_box(element))


def _vml(paragraph: Paragraph, element: Any) -> Picture:
    """A drawing of Word 2007 and before; a horizontal line says nothing and needs no words."""
    ruled = any(name.endswith("}hr") for name in element.attrib)
    floats = "position:absolute" in element.get("style", "").replace(" ", "")
    return Picture(paragraph, element.get("alt", "").strip(), ruled, floats, _has_box(element))


def _has_box(element: Any) -> bool:
    return any(kind(each) == "txbxContent" for each in element.iter())


@rule(
    "alternative-text",
    "Each picture, shape and chart has words, or is marked as decoration.",
    wcag("1.1.1"),
    US_LISTS,
)
def alternative_text(file: WordFile) -> Iterator[Fault]:
    """A text box is read by its own words."""
    for picture in pictures(file):
        if picture.decorative or picture.boxed:
            continue
        if not picture.alt:
            fix = "Right-click it, View Alt Text: say what it shows, or tick 'Mark as decorative'."
            yield Fault(picture.paragraph.where, "a picture has no words for who cannot see it.", fix)
        elif _IDLE.search(picture.alt):
            what = f"the words of a picture, “{picture.alt}”, do not say what it shows."
            yield Fault(picture.paragraph.where, what, "Right-click it, View Alt Text: say what it shows.")


@rule("floating", "Pictures, frames and tables stand in line with the text.", US_LISTS, wcag("1.3.2"))
def floating(file: WordFile) -> Iterator[Fault]:
    """What floats is read at some other place than where it is seen, or not at all.

    A header or footer has no place among the words: a picture that floats there is read as any other in it.
    """
    for picture in pictures(file):
        if picture.floats and not picture.boxed and not picture.paragraph.runs_along:
            fix = "Click on it, Layout Options: In Line with Text."
            yield Fault(picture.paragraph.where, "a picture floats beside or behind the text.", fix)
    for paragraph in file.told:
        if find(paragraph.layers, "framePr") is not None:
            yield Fault(paragraph.where, "the paragraph floats in a frame.", "Insert, Frame: Remove Frame.")
    for table in file.tables:
        if find(table.element.findall(f"{W}tblPr"), "tblpPr") is not None:
            yield Fault(table.where, "the table floats.", "Table Properties, Text Wrapping: None.")


@rule("text-box", "No words stand in text boxes or watermarks.", US_LISTS)
def text_box(file: WordFile) -> Iterator[Fault]:
    for picture in pictures(file):
        if picture.boxed:
            fix = "Move its words into the text; for a frame use Borders."
            yield Fault(picture.paragraph.where, "words stand in a text box, which may be passed over.", fix)
