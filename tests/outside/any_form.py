"""Random registers and plans through import to form and booklet: every printed number counted once more.

    python tests/outside/any_form.py [--count 10000] [--seed 14]

What `any_register.py` asks of answers is asked here of the words that patients read: they are read back
(`read_figures.py`), and the rows are counted in plain Python. All rows and plans are invented. For each it is
asked that

1. every printed number of an outcome is one that the rows give, with its range, its other side, and how many
   are not known; form and booklet say the same; the line of source too;
2. no part is printed as more than its whole;
3. no group closer than what is printed is worse by the exact test and unmentioned, on either paper;
4. no gain is counted before it can be judged.
"""

from __future__ import annotations

import argparse
import csv
import math
import random
import re
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from statsmodels.stats.proportion import proportion_confint

sys.path[:0] = [
    str(Path(__file__).parent),
    str(Path(__file__).parents[1]),
    str(Path(__file__).parents[1] / "unit"),
]

from any_register import (  # noqa: E402
    ABOVE,
    CHEEKS,
    DAYS,
    FIRST,
    GAINS,
    HARMS,
    LIGHTER,
    NESTED,
    OUTCOMES,
    PIECE,
    WHOLE,
    Book,
    Counted,
    Row,
    by_days,
    csv_of,
    register,
    worse,
)  # fmt: skip
from read_figures import Said, Thin, of_cell, printed, read  # noqa: E402
from support import empty, load  # noqa: E402
from test_ladder import CANNULA, CLINIC, FILLER, PLAN, READING  # noqa: E402

from consentpack.assemble import Inputs, assemble, make_context  # noqa: E402
from consentpack.assemble.short_figures import figure_in_short  # noqa: E402
from consentpack.catalogues import load as catalogue  # noqa: E402
from consentpack.match import match  # noqa: E402
from consentpack.model import Plan  # noqa: E402
from consentpack.rates import answer_all  # noqa: E402
from consentpack.register import tally  # noqa: E402
from consentpack.tree import paragraphs, text_of  # noqa: E402

ENGLISH = catalogue("en-GB", (), where="any form")
DARKER = ("IV", "V")
PAPERS = ("form", "booklet", "booklet in short")
TITLES = {id: NESTED.outcome(id).title for id in OUTCOMES}
STEPS = {id: NESTED.techniques[id].title for id in (CANNULA, FILLER)}
TELLS_NOTHING = 50


def studies() -> dict[str, list[tuple[int, int]]]:
    """Outcome -> events and number of each published figure, from the table itself."""
    found: dict[str, list[tuple[int, int]]] = {}
    with (Path(__file__).parents[2] / "content/published_rates.csv").open(encoding="utf-8") as table:
        for row in csv.DictReader(table):
            if row["events"] and row["n"]:
                found.setdefault(row["outcome"], []).append((int(row["events"]), int(row["n"])))
    return found


PRINTED = studies()
LOST_WARNS, LOST_BLOCKS = 5, 20
"""Percent of those that are due ("5 and 20", Sackett, as quoted by Schulz and Grimes)."""


# --- making registers and plans -------------------------------------------------------------------


def case(draw: random.Random) -> tuple[Plan, list[Row]]:
    """A plan, and a register."""
    planned, maybe = draw.choice(
        [((CANNULA,), ()), ((CANNULA,), ()), ((CANNULA, FILLER), ()), ((CANNULA,), (FILLER,))]
    )
    skin = draw.choice(["III", "III", "V", ""])
    plan = replace(
        PLAN,
        planned=(*planned, *PLAN.planned[1:]),
        may_become_necessary=maybe,
        site=draw.choice(["left cheek", "left cheek", "chin"]),
        strata={"skin_type": skin} if skin else {},
    )
    return plan, [*changed(draw, plan, register(draw))]


