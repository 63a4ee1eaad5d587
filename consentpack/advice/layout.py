"""What published instruments ask of layout and use, and a program can see, in any one document.

The instruments: the Clear Communication Index of the US Centers for Disease Control and Prevention (2019) and
PEMAT-P of the Agency for Healthcare Research and Quality (14-0002-EF, 2013); items by their numbers there, in
our words. How many of each is right is our own choice where no number is theirs. What rests on English words
is looked at in English alone. (`check.checklists` looks at a whole pack, by its tags.)
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath

from consentpack.advice import grammar, instructions
from consentpack.advice.passages import Listing, Passage, listings, passages
from consentpack.model import HouseStyle, Layout, LayoutItem
from consentpack.readability import parts, root, scored_paragraphs, words_of
from consentpack.tree import (
    Box,
    Document,
    Fields,
    Node,
    Paragraph,
    Pictograph,
    Table,
    bodies,
    contents,
)

MOST_WORDS_AT_A_STRETCH = 150
"""Words of running text between headings and lists (common practice, no source)."""
MOST_HEADING_WORDS = 12
"""A longer heading is a sentence (common practice, no source)."""
MOST_COLUMNS = 5
"""Columns of a table that is still simple (common practice, no source)."""
FIRST_WORDS = 80
"""Where the main message should have stood (common practice, no source)."""
FEW_PASSIVES = 20
"""At most one in so many sentences has nobody who does it (common practice, no source)."""

Verdict = tuple[bool | None, str]
"""Whether it is there, None where there is nothing to see; and why."""


@dataclass(frozen=True)
class Look:
    """A document with what several items look at."""

    document: Document

    @cached_property
    def passages(self) -> list[Passage]:
        return passages(self.document)

    @cached_property
    def listings(self) -> list[Listing]:
        return list(listings(self.document))

    @cached_property
    def nodes(self) -> list[Node]:
        return [node for _, _, nodes in parts(self.document) for node in nodes]

    @cached_property
    def tables(self) -> list[Table]:
        return [body for node in self.nodes for body in bodies(node) if isinstance(body, Table)]

    @cached_property
    def orders(self) -> list[Passage]:
        """Sentences that tell somebody to do something."""
        return [each for each in self.passages if instructions.orders(each.text)]


def _place(each: Passage) -> str:
    return f"{each.source}: “{each.text}”"


def _lists(look: Look) -> Verdict:
    number = len(look.listings)
    return bool(number), f"{number} lists" if number else "no list: put points one under the other"


def _short_lists(look: Look) -> Verdict:
    if not look.listings:
        return None, "no list"
    crowded = [f for each in look.listings for f in instructions.crowded_list(each)]
    return not crowded, "; ".join(f"{s}: {f.found}" for s, _, f in crowded[:3]) or "no list is crowded"


def _chunks(look: Look) -> Verdict:
    if len(look.document.sections) < 2:
        return False, "fewer than two headings"
    long = [
        f"{heading} ({words} words)" for heading, words in _stretches(look) if words > MOST_WORDS_AT_A_STRETCH
    ]
    return not long, f"over {MOST_WORDS_AT_A_STRETCH} words at a stretch: {'; '.join(long)}" if long else (
        f"{len(look.document.sections)} headings, no stretch over {MOST_WORDS_AT_A_STRETCH} words"
    )


def _stretches(look: Look) -> Iterator[tuple[str, int]]:
    """The longest run of plain paragraphs in each part, in words."""
    for _, heading, nodes in parts(look.document):
        longest = now = 0
        for node in nodes:
            read = scored_paragraphs((node,)) if isinstance(node, Paragraph) else ()
            words = sum(len("".join(run.text for run in p.runs).split()) for p in read)
            now = now + words if isinstance(node, Paragraph) else 0
            longest = max(longest, now)
        yield heading, longest


def _headings(look: Look) -> Verdict:
    made = [section.heading for section in look.document.sections]
    if not made:
        return False, "no headings"
    wrong = [each or "a part without a heading" for each in made if not each.strip() or _two_ideas(each)]
    return not wrong, "; ".join(f"“{each}”" for each in wrong[:4]) or "each heading has one idea"


def _two_ideas(heading: str) -> bool:
    joined = len(re.findall(r"\band\b", heading, re.IGNORECASE)) > 1 or bool(re.search(r"[;/]", heading))
    return joined or len(words_of(heading)) > MOST_HEADING_WORDS


def _main_first(look: Look) -> Verdict:
    """The words of the title come again at once: a text that begins with something else hides its purpose."""
    title = look.document.title.strip()
    if title in ("", PurePath(look.document.kind).stem) or not look.passages:
        return None, "no title, so a person must say what the main message is"
    first = " ".join(each.text for each in look.passages).lower().split()[:FIRST_WORDS]
    wanted = {word.lower()[:5] for word in words_of(title) if len(word) > 3}
    if not wanted:
        return None, "the title has no word to look for"
    found = {word for word in wanted if any(each.lstrip("“(").startswith(word) for each in first)}
    share = f"{len(found)} of {len(wanted)} words of the title stand in the first {FIRST_WORDS} words"
    return 2 * len(found) >= len(wanted), share


_SUMMARY = re.compile(
    r"\b(?:in short|in brief|summary|key (?:points|facts|messages)|main points|at a glance|what matters)\b",
    re.IGNORECASE,
)


def _summary(look: Look) -> Verdict:
    found = [s.heading for s in look.document.sections[:3] if _SUMMARY.search(s.heading)]
    return bool(found or look.document.lead), found[0] if found else (
        "words stand before the first heading"
        if look.document.lead
        else "no summary before or in the first parts"
    )


def _cues(look: Look) -> Verdict:
    bold = sum(run.strong for p in scored_paragraphs(look.nodes) for run in p.runs)
    framed = sum(isinstance(node, Box) for node in look.nodes) + sum(table.urgent for table in look.tables)
    said = f"{bold} bold phrases, {framed} frames"
    return bool(bold or framed), said if bold or framed else "nothing is bold or framed"


def _something_to_do(look: Look) -> Verdict:
    return bool(
        look.orders
    ), f"{len(look.orders)} sentences say what to do" if look.orders else "nothing to do"


def _verbs(look: Look) -> Verdict:
    told = [each for each in look.passages if each.instructs]
    bare = [each for each in told if any(instructions.no_verb(each, HouseStyle()))]
    if not told:
        return None, "no list of things to do"
    return not bare, "; ".join(map(_place, bare[:3])) or f"all of {len(told)} say what to do"


_AWAY = re.compile(
    r"\b(?:patients?|clients?|recipients?) (?:must|should|(?:is|are) (?:to|advised|asked|expected))\b",
    re.IGNORECASE,
)


def _to_the_reader(look: Look) -> Verdict:
    found = [each for each in look.passages if _AWAY.search(each.text)]
    spoken = any(re.search(r"\byour?\b", each.text, re.IGNORECASE) for each in look.passages)
    return spoken and not found, "; ".join(map(_place, found[:3])) or ("“you”" if spoken else "no “you”")


def _active(look: Look) -> Verdict:
    found = [each for each in look.passages if any(grammar.passive(each, HouseStyle()))]
    most = len(look.passages) / FEW_PASSIVES
    number = f"{len(found)} of {len(look.passages)} sentences do not say who does it"
    return len(found) <= most, f"{number}: {'; '.join(map(_place, found[:3]))}" if found else number


_SHARE = re.compile(
    r"\b(?:\d+|one|two|three|four|five) (?:in|of|out of)(?: every)? (\d[\d,]*)\b", re.IGNORECASE
)
_RECKON = re.compile(
    r"\b(?:divide[ds]?|multipl\w+|add up|subtract\w*|\d+ times (?:more|less|as|the)|twice as (?:likely|often)"
    r"|halve[ds]?|per (?:kg|kilo\w*)|percentage points?)\b",
    re.IGNORECASE,
)


def _no_arithmetic(look: Look) -> Verdict:
    """Shares with one denominator can be compared at a glance; 1 in 20 and 3 in 100 cannot."""
    bases = {n for each in look.passages for n in _SHARE.findall(each.text)}
    sums = [each for each in look.passages if _RECKON.search(each.text)]
    figures = any(re.search(r"\d", each.text) for each in look.passages)
    if not figures:
        return None, "no figures"
    if len(bases) > 1:
        return False, f"shares of {', '.join(sorted(bases))}: say all of the same number of people"
    return not sums, "; ".join(map(_place, sums[:3])) or "nothing to work out"


def _pictures_of_risk(look: Look) -> Verdict:
    shares = [each for each in look.passages if _SHARE.search(each.text) or "%" in each.text]
    shown = any(isinstance(c, Pictograph) for table in look.tables for c in contents(table))
    if not shares and not shown:
        return None, "no chance is told as a figure"
    return shown, "a picture beside the figures" if shown else "no picture or table beside the figures"


def _tables(look: Look) -> Verdict:
    if not look.tables:
        return None, "no table"
    wrong = [
        t.summary or "a table" for t in look.tables if len(t.columns) > MOST_COLUMNS or not all(t.columns)
    ]
    return not wrong, "; ".join(wrong[:3]) or f"{len(look.tables)} tables, each with named columns"


def _tool(look: Look) -> Verdict:
    found = [
        b for n in look.nodes for b in bodies(n) if isinstance(b, Fields) or (isinstance(b, Table) and b.grid)
    ]
    return bool(found), "something to fill in" if found else "no diary, check list or table to fill in"


def _steps(look: Look) -> Verdict:
    if not look.orders:
        return None, "nothing to do"
    listed = [each for each in look.orders if each.in_list]
    said = f"{len(listed)} of {len(look.orders)} things to do are points of lists"
    return 2 * len(listed) >= len(look.orders), said


_ITEMS: tuple[tuple[str, str, str, Callable[[Look], Verdict], bool], ...] = (
    ("main-first", "The main message comes first", "CDC A2", _main_first, True),
    ("summary", "What matters most is summed up first", "CDC A10, PEMAT 11", _summary, True),
    ("cues", "What matters most stands out", "CDC A3, PEMAT 12", _cues, False),
    ("chunks", "Short parts under headings", "CDC A9, PEMAT 8", _chunks, False),
    ("headings", "One idea a heading", "PEMAT 9", _headings, True),
    ("lists", "Lists", "CDC A8", _lists, False),
    ("short-lists", "Lists are short, a point has one idea", "PEMAT 8", _short_lists, False),
    ("active", "Sentences say who does it", "CDC A6, PEMAT 5", _active, True),
    ("something-to-do", "There is something to do", "CDC A5, CDC B12, PEMAT 20", _something_to_do, True),
    ("verbs", "Things to do begin with what to do", "CDC B14, PEMAT 22", _verbs, True),
    ("steps", "Things to do stand one by one", "PEMAT 22", _steps, True),
    ("to-the-reader", "The reader is spoken to", "PEMAT 21", _to_the_reader, True),
    ("tool", "Something to fill in or tick", "PEMAT 23", _tool, False),
    ("no-arithmetic", "Nothing has to be worked out", "CDC C17, PEMAT 7", _no_arithmetic, True),
    ("risk-pictures", "A picture beside each chance", "CDC D20, PEMAT 15", _pictures_of_risk, True),
    ("tables", "Simple tables with named columns", "PEMAT 19", _tables, False),
)
"""Id, what it asks, the instruments' items, how it is seen, whether it rests on English words."""

