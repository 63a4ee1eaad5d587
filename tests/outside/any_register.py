"""Random registers through import and answers, and every number of an answer counted once more.

    python tests/outside/any_register.py [--count 10000] [--seed 14]

Nothing here shares code with the program's counting: rows are counted in plain Python, shares over time by
hand of what each patient who left adds to those who stayed (Efron 1967, redistribute to the right), intervals
by statsmodels, tests by scipy. All rows are invented. For each register it is asked that

1. every number that is told is one that the rows give, and its interval too;
2. no part is told as more than its whole;
3. no group closer than what is told is worse by the exact test and unmentioned;
4. no gain is counted before it can be judged.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations
from pathlib import Path

from scipy.stats import fisher_exact
from statsmodels.stats.proportion import proportion_confint

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "unit")]

from support import empty, load  # noqa: E402
from test_ladder import CANNULA, CLINIC, FILLER, LIBRARY, PLAN, READING  # noqa: E402

from consentpack.library import Library  # noqa: E402
from consentpack.match import match  # noqa: E402
from consentpack.model import RateAnswer  # noqa: E402
from consentpack.rates import answer_all  # noqa: E402
from consentpack.register import tally  # noqa: E402

WHOLE, PART, PIECE, BRUISE, FAILS = "bleeding", "blood-pocket", "fluid-pocket", "bruising", "little-change"
GAINS = ("shallower-scar", "less-pulling")
HARMS = (WHOLE, PART, PIECE, BRUISE)
OUTCOMES = (*HARMS, FAILS, *GAINS)
ABOVE = {PART: WHOLE, PIECE: PART}
"""Invented: a piece is a kind of a part, and that of the whole."""
LEVELS = ("closest", "same-techniques", "lead-technique")
LIGHTER, CHEEKS = ("I", "II", "III"), ("left cheek", "right cheek")
FIRST = date(2023, 11, 20)


def nested() -> Library:
    """The library with outcomes that are parts of one another, all watched for 30 days."""
    changed = {
        WHOLE: {}, PART: {"part_of": WHOLE}, PIECE: {"part_of": PART},
    }  # fmt: skip
    risks = {id: replace(LIBRARY.risks[id], watch_days=30, **more) for id, more in changed.items()}
    return replace(LIBRARY, risks={**LIBRARY.risks, **risks})


NESTED = nested()
DAYS = {id: NESTED.outcome(id).watch_days for id in OUTCOMES}


@dataclass(frozen=True)
class Row:
    """One treatment, as the spreadsheet has it."""

    ago: int
    used: frozenset[str]
    site: str
    skin: str
    watched: int | None
    again: int | None
    cells: Mapping[str, str]
    noticed: Mapping[str, int]

    @property
    def day(self) -> date:
        return PLAN.prepared - timedelta(self.ago)


# --- making registers -----------------------------------------------------------------------------


def register(draw: random.Random) -> list[Row]:
    """Some layers of alike rows, so that groups get large enough to be told from."""
    chances = {id: draw.choice((0.0, 0.02, 0.1, 0.3, 0.7)) for id in OUTCOMES}
    kept = draw.choice((0.0, 0.9, 0.95, 1.0, 1.0))
    dated = {id for id in HARMS if draw.random() < 0.5}
    rows = []
    for _ in range(draw.randint(1, 6)):
        close = draw.random() < 0.5
        shared = {
            "used": draw.choice([frozenset({CANNULA}), frozenset({CANNULA}), frozenset({CANNULA, FILLER})]),
            "site": "left cheek" if close else draw.choice(["left cheek", "chin"]),
            "skin": "III" if close else draw.choice(["III", "V"]),
        }
        worse, recent = draw.choice((1, 1, 1, 3)), draw.random() < 0.3
        own = {id: min(0.95, chance * (worse if id in HARMS else 1)) for id, chance in chances.items()}
        rows += [row(draw, own, kept, dated, recent, shared) for _ in range(draw.randint(1, 50))]
    return rows


def row(draw, chances, kept, dated, recent, shared) -> Row:  # type: ignore[no-untyped-def]
    ago = draw.randint(0, 60) if recent else draw.randint(0, 1000)
    watched = min(ago, draw.choice((3, 40, 200, 300, 300, 300))) if draw.random() < kept else None
    again = draw.randint(1, watched) if watched and draw.random() < 0.05 else None
    cells, noticed = {}, {}
    for id, chance in chances.items():
        cells[id] = draw.choice(("no",) * 12 + ("",)) if draw.random() >= chance else "yes"
        if cells[id] == "yes" and id in dated:
            noticed[id] = draw.randint(0, watched if watched is not None else ago)
    return Row(ago=ago, watched=watched, again=again, cells=cells, noticed=noticed, **shared)


def csv_of(rows: list[Row]) -> str:
    head = ["case", "session", "date", "techniques", "site", "skin_type", "last_seen", "retreated", *OUTCOMES]
    lines = [",".join([*head, *(f"noticed:{id}" for id in HARMS)])]
    for number, one in enumerate(rows):
        after = (one.watched, one.again, *(one.noticed.get(id) for id in HARMS))
        days = ["" if days is None else (one.day + timedelta(days)).isoformat() for days in after]
        cells = [f"C-{number}", "1", one.day.isoformat(), ";".join(sorted(one.used)), one.site, one.skin]
        lines.append(",".join([*cells, *days[:2], *(one.cells[id] for id in OUTCOMES), *days[2:]]))
    return "\n".join(lines)


def answered(rows: list[Row], where: Path) -> dict[str, RateAnswer]:
    """What is known for the plan, through import and register."""
    held = empty(f"sqlite:///{where}")
    load(held, csv_of(rows), reading=READING)
    with held.connect() as connection:

        def source(comparison, window, watch_days):  # type: ignore[no-untyped-def]
            return tally(connection, comparison, window, watch_days)

        found = answer_all(PLAN, NESTED, CLINIC, match(PLAN, NESTED), source)
    held.engine.dispose()
    return found


# --- counting once more ---------------------------------------------------------------------------


def group(rows: list[Row], level: str) -> list[Row]:
    """The rows of a comparison with a treatment by cannula alone, of a cheek, on lighter skin."""
    found = [one for one in rows if CANNULA in one.used and one.day >= FIRST]
    if level != "lead-technique":
        found = [one for one in found if one.used == {CANNULA}]
    if level == "closest":
        found = [one for one in found if one.site in CHEEKS and one.skin in LIGHTER]
    return found


@dataclass(frozen=True)
class Way:
    """One way in which an outcome may have been counted."""

    parts: tuple[tuple[str, str], ...] = ()
    """(part, whole) of what it is counted together with."""
    joint: tuple[str, ...] = ()

    def family(self, outcome: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys((outcome, *(id for pair in self.parts for id in pair))))


def ways(outcome: str) -> Iterator[Way]:
    pairs = tuple(ABOVE.items())
    yield Way()
    for some in (pairs, pairs[:1], pairs[1:]):
        if any(outcome in pair for pair in some):
            yield Way(some)
    if outcome in (FAILS, *GAINS):
        for number in (2, 3):
            for some in combinations((FAILS, *GAINS), number):
                if outcome in some:
                    yield Way((), some)


def state(one: Row, outcome: str, way: Way) -> str:
    """'yes', 'no', or '' where it is not known, whenever it was."""
    own = "yes" if _seen(one, outcome, way) else one.cells[outcome]
    above = dict(way.parts)
    if outcome not in above:
        return own
    whole = state(one, above[outcome], way)
    return "" if not whole else own or ("no" if whole == "no" else "")


def _seen(one: Row, outcome: str, way: Way) -> bool:
    kinds = [part for part, whole in way.parts if whole == outcome]
    return one.cells[outcome] == "yes" or any(_seen(one, kind, way) for kind in kinds)


def first(one: Row, outcome: str, way: Way) -> int | None:
    """Days until it, or a part of it, was first noticed."""
    ids = [outcome]
    for part, whole in way.parts:
        ids += [part] if whole in ids else []
    days = [one.noticed[id] for id in ids if one.cells[id] == "yes"]
    return min(days, default=None)


def keeps_last_seen(rows: list[Row]) -> bool:
    with_day = sum(one.watched is not None for one in rows)
    return with_day >= 30 or sum(one.watched is None and any(one.cells.values()) for one in rows) <= with_day


def is_dated(rows: list[Row], outcome: str, way: Way) -> bool:
    """Whether the days of all that were seen are known, of it and of what it is counted with."""
    if outcome not in HARMS or not keeps_last_seen(rows):
        return False
    inside = [one for one in rows if one.day >= FIRST]
    # somebody must have written down a day: a column that nobody filled in is not there
    return all(
        any(id in one.noticed for one in rows)
        and all(id in one.noticed for one in inside if one.cells[id] == "yes")
        for id in way.family(outcome)
    )


@dataclass(frozen=True)
class Counted:
    """What a count by hand finds."""

    inside: tuple[int, int]
    outside: tuple[int, int]
    blank: int
    times: tuple[tuple[int, str], ...] = ()
    """With days: (day of leaving the watch, why) of each."""

    @property
    def told(self) -> tuple[int, int]:
        return (self.inside[0] + self.outside[0], self.inside[1] + self.outside[1])


def hidden(found: Counted) -> bool:
    outside = found.outside[0], found.outside[1] + found.blank
    return bool(outside[0]) and (not found.inside[0] or worse(outside, found.inside))


def worse(a: tuple[int, int], b: tuple[int, int]) -> bool:
    """Whether more of a than of b had it, by Fisher's exact test, one-sided, 5%."""
    table = [[a[0], a[1] - a[0]], [b[0], b[1] - b[0]]]
    return bool(fisher_exact(table, alternative="greater").pvalue < 0.05 - 1e-9)