def changed(draw: random.Random, plan: Plan, rows: list[Row]) -> Iterator[Row]:
    """Rows nearer to a plan, or more of them; strata that lack; fewer lost; harms worse in the closest."""
    no_skin, near, kept, hurt = (draw.random() < chance for chance in (0.1, 0.5, 0.5, 0.3))
    skin, used = plan.strata.get("skin_type", "III"), frozenset({*plan.planned} & {*STEPS})
    for one in rows * draw.choice((1, 1, 2, 3)):
        if near and draw.random() < 0.7:
            one = replace(one, used=used, site=plan.site, skin=skin)
        if no_skin or draw.random() < 0.05:
            one = replace(one, skin="")
        if kept and one.watched is None:
            one = replace(one, watched=one.ago)
        if hurt and (one.site, one.skin, one.used) == (plan.site, skin, used) and draw.random() < 0.4:
            one = harmed(draw, one)
        yield one


def harmed(draw: random.Random, one: Row) -> Row:
    """A row with one more harm, and most often with the day on which it was noticed."""
    id, day = draw.choice(HARMS), draw.randint(0, one.watched or one.ago)
    noticed = {**one.noticed, id: day} if draw.random() < 0.9 else one.noticed
    return replace(one, cells={**one.cells, id: "yes"}, noticed=noticed)


def papers(plan: Plan, rows: list[Row], where: Path) -> Papers:
    """What form and booklet say, through import and register."""
    held = empty(f"sqlite:///{where}")
    load(held, csv_of(rows), reading=READING)
    matches = match(plan, NESTED)
    with held.connect() as connection:

        def source(comparison, window, watch_days):  # type: ignore[no-untyped-def]
            return tally(connection, comparison, window, watch_days)

        found = answer_all(plan, NESTED, CLINIC, matches, source)
    held.engine.dispose()
    inputs = Inputs(plan, NESTED, CLINIC, matches, found, ENGLISH)
    form, booklet = (assemble(kind, inputs).document for kind in PAPERS[:2])
    ctx = make_context(inputs)
    short = [(id, of_cell(figure_in_short(ctx, id))) for id in OUTCOMES if id in found]
    lines = [text_of(p.runs) for s in form.sections for node in s.nodes for p in paragraphs(node)]
    source_lines = [line for line in lines if line.startswith("Counted here")]
    said = dict(
        zip(PAPERS, (list(printed(form, TITLES)), list(printed(booklet, TITLES)), short), strict=True)
    )
    return Papers(said, source_lines)


@dataclass(frozen=True)
class Papers:
    """What each paper says of each outcome, and the line of source of the form."""

    said: Mapping[str, list[tuple[str, str]]]
    source: list[str]


# --- counting once more ---------------------------------------------------------------------------

Label = tuple[str, frozenset[str]]
"""A level, and the techniques that lead it."""


def group(rows: list[Row], plan: Plan, label: Label) -> list[Row]:
    level, leads = label
    found = [one for one in rows if leads <= one.used and one.day >= FIRST]
    if level == "lead-technique":
        return found
    found = [one for one in found if one.used == leads | (set(plan.planned) & {CANNULA, FILLER})]
    if level == "same-techniques":
        return found
    places = CHEEKS if plan.site in CHEEKS else (plan.site,)
    skin = plan.strata.get("skin_type", "")
    skins = LIGHTER if skin in LIGHTER else DARKER
    asked = skin and any(one.skin for one in rows)  # what nobody wrote down cannot be compared
    return [one for one in found if one.site in places and (not asked or one.skin in skins)]


@dataclass(frozen=True)
class Figure:
    """What one way to count gives of one group."""

    events: int
    n: int
    lost: int
    due: int
    share: tuple[Fraction, float, float] | None = None
    """By days, with its limits."""

    @property
    def parts(self) -> Fraction:
        return self.share[0] if self.share else Fraction(self.events, self.n)

    @property
    def ends(self) -> tuple[int, int]:
        """The range of a share."""
        return outwards(*(self.share[1:] if self.share else wilson(self.events, self.n)))

    @property
    def spread(self) -> tuple[int, int]:
        """The range of counts: with too many lost, from none of them to all of them (worst case)."""
        if self.due and 100 * self.lost <= LOST_BLOCKS * self.due:
            return outwards(*wilson(self.events, self.n))
        every = self.n + self.lost
        return outwards(wilson(self.events, every)[0], wilson(self.events + self.lost, every)[1])

    @property
    def unknown(self) -> int:
        return self.lost if self.due and 100 * self.lost >= LOST_WARNS * self.due else 0


