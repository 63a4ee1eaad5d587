"""What form and booklet print of an outcome, read back to numbers. Shares nothing with what says them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from consentpack.tree import Cell, Document, Items, Panel, Paragraph, Table, bodies, text_of

_N = r"(\d[\d,]*)"


def integer(word: str) -> int:
    return int(word.replace(",", ""))


@dataclass
class Thin:
    """The count of a closer group, told beside a figure."""

    like_yours: bool
    events: int
    n: int
    unknown: int = 0
    compared: str = ""
    """'more' or 'less' than the others; '' where it is not said."""


@dataclass
class Said:
    """What one paper says of one outcome."""

    main: tuple[str, str, int, int] | None = None
    """How ('share', 'count' or 'study'), the word before it, the number, and of how many."""
    rest: tuple[str, int] | None = None
    """The other side of a share."""
    ends: tuple[int, int] | None = None
    """The range out of 100."""
    unknown: int = 0
    cannot_tell: bool = False
    n: int | None = None
    how: str = ""
    """Where the figure is from, as it is said."""
    time: str = ""
    pooled: bool = False
    thin: list[Thin] = field(default_factory=list)
    needed: list[tuple[str, str, int, int]] = field(default_factory=list)
    """A step that may become necessary: its name, then as in `main`."""
    beside: tuple[str, int] | None = None
    """What a study is said to have seen in every 100, beside our own."""
    points: str = ""
    unread: str = ""

    @property
    def least_and_most(self) -> tuple[Fraction, Fraction] | None:
        """Between what the share lies that is told first, before it was rounded."""
        if self.main is None:
            return None
        how, word, number, of = self.main
        if how == "count" or not of:
            return (Fraction(number, of),) * 2 if of else None
        half = Fraction(1, 200)
        if word == "fewer than":
            return Fraction(0), half
        return (1 - half, Fraction(1)) if word == "more than" else (
            Fraction(number, 100) - half, Fraction(number, 100) + half,
        )  # fmt: skip


# --- sentences ------------------------------------------------------------------------------------

_WORDS = {"under ": "fewer than", "over ": "more than", "": "about"}


def _share(m: re.Match[str], said: Said) -> None:
    study = m[3] == "people"
    said.main = ("study" if study else "share", m[1].lower(), integer(m[2]), 100)


def _short_share(m: re.Match[str], said: Said) -> None:
    said.main = ("study" if m[3] else "share", _WORDS[m[1] or ""], integer(m[2]), 100)


def _count(number: str, of: str, said: Said, *, study: bool = False) -> None:
    said.main = ("study" if study else "count", "", integer(number), integer(of))


def _thin(m: re.Match[str], said: Said) -> None:
    said.thin.append(Thin(m[0].startswith("We"), integer(m[1]), integer(m[2])))


def _unknown(m: re.Match[str], said: Said) -> None:
    if said.thin:
        said.thin[-1].unknown = integer(m[1])
    else:
        said.unknown = integer(m[1])


def _few(_: re.Match[str], said: Said) -> None:
    said.cannot_tell = said.cannot_tell or not said.thin


def _ends(low: str, high: str, said: Said) -> None:
    said.ends = (0 if low == "fewer than 1" else integer(low), integer(high))


def _from(m: re.Match[str], said: Said) -> None:
    said.n, said.how, said.time = integer(m[1]), m[2], m[3] or ""


def _needed(m: re.Match[str], said: Said) -> None:
    inner = Said()
    read_into(f"{m[2][:1].upper()}{m[2][1:]}.", inner)
    if inner.main and not inner.unread:
        said.needed.append((m[1], *inner.main[1:]))
    else:
        said.unread = m[0]


def _set(name: str):  # type: ignore[no-untyped-def]
    return lambda m, said: setattr(said, name, m[0])


SENTENCES = [
    (rf"(About|More than|Fewer than) {_N} in every 100 (treatments|people)(?: \([^)]*\))?\.", _share),
    (rf"(About|More than|Fewer than) {_N} in every 100 did not have it\.",
     lambda m, s: setattr(s, "rest", (m[1].lower(), integer(m[2])))),
    (rf"None in {_N} (?:treatments?|people)( so far)?\.",
     lambda m, s: _count("0", m[1], s, study=not m[2])),
    (rf"All of {_N} (?:treatments?|people)( so far)?\.", lambda m, s: _count(m[1], m[1], s, study=not m[2])),
    (rf"We saw it in {_N} of {_N} treatments? here like yours\.", _thin),
    (rf"In our own clinic we saw it in {_N} of {_N} treatments? so far\.", _thin),
    (rf"We saw it in {_N} of {_N} treatments?\.", lambda m, s: _count(m[1], m[2], s)),
    (rf"We do not know about {_N} more treatments?\.", _unknown),
    (r"That is too few to be sure\.", _few),
    (r"The true number could be much higher or lower\.", lambda m, s: None),
    (rf"If (?:we counted many more|many more were counted), it would most likely be from (fewer than 1|{_N}) "
     rf"to {_N} in every 100\.", lambda m, s: _ends(m[1], m[3], s)),
    (rf"The true number could be up to about {_N} in every 100\.", lambda m, s: _ends("0", m[1], s)),
    (rf"The true number could be as low as {_N} in every 100\.", lambda m, s: _ends(m[1], "100", s)),
    (r"The true number is likely to be fewer than 1 in every 100\.", lambda m, s: _ends("0", "1", s)),
    (rf"From {_N} treatments? here([^.]*?)(?:, watched for ([^.]*))?\.", _from),
    (r"They were watched for ([^.]*)\.", lambda m, s: setattr(s, "time", m[1])),
    (r"We may not have watched each of them for [^.]*\.", lambda m, s: None),
    (r"But it is (more|less) than [^.]*\.", lambda m, s: setattr(s.thin[-1], "compared", m[1])),
    (r"None was seen in those most like yours, so we counted more of our treatments\.",
     lambda m, s: setattr(s, "pooled", True)),
    (r"If we need this on the day \(([^)]*)\): (.*?(?:treatments?|so far|\)))\.", _needed),
    (rf"A study elsewhere found: (about|fewer than|more than) {_N} in every 100 people[^.]*\.",
     lambda m, s: setattr(s, "beside", (m[1], integer(m[2])))),
    (rf"In a study: (under |over )?{_N} in 100",
     lambda m, s: setattr(s, "beside", (_WORDS[m[1] or ""], integer(m[2])))),
    (r"A study [^.]*\.|This is from a study[^.]*\.|It was in [^.]*\.", lambda m, s: None),
    (r"We count this in the figure for: [^.]*\.|It is seen at least as much as one kind of it: [^.]*\.",
     _set("points")),
    (r"We do not have a reliable figure\.|no reliable figure",
     lambda m, s: setattr(s, "main", None)),
    (r"[A-Z][^.\d:]*\.", lambda m, s: None),
    (rf"none in {_N}", lambda m, s: _count("0", m[1], s)),
    (rf"{_N} of {_N}(\*?)", lambda m, s: _count(m[1], m[2], s, study=bool(m[3]))),
    (rf"(under |over )?{_N} in 100(\*?)", _short_share),
    (rf"\(up to {_N}(?: in 100)?\)", lambda m, s: _ends("0", m[1], s)),
    (rf"\({_N} to {_N}(?: in 100)?\)", lambda m, s: _ends(m[1], m[2], s)),
    (rf"\({_N} more not known\)",
     lambda m, s: (setattr(s, "unknown", integer(m[1])), setattr(s, "cannot_tell", True))),
    (r"\(too few to tell\)", lambda m, s: setattr(s, "cannot_tell", True)),
]  # fmt: skip
_PATTERNS = [(re.compile(pattern), then) for pattern, then in SENTENCES]


def read_into(words: str, said: Said) -> None:
    """Read all of some words; what nobody can read stays in `unread`."""
    left = words.strip()
    while left:
        for pattern, then in _PATTERNS:
            if found := pattern.match(left):
                then(found, said)
                left = left[found.end() :].lstrip(" .")
                break
        else:
            said.unread = left
            return


def read(words: str) -> Said:
    said = Said()
    read_into(words, said)
    return said


# --- papers ---------------------------------------------------------------------------------------


def printed(document: Document, titles: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """(outcome, words) of each place where a paper tells its figure. `titles`: outcome -> its name."""
    by_title = {title: id for id, title in titles.items()}
    for node in (*document.lead, *(node for section in document.sections for node in section.nodes)):
        for body in bodies(node):
            if isinstance(body, Table):
                yield from _in_table(body, by_title)
            elif isinstance(body, Panel):
                for cell in body.cells:
                    yield from _in_cell(cell, by_title, "")
            elif isinstance(body, Items):
                for item in body.items:
                    yield from _in_line(item, by_title)
            elif isinstance(body, Paragraph):
                yield from _in_line(body, by_title)


def of_cell(cell: Cell) -> str:
    """The words of a cell, without its pictures."""
    return " ".join(text_of(each.runs) for each in cell.content if isinstance(each, Paragraph))


def _in_line(line: Paragraph, by_title: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    title, colon, words = text_of(line.runs).partition(": ")
    if title.startswith("But "):
        title = next((each for each in by_title if each.lower() == title[4:].lower()), "")
    if colon and title in by_title:
        yield by_title[title], words


def _in_table(table: Table, by_title: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for row in table.rows:
        head = next((text_of(c.runs) for c in row[0].content if isinstance(c, Paragraph)), "")
        if head in by_title and len(row) > 1:
            yield from _in_cell(row[1], by_title, by_title[head])


def _in_cell(cell: Cell, by_title: Mapping[str, str], id: str) -> Iterator[tuple[str, str]]:
    said: dict[str, list[str]] = {}
    for each in cell.content:
        if isinstance(each, Paragraph):
            words = text_of(each.runs)
            id = by_title.get(words, id)
            if words not in by_title:
                said.setdefault(id, []).append(words)
    for of, words_of in said.items():
        if of:
            yield of, " ".join(words_of)
