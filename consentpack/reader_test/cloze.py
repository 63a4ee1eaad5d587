"""Gaps in a text: every fifth word, from the second sentence on, and all of one length."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from consentpack.errors import Problem, ReadError
from consentpack.readability import parts, root, scored_paragraphs
from consentpack.tree import (
    Document,
    Field,
    Fields,
    Heading,
    Items,
    Node,
    Paragraph,
    Run,
    Section,
    bodies,
    text_of,
)

EVERY = 5
"""Every fifth word (Taylor 1953)."""
GAPS = 50
"""Gaps of a sheet: those of a passage of 250 words, which is usual (Bormuth 1968, J Reading 11:429; from
memory). From fewer the share that is right says less."""
FEWEST_GAPS = 20
"""Fewer are no test: one word more or less would be 5 in 100."""
BLANK = "_" * 15
"""One length for every gap: a longer line for a longer word would give it away (Taylor 1953). A screen reader
reads such lines out sign by sign; the sheet is for pen and paper, and the how-to says so."""
_FIRST = re.compile(r".*?[.!?][\"”’)]*(?=\s+[A-Z“\"(]|\s*$)", re.DOTALL)
"""The first sentence: up to a stop before a capital."""
_CORE = re.compile(r"^(\W*)(.*?)(\W*)$", re.DOTALL)


@dataclass(frozen=True)
class Gap:
    """One word that was taken out."""

    number: int
    word: str
    before: str
    """A few words before it, to find it by."""


@dataclass(frozen=True)
class Cloze:
    """A sheet to fill in, and its key."""

    name: str
    sheet: Document
    gaps: tuple[Gap, ...]


@dataclass
class _Cutter:
    """Counts words through a document, and takes every fifth out."""

    every: int
    most: int
    gaps: list[Gap] = field(default_factory=list)
    _since: int = 0
    _last: tuple[str, ...] = ()

    @property
    def done(self) -> bool:
        return len(self.gaps) >= self.most

    def cut(self, sentence: str) -> str:
        """A sentence with its gaps."""
        return " ".join(self._word(word) for word in sentence.split())

    def _word(self, word: str) -> str:
        start, core, end = _CORE.match(word).groups()  # type: ignore[union-attr]
        if not any(map(str.isalnum, core)):
            return word
        self._since += 1
        made = word
        if self._since == self.every and not self.done:
            self._since = 0
            self.gaps.append(Gap(len(self.gaps) + 1, core, " ".join(self._last)))
            made = f"{start}{BLANK} ({len(self.gaps)}){end}"
        self._last = (*self._last, word)[-4:]
        return made


def cloze_of(document: Document, *, name: str, every: int = EVERY, most: int = GAPS) -> Cloze:
    """The sheet of an English document. The first sentence stays whole, and so does all after the last gap.

    Headings stay, and count as no words. Raises ReadError where there is too little text, or none in English.
    """
    if root(document.language) != "en":
        what = f"'{document.language}' has no sheet: what it says to readers is not translated."
        raise ReadError(Problem(name, what, "Only English texts have one."))
    cutter = _Cutter(every, most)
    sections = tuple(_sections(document, cutter))
    if len(cutter.gaps) < FEWEST_GAPS:
        what = f"there is text for {len(cutter.gaps)} gaps, and a test needs {FEWEST_GAPS}."
        raise ReadError(Problem(name, what, f"Take a text of {every * FEWEST_GAPS} words or more."))
    title = "Fill in the missing words"
    sheet = replace(
        document,
        kind="reader-test",
        title=title,
        sections=(_how_to(name), *sections),
        lead=(),
        notice="",
        ring=(),
        code="",
        draft=(),
        audience="patient",
        clinic_name="Test of a text with readers",
        reference=name,
        issued="",
        labels={
            "page": "Page {page} of {pages}",
            "subject": title,
            "reference": "Text:",
            "version": f"{len(cutter.gaps)} words are missing",
        },
    )
    return Cloze(name, sheet, tuple(cutter.gaps))


def _how_to(name: str) -> Section:
    said = (
        "Some words are missing. Write in each gap the one word that you think stood there.",
        "Guess if you do not know. Spelling does not matter. There is no time limit.",
        "This is a test of our text, and not of you. Please do not write your name.",
    )
    fields = Fields("For us", (Field("Number of the reader"), Field("Day", "date")))
    return Section(
        "how-to", "What to do", (*(Paragraph((Run(line),), scored=False) for line in said), fields)
    )


def _sections(document: Document, cutter: _Cutter) -> Iterator[Section]:
    """The parts until the last gap, and the paragraph in which it stands."""
    whole = True  # the first sentence of all, which shows what it is about
    for id, heading, nodes in parts(document):
        made: list[Node] = []
        for node in nodes:
            for body in bodies(node):
                if cutter.done:
                    break
                new, whole = _gapped(body, cutter, whole)
                made += new
        if made:
            yield Section(id, heading, tuple(made))


def _gapped(body: Node, cutter: _Cutter, whole: bool) -> tuple[list[Node], bool]:
    if isinstance(body, Heading):
        return [body], whole
    made = []
    for paragraph in scored_paragraphs((body,)):
        text = _cut(text_of(paragraph.runs), cutter, whole)
        whole = False
        made.append(Paragraph((Run(text),), paragraph.source))
    if isinstance(body, Items) and made:
        return [Items(tuple(made), body.numbered)], whole
    return [*made], whole


def _cut(text: str, cutter: _Cutter, whole: bool) -> str:
    """A paragraph with its gaps, its first sentence whole where it is the first of all."""
    if not whole:
        return cutter.cut(text)
    first = _FIRST.match(text)
    end = first.end() if first else len(text)
    return f"{text[:end]} {cutter.cut(text[end:])}".strip()


def key_text(cloze: Cloze) -> str:
    """The words that were taken out, by number."""
    return "\n".join(f"{gap.number}. {gap.word}" for gap in cloze.gaps)