def wilson(events: int, n: int) -> tuple[float, float]:
    low, high = proportion_confint(events, n, method="wilson")
    return float(low), float(high)


def outwards(low: float, high: float) -> tuple[int, int]:
    return math.floor(round(100 * low, 9)), math.ceil(round(100 * high, 9))


class Recount(Book):
    """A register's rows and a plan, with every count by hand, each made once."""

    def __init__(self, plan: Plan, rows: list[Row]):
        super().__init__(rows)
        self.plan, self.groups = plan, {}

    def figures(self, label: Label, id: str) -> Iterator[Figure]:
        for found, joined in self.each(label, id):
            events, n = found.told if joined else found.inside
            due = sum(one.ago >= DAYS[id] for one in self.groups[label])
            plain = Figure(events, n, due - found.inside[1], due)
            if n:
                yield plain
            if found.times and not joined and (share := by_days(found.times)):
                yield replace(
                    plain,
                    events=sum(why == "seen" for _, why in found.times),
                    n=len(found.times),
                    share=share,
                )

    def each(self, label: Label, id: str) -> Iterator[tuple[Counted, bool]]:
        if label not in self.groups:
            self.groups[label] = group(self.rows, self.plan, label)
        yield from self.possible(id, label)

    def leads(self, id: str) -> list[frozenset[str]]:
        """The techniques that may lead an outcome, by itself or with what is read together with it."""
        there = [t for t in (*self.plan.planned, *self.plan.may_become_necessary) if t in STEPS]
        bring = [t for t in there if id in (*NESTED.techniques[t].risks, *NESTED.techniques[t].benefits)]
        every = [frozenset(bring[:1]), frozenset(there), *(frozenset({t}) for t in there)]
        return list(dict.fromkeys(each for each in every if each & set(bring)))

    def labels(self, id: str, said: Said) -> list[Label]:
        """The groups that a figure may be from, by what is said of it."""
        named = next((names for start, names in _NAMED if said.how.startswith(start)), None)
        every = self.leads(id)
        if said.how.startswith(" with the same main step"):
            return [("lead-technique", frozenset(self.plan.planned[:1]))]
        if named:
            titles = said.how.removeprefix(named).lower().split("; ")
            return [("lead-technique", frozenset(t for t, title in STEPS.items() if title.lower() in titles))]
        levels = ["closest", "same-techniques"]
        if "in the same kind of place" in said.how:
            levels = ["closest"]
        elif not said.how.startswith(" like yours"):
            levels = [*levels, "lead-technique"]
        return [(level, leads) for level in levels for leads in every]


_NAMED = [(each, each) for each in (" with this step: ", " with these steps: ")]


# --- what is asked --------------------------------------------------------------------------------


def problems(plan: Plan, rows: list[Row], shown: Papers) -> Iterator[str]:
    """What is wrong with the papers of a register and a plan."""
    book, told = Recount(plan, rows), {}
    for paper, each in shown.said.items():
        for id, words in each:
            said = read(words)
            told.setdefault((paper, id), []).append(said)
            if said.unread:
                yield f"{paper}, {id}: cannot be read: {said.unread}"
    for id in OUTCOMES:
        every = {paper: told.get((paper, id), []) for paper in PAPERS}
        if every["booklet"]:
            yield from (f"{id}: {each}" for each in _of_outcome(book, id, every))
    yield from _in_order(told)
    yield from _source_line(shown.source, told)