def count(rows: list[Row], outcome: str, way: Way, *, timed: bool, dated: bool) -> Counted:
    days = DAYS[outcome]
    together = way.joint or (outcome,)
    events = watched = seen = known = 0
    times = []
    for one in rows:
        states = [state(one, id, way) for id in together]
        said = state(one, outcome, way) if all(states) else ""
        if not said:
            continue
        known += 1
        ended = one.again if one.again is not None else 10**6
        if not dated:
            long = [DAYS[id] for id in together]
            over = all(one.ago >= n for n in long)
            if timed:
                over = over and one.watched is not None and min(one.watched, ended) >= max(long)
            had, counts = said == "yes", over
        else:
            on = first(one, outcome, way)
            had = on is not None and on <= min(days, one.ago, ended)
            counts = one.ago >= days and (
                on is not None or ended < days or (one.watched is not None and one.watched >= days)
            )
            times += list(_left(one, on, days, ended))
        seen += had
        events, watched = events + (had and counts), watched + counts
    return Counted((events, watched), (seen - events, known - watched), len(rows) - known, tuple(times))


def _left(one: Row, on: int | None, days: int, ended: int) -> Iterator[tuple[int, str]]:
    end = min(days, one.ago)
    if on is not None and on <= min(end, ended):
        yield on, "seen"
    elif ended < end:
        yield ended, "again"
    elif on is not None:
        yield end, "left"
    elif one.watched is not None:
        yield min(end, one.watched), "left"


