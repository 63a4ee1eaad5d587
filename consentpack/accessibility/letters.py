"""Rules about how words look: contrast, size, capitals, underlines, lines."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from consentpack.accessibility.colours import HIGHLIGHTS, WHITE, contrast
from consentpack.accessibility.file import Paragraph, WordFile, snippet
from consentpack.accessibility.finding import PRACTICE, RNIB, UKAAF, Fault, rule, wcag
from consentpack.accessibility.looks import find, switched, value
from consentpack.accessibility.runs import Run
from consentpack.accessibility.scripts import is_complex
from consentpack.readers.ooxml import W

_UNSAID_SIZE = "20"
"""Half-points, where neither styles nor defaults say a size (ECMA-376 part 1, 17.3.2.38)."""
NORMAL_CONTRAST, LARGE_CONTRAST = 4.5, 3.0
LARGE, LARGE_BOLD = 18, 14
"""Points from which on WCAG counts text as large."""
ROOMY, TIGHT = 1.15, 1.0
"""Lines: least for running text, and for headings, cells and margins (common practice, no source)."""
LONG = 90
"""Characters that a line holds at most; longer text runs over several lines."""
MOST_CAPITALS = 3
"""Words in capitals in a row, such as a name with letters after it."""


def written(file: WordFile) -> Iterator[tuple[Paragraph, Run]]:
    """Each run with something to see."""
    for paragraph in file.told:
        for run in paragraph.runs:
            if run.text.strip():
                yield paragraph, run


def _each_once(file: WordFile, said: Callable[[WordFile, Paragraph, Run], str], fix: str) -> Iterator[Fault]:
    """One fault for each paragraph and thing said of its runs."""
    seen = set()
    for paragraph, run in written(file):
        what = said(file, paragraph, run)
        if what and (id(paragraph), what) not in seen:
            seen.add((id(paragraph), what))
            yield Fault(paragraph.where, what, fix)


# --- contrast -----------------------------------------------------------------------------------


@rule("contrast", "Words stand out from their ground: 4.5 to 1, large ones 3 to 1.", wcag("1.4.3"))
def text_contrast(file: WordFile) -> Iterator[Fault]:
    yield from _each_once(file, _pale, "Choose a darker colour for the words, or a lighter ground.")


def _pale(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    """What is wrong with a run's contrast. The ground of a text box is not known; automatic colour is
    chosen by Word to suit the ground."""
    element = find(run.layers, "color")
    ink = file.theme.colour(element) if element is not None else ""
    if not ink or paragraph.boxed:
        return ""
    ground = ground_of(file, paragraph, run)
    got, least = contrast(ink, ground), LARGE_CONTRAST if is_large(run) else NORMAL_CONTRAST
    # cut off, not rounded: 4.48 must not be shown as 4.5
    if got >= least:
        return ""
    return f"its contrast is {int(got * 100) / 100:.2f} to 1 (#{ink} on #{ground}); {least:g} is the least."


def is_large(run: Run) -> bool:
    points = size_of(run)
    return points >= LARGE or (points >= LARGE_BOLD and switched(run.layers, "b"))


def ground_of(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    """The nearest colour behind a run: its own, its paragraph's, its cell's, its table's, the page's."""
    marked = find(run.layers, "highlight")
    if marked is not None and value(marked) in HIGHLIGHTS:
        return HIGHLIGHTS[value(marked)]
    layers = [*run.layers, *paragraph.layers]
    if paragraph.cell:
        cell = paragraph.cell
        layers += [*cell.element.findall(f"{W}tcPr"), *cell.layers("tcPr"), *cell.look.whole()]
    shades = (shade for layer in layers for shade in layer.findall(f"{W}shd"))
    found = next((colour for shade in shades if (colour := file.theme.ground(shade))), "")
    return found or _page(file)


def _page(file: WordFile) -> str:
    root = file.package.xml(file.package.main)
    behind = root.find(f"{W}background")
    return (file.theme.colour(behind, "color") if behind is not None else "") or WHITE


# --- size ---------------------------------------------------------------------------------------


@rule("text-size", "Text has at least 12 points; with --large-print, 16.", UKAAF, RNIB)
def text_size(file: WordFile) -> Iterator[Fault]:
    fix = f"Give its style {file.least_size:g} points or more; then all that has the style follows."
    yield from _each_once(file, _small, fix)


def _small(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    points = size_of(run)
    return (
        f"its text has {points:g} points; {file.least_size:g} is the least."
        if points < file.least_size
        else ""
    )


def size_of(run: Run) -> float:
    """Points. Arabic and the like have a size of their own."""
    found = find(run.layers, "szCs" if is_complex(run) else "sz", "val")
    said = value(found) or _UNSAID_SIZE
    return float(said) / 2 if re.fullmatch(r"[\d.]+", said) else float(_UNSAID_SIZE) / 2


# --- letters ------------------------------------------------------------------------------------


@rule("plain-letters", "The letters are plain, without serifs or flourishes.", UKAAF)
def plain_letters(file: WordFile) -> Iterator[Fault]:
    """Known by their names: a file does not say how its letters look."""
    yield from _each_once(file, _fancy, "Give its style Arial, Calibri, Verdana or another plain font.")


_FANCY = re.compile(
    r"times|roman|georgia|garamond|cambria|palatino|book ?man|book antiqua|century(?! gothic)|baskerville"
    r"|didot|bodoni|caslon|serif(?<!sans serif)|courier|constantia|minion|perpetua|rockwell|goudy|sylfaen"
    r"|comic|brush|script|handwriting|chancery|zapfino|papyrus|impact|algerian|blackletter|old english",
    re.IGNORECASE,
)
"""Fonts with serifs or flourishes that many machines have. From memory."""


def _fancy(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    fonts = next((f for f in (layer.find(f"{W}rFonts") for layer in run.layers) if _is_latin(f)), None)
    name = file.theme.font(fonts) if fonts is not None else ""
    shows_letters = any(map(str.isalpha, run.text))
    return f"its letters are {name}." if shows_letters and _FANCY.search(name) else ""


def _is_latin(fonts: Any) -> bool:
    return fonts is not None and bool(value(fonts, "ascii") or value(fonts, "asciiTheme"))


# --- emphasis -----------------------------------------------------------------------------------


@rule("capitals", "No blocks of capitals.", UKAAF)
def capitals(file: WordFile) -> Iterator[Fault]:
    """Words are known by their shape, and in capitals all are boxes; some are spelt out aloud."""
    for paragraph in file.told:
        text = "".join(
            run.text.upper() if switched(run.layers, "caps") else run.text for run in paragraph.runs
        )
        if _most_capitals(text) > MOST_CAPITALS:
            yield Fault(
                paragraph.where, "it is in capitals.", "Home, Change Case; make it bold if it matters."
            )


_MARKS = re.compile(r"\b[A-Z]{1,3}\d+\b")
"""What stands for an item of a list, or for a drug or form by number."""


def _most_capitals(text: str) -> int:
    """How many words in capitals stand side by side. A mark such as G10 is no word: it has no other shape."""
    words = [word for word in _MARKS.sub("", text).split() if any(map(str.isalpha, word))]
    found = most = 0
    for word in words:
        found = found + 1 if word.isupper() else 0
        most = max(most, found)
    return most


@rule("underline", "Nothing but links is underlined.", UKAAF)
def underline(file: WordFile) -> Iterator[Fault]:
    yield from _each_once(file, _underlined, "Make it bold instead.")


def _underlined(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    found = find(run.layers, "u", "val")
    is_on = found is not None and value(found) != "none" and run.link is None
    return "words are underlined and are no link." if is_on else ""


@rule("italics", "Nothing is in italics.", UKAAF)
def italics(file: WordFile) -> Iterator[Fault]:
    yield from _each_once(file, _italic, "Make it bold instead, or leave it plain.")


def _italic(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    return "words are in italics." if switched(run.layers, "iCs" if is_complex(run) else "i") else ""


# --- lines --------------------------------------------------------------------------------------


@rule("justified", "Lines begin at one edge and end where they end.", UKAAF)
def justified(file: WordFile) -> Iterator[Fault]:
    """Stretched gaps are hard for who reads with difficulty."""
    for paragraph in file.told:
        if value(find(paragraph.layers, "jc")) in (
            "both",
            "distribute",
            "lowKashida",
            "mediumKashida",
            "highKashida",
        ):
            yield Fault(paragraph.where, "its lines are stretched to both edges.", "Home, Align Left.")


@rule("line-spacing", "Lines have room between them and are not cut.", RNIB, wcag("1.4.12"), PRACTICE)
def line_spacing(file: WordFile) -> Iterator[Fault]:
    for paragraph in file.told:
        running = len(paragraph.text) > LONG and not (paragraph.cell or paragraph.level or paragraph.part)
        got, least = lines_of(paragraph), ROOMY if running else TIGHT
        if got < least:
            what = f"its lines are {got:.2f} apart; {least:g} is the least."
            yield Fault(
                paragraph.where, what, f"Layout, Paragraph, Line spacing: Multiple, {least:g} or more."
            )


def lines_of(paragraph: Paragraph) -> float:
    """How far apart lines are, in lines. A fixed height is set beside the largest text, whose single
    line takes about 1.2 of its size (common practice, no source)."""
    found = find(paragraph.layers, "spacing", "line")
    said = value(found, "line")
    if not re.fullmatch(r"\d+", said):
        return 1.0
    rule_of = value(find(paragraph.layers, "spacing", "lineRule"), "lineRule") or "auto"
    if rule_of == "auto":
        return int(said) / 240
    points = max((size_of(run) for run in paragraph.runs), default=12)
    fixed = int(said) / 20 / (1.2 * points)
    return fixed if rule_of == "exact" else max(1.0, fixed)


@rule("readable-signs", "What is on the page is what is read out.", wcag("1.1.1"), PRACTICE)
def readable_signs(file: WordFile) -> Iterator[Fault]:
    """A sign of a symbol font is a picture to the eye and a wrong letter, or nothing, to the ear."""
    fix = (
        "Insert it again as a sign of the text's own font (Insert, Symbol, normal text), or say it in words."
    )
    yield from _each_once(file, _unreadable, fix)


_SYMBOLS = re.compile(r"wingdings|webdings|^symbol$|zapf ?dingbats", re.IGNORECASE)


def _unreadable(file: WordFile, paragraph: Paragraph, run: Run) -> str:
    lost = re.findall("[\ue000-\uf8ff\ufffd\u0080-\u009f]", run.text)
    if lost:
        return f"the sign U+{ord(lost[0]):04X} means nothing outside its font."
    fonts = find(run.layers, "rFonts", "ascii")
    if run.element.find(f"{W}sym") is not None or _SYMBOLS.search(value(fonts, "ascii")):
        return f"a sign is drawn with a symbol font{snippet(run.text)}."
    return ""