def _of_outcome(book: Recount, id: str, papers: Mapping[str, list[Said]]) -> Iterator[str]:
    whole, every = papers["booklet"][0], [said for each in papers.values() for said in each]
    ways = {said.main for said in every if said.main or not said.thin}
    if len(ways) > 1 and not whole.points:
        yield f"is told in several ways: {ways}"
    labels = book.labels(id, whole)
    for said in every:
        if said.main and said.main[0] != "study":
            full = replace(said, n=whole.n, how=whole.how)
            if not any(_fits(full, f) for label in labels for f in book.figures(label, id)):
                wanted = {(f.events, f.n, f.lost) for label in labels for f in book.figures(label, id)}
                yield f"{full} is nothing of {sorted(wanted)[:12]}"
        yield from _of_a_study(id, said)
        yield from _needed(book, id, said)
        yield from (f"{thin} is none of ours" for thin in said.thin if not _counted_so(book, id, thin))
    if whole.main:
        yield from _worse_unmentioned(book, id, papers, labels)
        if id in GAINS and whole.main[0] != "study":
            yield from _early(book, id, whole, labels)


def _of_a_study(id: str, said: Said) -> Iterator[str]:
    """What a study is said to have seen: it must be a row of the table of published figures."""
    told = [said.beside] if said.beside else []
    if said.main and said.main[0] == "study" and said.main[1]:
        told.append(said.main[1:3])
    for word, number in told:
        if not any(_rounded(Fraction(*counts), word, number) for counts in PRINTED.get(id, ())):
            yield f"{word} {number} in 100 is in no study of {PRINTED.get(id)}"


_OTHER = {"about": "about", "fewer than": "more than", "more than": "fewer than"}


def _fits(said: Said, found: Figure) -> bool:
    """Whether all that is said of a figure is so of a count."""
    assert said.main
    how, word, number, of = said.main
    if said.n is not None and said.n != found.n:
        return False
    if how == "share":
        right = _rounded(found.parts, word, number)
        # the two sides make 100, also where both would be rounded up
        other = said.rest is None or (number + said.rest[1] == of and said.rest[0] == _OTHER[word])
        return right and other and said.ends in (None, found.ends)
    if (number, of) != (found.events, found.n):
        return False
    low, high = found.spread
    if said.cannot_tell:
        return high - low > TELLS_NOTHING and said.unknown == found.unknown
    narrow = said.ends is None or (said.ends == found.spread and high - low <= TELLS_NOTHING)
    in_words = said.unknown in (0, found.unknown)
    return in_words and (narrow or (number in (0, of) and said.ends == found.ends))


def _rounded(share: Fraction, word: str, number: int) -> bool:
    nearest = math.floor(100 * share + Fraction(1, 2))
    if word == "fewer than":
        return number == 1 and share > 0 and nearest == 0
    if word == "more than":
        return number == 99 and share < 1 and nearest == 100
    return nearest == number and 0 < number < 100


def _counted_so(book: Recount, id: str, thin: Thin) -> bool:
    levels = (
        ("closest", "same-techniques")
        if thin.like_yours
        else ("closest", "same-techniques", "lead-technique")
    )
    return any(
        (found.events, found.n) == (thin.events, thin.n) and thin.unknown in (0, found.unknown)
        for level in levels
        for leads in book.leads(id)
        for found in book.figures((level, leads), id)
        if found.share is None
    )


def _needed(book: Recount, id: str, said: Said) -> Iterator[str]:
    """What a step on the day would make of it."""
    for title, word, number, of in said.needed:
        step = next(each for each, name in STEPS.items() if name.lower() == title.lower())
        every = frozenset({step})
        labels: list[Label] = [("same-techniques", every | leads) for leads in book.leads(id)]
        found = [f for label in [*labels, ("lead-technique", every)] for f in book.figures(label, id)]
        if not any(
            _rounded(f.parts, word, number) if word else (f.events, f.n) == (number, of) for f in found
        ):
            yield f"with {step} {word} {number} of {of} is nothing that was counted"