def by_days(times: Sequence[tuple[int, str]]) -> tuple[Fraction, float, float] | None:
    """Share by the end of the watch, by giving what each who left had to those who stayed; and its limits."""
    order = sorted(times, key=lambda each: (each[0], each[1] == "left"))
    share, each = Fraction(0), Fraction(1, len(order) or 1)
    for at, (_, why) in enumerate(order):
        if why == "seen":
            share += each
        elif why == "left" and at + 1 < len(order):
            stay = len(order) - at - 1
            each *= Fraction(stay + 1, stay)
    if not share or share == 1:
        return None
    from statsmodels.duration.survfunc import CumIncidenceRight

    code = {"seen": 1, "again": 2, "left": 0}
    fit = CumIncidenceRight([day + 1.0 for day, _ in order], [code[why] for _, why in order])
    effective = float(share * (1 - share)) / float(fit.cinc_se[0][-1]) ** 2
    low, high = proportion_confint(float(share) * effective, effective, method="wilson")
    return share, float(low), float(high)


class Book:
    """A register's rows with every count by hand, each made once."""

    def __init__(self, rows: list[Row]):
        self.rows, self.timed = rows, keeps_last_seen(rows)
        self.groups = {level: group(rows, level) for level in LEVELS}
        self._found: dict[tuple[str, str, Way], Counted] = {}
        self._dated: dict[tuple[str, Way], bool] = {}

    def count(self, level: str, id: str, way: Way) -> Counted:
        if (id, way) not in self._dated:
            self._dated[id, way] = is_dated(self.rows, id, way)
        if (level, id, way) not in self._found:
            dated = self._dated[id, way]
            self._found[level, id, way] = count(self.groups[level], id, way, timed=self.timed, dated=dated)
        return self._found[level, id, way]

    def possible(self, id: str, level: str) -> Iterator[tuple[Counted, bool]]:
        """What each way to count finds, and whether what was seen outside is in it."""
        for way in ways(id):
            joined = id in HARMS and any(hidden(self.count(level, each, way)) for each in way.family(id))
            yield self.count(level, id, way), joined