FOR_A_PERSON: tuple[tuple[str, str], ...] = (
    ("Is there one main message, and is it the right one?", "CDC A1, PEMAT 1"),
    ("Does something lead away from it?", "PEMAT 2"),
    ("Are these the words that these readers use?", "CDC A7, PEMAT 3"),
    ("Is each clinical word needed, and is it explained where it first stands?", "PEMAT 4"),
    ("Is it said what is known, and what is not?", "CDC A11"),
    ("Is it said why each thing to do matters?", "CDC B13"),
    ("Are these the numbers that readers need, and is it said what they mean?", "CDC C15, CDC C16, PEMAT 6"),
    ("Is the harm told as it is, and beside it the gain?", "CDC D18, CDC D19"),
    ("Is the order the one in which it is needed?", "PEMAT 10"),
    (
        "Would a picture help, and are those there clear, with titles, and to the point?",
        "CDC A4, PEMAT 16-18, 25, 26",
    ),
    ("Do charts or sums need help?", "PEMAT 24"),
)
"""What no program sees."""


def layout_of(document: Document) -> Layout:
    """Each item in one document. In a language other than English those that rest on words see nothing."""
    look = Look(document)
    english = root(document.language) == "en"
    found = []
    for id, says, items, looks, by_words in _ITEMS:
        there, why = looks(look) if english or not by_words else (None, "looked at in English alone")
        status = {True: "seen", False: "not seen", None: "nothing to see"}[there]
        found.append(LayoutItem(id, says, items, status, why))  # type: ignore[arg-type]
    return Layout(tuple(found), FOR_A_PERSON)