_LEVELS = ("closest", "same-techniques", "lead-technique")


def _worse_unmentioned(
    book: Recount, id: str, papers: Mapping[str, list[Said]], labels: list[Label]
) -> Iterator[str]:
    """A closer group that is worse than what is printed, in every way to count, and not on each paper."""
    silent = [paper for paper, each in papers.items() if each and not any(said.thin for said in each)]
    for level, leads in labels if len(labels) == 1 and silent else ():
        for close in _LEVELS[: _LEVELS.index(level)]:
            both = zip(book.each((close, leads), id), book.each((level, leads), id), strict=True)
            found = [_is_worse(near, far, joined, id) for (near, joined), (far, _) in both]
            if found and all(found):
                yield f"{close} is worse than {level}, and {silent} are silent"


def _is_worse(near: Counted, far: Counted, joined: bool, id: str) -> bool:
    mine = near.told if joined else near.inside
    rest = (far.inside[0] - near.inside[0], far.inside[1] - near.inside[1])
    if not mine[1] or rest[1] < 1 or not 0 <= rest[0] <= rest[1]:
        return False
    return worse(rest, mine) if id in (*GAINS,) else worse(mine, rest)


def _early(book: Recount, id: str, whole: Said, labels: list[Label]) -> Iterator[str]:
    n = whole.n if whole.main and whole.main[0] == "share" else whole.main[3]  # type: ignore[index]
    most = 0
    for label in labels:
        list(book.each(label, id))
        over = [one for one in book.groups[label] if one.ago >= DAYS[id] and (one.watched or 0) >= DAYS[id]]
        most = max(most, len(over))
    if not book.timed or (n or 0) > most:
        yield f"{n} are told, and {most} can be judged"


def _in_order(told: Mapping[tuple[str, str], list[Said]]) -> Iterator[str]:
    for paper in PAPERS:
        for part, whole in (*ABOVE.items(), (PIECE, WHOLE)):
            for less in told.get((paper, part), []):
                for more in told.get((paper, whole), []):
                    a, b = less.least_and_most, more.least_and_most
                    if a and b and a[0] > b[1]:
                        yield f"{paper}: {part} {less.main} is above {whole} {more.main}"
                    if less.thin and more.thin and _share(less.thin[-1]) > _share(more.thin[-1]):
                        yield f"{paper}: closer, {part} {less.thin} is above {whole} {more.thin}"


def _share(thin: Thin) -> Fraction:
    return Fraction(thin.events, thin.n)


_SOURCE = re.compile(
    r"Counted here from .+? to .+?: (\d+) treatments?(?: for some figures, (\d+) for others)?\."
)


def _source_line(lines: list[str], told: Mapping[tuple[str, str], list[Said]]) -> Iterator[str]:
    """Of how many treatments the figures of the form are."""
    counts = sorted(
        n for id in OUTCOMES for said in told.get(("booklet", id), [])[:1]
        if said.main and said.main[0] != "study" and (n := said.n or said.main[3])
    )  # fmt: skip
    found = _SOURCE.match(lines[0]) if lines else None
    said = [int(each) for each in found.groups() if each] if found else []
    if said != sorted({*counts[:1], *counts[-1:]}):
        yield f"the line of source says {lines}, the booklet {counts}"


def check(seed: int, where: Path) -> list[str]:
    plan, rows = case(random.Random(seed))
    return list(problems(plan, rows, papers(plan, rows, where)))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=10_000)
    asked.add_argument("--seed", type=int, default=14)
    options = asked.parse_args()
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(options.count):
            seed = options.seed * 10**6 + number
            for problem in check(seed, Path(folder) / "register.sqlite"):
                wrong += 1
                print(f"{seed}: {problem}", flush=True)
            if number % 100 == 99:
                print(f"{number + 1} registers, {wrong} problems", file=sys.stderr, flush=True)
    print(f"{options.count} registers, {wrong} problems")


if __name__ == "__main__":
    main()