# --- what is asked --------------------------------------------------------------------------------


def problems(rows: list[Row], answers: Mapping[str, RateAnswer]) -> Iterator[str]:
    """What is wrong with the answers to a register."""
    told, book = {id: answers[id] for id in OUTCOMES if id in answers}, Book(rows)
    for id, answer in told.items():
        yield from _recounted(book, id, answer)
        yield from _hidden_worse(book, id, answer)
        if id in GAINS:
            yield from _early(book, id, answer)
    for part, whole in (*ABOVE.items(), (PIECE, WHOLE)):
        a, b = (_share(told[id]) for id in (part, whole))
        if a is not None and b is not None and a > b:
            yield f"{part} {float(a):.3f} is told above {whole} {float(b):.3f}"


def _share(answer: RateAnswer) -> Fraction | None:
    if answer.rate:
        return answer.rate.risk.share if answer.rate.risk else Fraction(answer.rate.events, answer.rate.n)
    return Fraction(answer.seen.events, answer.seen.n) if answer.seen else None


def _recounted(book: Book, id: str, answer: RateAnswer) -> Iterator[str]:
    shown = answer.rate or answer.seen
    if shown is None or shown.level == "published":
        return
    wanted = []
    for found, joined in book.possible(id, shown.level):
        events, n = found.told if joined else found.inside
        wanted.append((events, n, None))
        if answer.rate and found.times and not joined and (share := by_days(found.times)):
            seen = sum(why == "seen" for _, why in found.times)
            wanted.append((seen, len(found.times), share))
            wanted.remove((events, n, None))
    risk = answer.rate.risk if answer.rate else None
    got = (shown.events, shown.n)
    if risk is None:
        if got not in [each[:2] for each in wanted if each[2] is None]:
            yield f"{id}: told {got} at {shown.level}, counted {wanted}"
        elif answer.rate:
            low, high = proportion_confint(*got, method="wilson")
            if abs(low - shown.interval.low) + abs(high - shown.interval.high) > 1e-6:
                yield f"{id}: {got} has not the interval {shown.interval}"
        return
    for seen, n, share in wanted:
        alike = share is not None and got == (seen, n) and share[0] == risk.share
        if alike and abs(share[1] - shown.interval.low) + abs(share[2] - shown.interval.high) < 1e-6:
            return
    yield f"{id}: by days {got} {float(risk.share):.4f} {shown.interval}, counted {wanted}"


def _hidden_worse(book: Book, id: str, answer: RateAnswer) -> Iterator[str]:
    """Closer groups that are worse than what is told, or one between, in every way to count, unnamed."""
    shown = answer.rate or answer.seen
    if shown is None or answer.counted_in or answer.at_least:
        return
    upto = LEVELS.index(shown.level) if shown.level in LEVELS else len(LEVELS)
    named = {(each.level, each.than) for each in answer.worse if each.found}
    for at, level in enumerate(LEVELS[:upto]):
        for wide in LEVELS[at + 1 : upto + 1]:
            found = []
            for (close, joined), (far, _) in zip(
                book.possible(id, level), book.possible(id, wide), strict=True
            ):
                mine = close.told if joined else close.inside
                rest = (far.inside[0] - close.inside[0], far.inside[1] - close.inside[1])
                if not mine[1] or rest[1] < 1 or rest[0] > rest[1] or rest[0] < 0:
                    found.append(False)
                else:
                    found.append(worse(rest, mine) if id in GAINS else worse(mine, rest))
            if all(found) and (level, wide) not in named:
                yield f"{id}: {level} is worse than {wide} and nobody is told"


def _early(book: Book, id: str, answer: RateAnswer) -> Iterator[str]:
    shown = answer.rate or answer.seen
    if shown is None or shown.level == "published":
        return
    judged = [
        one for one in book.groups[shown.level]
        if one.ago >= DAYS[id] and one.watched is not None and one.watched >= DAYS[id]
    ]  # fmt: skip
    yes = sum(one.cells[id] == "yes" for one in judged)
    if not book.timed or shown.events > yes or shown.n > len(judged):
        yield f"{id}: {shown.events} of {shown.n} are told, {yes} of {len(judged)} can be judged"


def check(seed: int, where: Path) -> list[str]:
    rows = register(random.Random(seed))
    return list(problems(rows, answered(rows, where)))


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
    print(f"{options.count} registers, {wrong} problems")


if __name__ == "__main__":
    main()
