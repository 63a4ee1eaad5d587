"""Rules about headings, lists and space: what is meant must be said by styles, not drawn by hand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from consentpack.accessibility.file import Paragraph, WordFile, text_of
from consentpack.accessibility.finding import PRACTICE, US_LISTS, Fault, rule, wcag
from consentpack.accessibility.looks import switched
from consentpack.readers import prose
from consentpack.readers.ooxml import W, kind

_SPACES = re.compile(r"[ \u00a0\u2002\u2003]{3,}")
_TABS = re.compile(r"\t[ \u00a0]*\t")
_BREAKS = re.compile(r"\n\s*\n")
_DRAWN = re.compile(r"_{4,}|\.{6,}|…{3,}|-{6,}|={4,}|\*{4,}")
_SIGNS = re.compile(r"^\s*[•·●○■□▪▫◦‣⁃➢➤►✓✔\uf0a7\uf0a8\uf0b7\uf0d8]")


@rule("heading-order", "Headings begin at level 1 and skip no level.", wcag("1.3.1"), US_LISTS)
def heading_order(file: WordFile) -> Iterator[Fault]:
    headings = [p for p in file.body if p.level and p.text.strip()]
    for before, heading in pairwise([None, *headings]):
        assert heading is not None
        last = before.level if before else 0
        if heading.level > last + 1:
            what = f"a heading of level {heading.level} follows {f'one of level {last}' if last else 'none'}."
            yield Fault(heading.where, what, f"Give it the style Heading {last + 1}.")


@rule("has-headings", "A text of some length has headings.", wcag("1.3.1"), wcag("2.4.6"))
def has_headings(file: WordFile) -> Iterator[Fault]:
    """One jumps from heading to heading, as the eye does. The number of words is ours."""
    size = sum(len(p.text.split()) for p in file.body)
    if size > LONG_TEXT and not any(p.level for p in file.body):
        what = f"{size} words and not one heading."
        yield Fault("the file", what, "Give each heading a style: Heading 1, then Heading 2.")


LONG_TEXT = 150
"""Words that one can hear through without headings."""


@rule("made-up-heading", "What looks like a heading is one.", wcag("1.3.1"), US_LISTS)
def made_up_heading(file: WordFile) -> Iterator[Fault]:
    """A short bold line (or one in capitals) above other text. In a table, bold words are labels; and a
    line that ends in a colon over a real list leads into it."""
    body = [p for p in file.body if p.text.strip() and not p.boxed]
    for paragraph, below in pairwise(body):
        leads_in = below.listed and paragraph.text.rstrip().endswith((":", "："))
        if _poses(paragraph) and not (_poses(below) or paragraph.cell or leads_in):
            yield Fault(
                paragraph.where,
                "it looks like a heading and is none: nobody can jump to it.",
                "Give it a heading style (Home, Styles).",
            )


def _poses(paragraph: Paragraph) -> bool:
    if paragraph.level or paragraph.is_title or paragraph.listed or "\t" in paragraph.text.strip():
        return False
    runs = [run for run in paragraph.runs if run.text.strip()]
    bold = bool(runs) and all(switched(run.layers, "b") for run in runs)
    # letters without capitals, as Arabic has, shout no more than they whisper
    letters = "".join(sign for sign in paragraph.text if sign.isupper() or sign.islower())
    cased = 2 * len(letters) > sum(map(str.isalpha, paragraph.text))
    loud = (
        cased
        and len(letters) > 3
        and (letters.isupper() or all(switched(run.layers, "caps") for run in runs))
    )
    return (bold or loud) and prose.is_handmade_heading(" ".join(paragraph.text.split()))


@rule("typed-list", "Points of a list are a real list, not typed signs or numbers.", wcag("1.3.1"), US_LISTS)
def typed_list(file: WordFile) -> Iterator[Fault]:
    """A real list is announced with how many points it has."""
    for before, here, after in _with_neighbours(file.told):
        if not here.listed and not here.level and _is_typed(here, before, after):
            typed = prose.BULLET.match(here.text)
            yield Fault(
                here.where,
                f"the sign “{typed.group().strip() if typed else ''}” of a list is typed.",
                "Delete what is typed and press Bullets or Numbering.",
            )


def _with_neighbours(told: list[Paragraph]) -> Iterator[tuple[str, Paragraph, str]]:
    texts = ["", *(p.text for p in told), ""]
    for at, paragraph in enumerate(told):
        yield texts[at], paragraph, texts[at + 2]


def _is_typed(here: Paragraph, before: str, after: str) -> bool:
    """A bullet is one by itself; a number, letter or dash only beside others of its kind. A tick box
    is a control and no list; a tick alone in a cell is an answer, and what stands beside ticks in a cell of
    its table says what they mean."""
    if here.holds("sdt", "checkBox") or not prose.BULLET.match(here.text) or _is_answer(here):
        return False
    rows = here.text.split("\n")
    near = [before, after, *rows[1:]]
    return bool(_SIGNS.match(here.text)) or any(prose.BULLET.match(text) for text in near)


_TICKS = "✓✔☐"


def _is_answer(here: Paragraph) -> bool:
    """A tick by itself in a cell, or the key to such. Any other sign by itself is a list taken apart."""
    sign = here.text.strip()[:1]
    if here.cell is None or not sign or sign not in _TICKS:
        return False
    return any(text_of(cell) == sign for row in here.cell.table.rows for cell in row)


@rule("blank-paragraph", "Space comes from styles, not from blank paragraphs.", US_LISTS, PRACTICE)
def blank_paragraph(file: WordFile) -> Iterator[Fault]:
    """A screen reader says 'blank' at each, and some think the page has ended."""
    for paragraph in file.paragraphs:
        if (paragraph.blank and not _is_needed(paragraph)) or _BREAKS.search(paragraph.text.strip()):
            yield Fault(
                paragraph.where,
                "a blank line makes space.",
                "Delete it; set the space in Layout, Spacing, Before or After.",
            )


def _is_needed(paragraph: Paragraph) -> bool:
    """Word wants a paragraph in each cell, after a table at the end, and to hold a section or page break."""
    element = paragraph.element
    alone = not any(kind(each) in ("p", "tbl") for each in element.itersiblings(preceding=True))
    last = not any(kind(each) in ("p", "tbl", "sdt") for each in element.itersiblings())
    before = element.getprevious()
    closes = last and (before is None or kind(before) == "tbl" or alone)
    breaks = paragraph.holds("sectPr") or any(b.get(f"{W}type") == "page" for b in element.iter(f"{W}br"))
    return closes or breaks or (last and bool(paragraph.part) and alone)


@rule("typed-space", "No runs of spaces or tabs set words in place.", wcag("1.3.2"), US_LISTS)
def typed_space(file: WordFile) -> Iterator[Fault]:
    for paragraph in file.told:
        text = paragraph.text.strip()
        found = "spaces" if _SPACES.search(text) else "tabs" if _TABS.search(text) else ""
        if found:
            yield Fault(
                paragraph.where,
                f"{found} in a row set words in place.",
                "Use a tab stop, an indent or a table instead.",
            )


@rule("drawn-line", "Lines to write on are not typed.", PRACTICE)
def drawn_line(file: WordFile) -> Iterator[Fault]:
    """'Underscore, underscore, underscore …'"""
    for paragraph in file.told:
        if _DRAWN.search(paragraph.text):
            fix = "Use one tab with a leader (Layout, Paragraph, Tabs), or a control to fill in."
            yield Fault(paragraph.where, "a line is typed from signs, and each is read out.", fix)
