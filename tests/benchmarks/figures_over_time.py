"""How near figures come to a truth that is known: clinics with recent treatments and lost patients.

    python tests/benchmarks/figures_over_time.py [--clinics 1000]

Each invented clinic has 100 to 250 treatments. A harm comes with a known chance on some day of its 30, and
with another after them; a gain is there at half a year with a known chance, and in the first weeks nearly
everybody seems to have it. Four patterns say when patients were treated and until when they were seen. Each
clinic's figure is counted from its spreadsheet, in three ways: a harm without days, the same harm with days,
and the gain; and once more by the rule of before, in which an event counts whenever it was seen. Printed is
the mean of figure less truth in every 100, and how many in 100 of the intervals hold the truth.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from consentpack import shipped
from consentpack.library import load_library
from consentpack.rates.counting import own_rate
from consentpack.rates.intervals import wilson
from consentpack.rates.outside import told_counts
from consentpack.register import Comparison, Reading, Window, import_file, open_register, tally
from consentpack.wording import natural

LIBRARY = load_library(shipped.content())
HARM, DATED, GAIN = "infection", "fluid-pocket", "shallower-scar"
"""The harm without days, the same harm with days under another name, and the gain."""
DAYS = {HARM: 30, DATED: 30, GAIN: 180}
CHANCE, LATER, GAINED, SEEMS = 0.12, 0.05, 0.65, 0.95
"""Of the harm within its time, and after it; of the gain at its time, and of seeming to have it before."""
TREATMENTS, BATCH = (100, 250), 50
CLOSING = date(2026, 11, 20)
OPEN = 900
"""Days in which a clinic treated."""
TECHNIQUE = "blunt-cannula"
PATTERNS = ("all followed up", "many recent", "one in seven lost", "recent, lost, treated again")
AGAIN = 0.15
Comparisons = dict[str, dict[str, list[tuple[float, float, float]]]]
"""Pattern -> way of counting -> (figure, low, high) of each clinic."""


@dataclass(frozen=True)
class Person:
    """One treatment as it truly went, and as far as it was seen."""

    ago: int
    harm: int
    """Day of the harm; beyond any for none."""
    gained: bool
    seems: bool
    seen: int
    """Days until last seen."""
    again: int
    """Days until the place was treated again."""

    @property
    def watched(self) -> int:
        return min(self.seen, self.ago)

    def has(self, outcome: str) -> bool:
        """What was written down when the patient was last seen."""
        if outcome == GAIN:
            return self.gained if self.watched >= DAYS[GAIN] else self.seems
        return self.harm <= min(self.watched, DAYS[HARM] if outcome == HARM else self.watched)


NEVER = 10**6


def person(draw: random.Random, pattern: int) -> Person:
    recent = pattern in (1, 3) and draw.random() < 0.5
    ago = draw.randint(0, 60) if recent else draw.randint(0 if pattern == 1 else 200, OPEN)
    chance = draw.random()
    harm = (
        draw.randint(1, 30)
        if chance < CHANCE
        else draw.randint(31, 300)
        if chance < CHANCE + LATER
        else NEVER
    )
    lost = pattern in (2, 3) and draw.random() < 1 / 7
    again = draw.randint(1, 90) if pattern == 3 and draw.random() < AGAIN else NEVER
    seen = draw.randint(0, 180) if lost else draw.randint(180, 400)
    return Person(ago, harm, draw.random() < GAINED, draw.random() < SEEMS, seen, again)


def clinic(draw: random.Random, pattern: int) -> list[Person]:
    """All treatments of one clinic; clinics differ in size, so that no one size decides how intervals do."""
    return [person(draw, pattern) for _ in range(draw.randint(*TREATMENTS))]


def truth(pattern: int) -> dict[str, float]:
    """What figures should say, in every 100."""
    if pattern != 3:
        return {HARM: 100 * CHANCE, DATED: 100 * CHANCE, GAIN: 100 * GAINED}
    # before the place is treated again, on the same day included
    first = sum(1 - AGAIN * (day - 1) / 90 for day in range(1, 31)) / 30
    return {HARM: 100 * CHANCE, DATED: 100 * CHANCE * first, GAIN: 100 * GAINED}


def sheet(clinics: Mapping[str, list[Person]]) -> str:
    lines = [f"case,session,date,techniques,site,last_seen,{HARM},{DATED},noticed:{DATED},{GAIN},retreated"]
    for name, people in clinics.items():
        for number, one in enumerate(people):
            day = CLOSING - timedelta(one.ago)
            on = (day + timedelta(one.harm)).isoformat() if one.has(DATED) else ""
            again = (day + timedelta(one.again)).isoformat() if one.again <= one.watched else ""
            said = ["yes" if one.has(id) else "no" for id in (HARM, DATED, GAIN)]
            cells = [f"{name}-{number}", "1", day.isoformat(), TECHNIQUE, name]
            cells += [(day + timedelta(one.watched)).isoformat(), said[0], said[1], on, said[2], again]
            lines.append(",".join(cells))
    return "\n".join(lines)


READING = Reading("year-first", frozenset({TECHNIQUE}), frozenset(DAYS))
WINDOW = Window(CLOSING - timedelta(3 * 365), CLOSING)


def counted(
    clinics: Mapping[str, list[Person]], folder: Path
) -> Iterator[tuple[str, str, tuple[float, ...]]]:
    """(clinic, outcome, (figure in whole numbers of 100, low, high)), from their spreadsheet."""
    path = folder / "audit.csv"
    path.write_text(sheet(clinics))
    where = folder / "register.sqlite"
    where.unlink(missing_ok=True)
    register = open_register(str(where), create=True)
    assert register
    import_file(register, path, columns={}, reading=READING, now=datetime(2026, 11, 25), by="script")
    used = frozenset({TECHNIQUE})
    with register.connect() as connection:
        for name in clinics:
            found = tally(connection, Comparison(used, used, (name,)), WINDOW, DAYS)
            for id, counts in told_counts(found, LIBRARY, DAYS).items():
                rate = own_rate(found, id, "closest", days=DAYS[id], counts=counts)
                printed = natural(*rate.ratio).number
                yield name, id, (printed, 100 * rate.interval.low, 100 * rate.interval.high)
    register.engine.dispose()


def before(people: list[Person], outcome: str) -> tuple[float, float, float]:
    """The rule of before: what was seen counts whenever, what was not when somebody looked for long."""
    seen = sum(one.has(outcome) for one in people)
    n = seen + sum(not one.has(outcome) and one.watched >= DAYS[outcome] for one in people)
    held = wilson(seen, n)
    return natural(seen, n).number, 100 * held.low, 100 * held.high


def simulate(clinics: int, pattern: int, seed: int = 14) -> dict[str, list[tuple[float, float, float]]]:
    """Way of counting -> (figure, low, high) of each clinic, all in every 100."""
    draw = random.Random(1000 * seed + pattern)
    found: dict[str, list[tuple[float, float, float]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for start in range(0, clinics, BATCH):
            some = range(start, min(start + BATCH, clinics))
            people = {f"place-{n}": clinic(draw, pattern) for n in some}
            for _, outcome, told in counted(people, Path(folder)):
                found.setdefault(outcome, []).append(told)  # type: ignore[arg-type]
            for each in people.values():
                for outcome in DAYS:
                    found.setdefault(f"before: {outcome}", []).append(before(each, outcome))
    return found


def summed(found: list[tuple[float, float, float]], true: float) -> tuple[float, float]:
    """Mean of figure less truth, and how many in 100 of the intervals hold the truth."""
    bias = sum(figure for figure, _, _ in found) / len(found) - true
    return bias, 100 * sum(low <= true <= high for _, low, high in found) / len(found)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--clinics", type=int, default=1000)
    clinics = asked.parse_args().clinics
    titles = {HARM: "harm, without days", DATED: "harm, with days", GAIN: "gain"}
    print(f"{clinics} clinics of {TREATMENTS[0]} to {TREATMENTS[1]} treatments for each pattern")
    print("| pattern | counted | bias in 100 | intervals that hold the truth | bias by the rule of before |")
    print("|---|---|---:|---:|---:|")
    for number, pattern in enumerate(PATTERNS):
        found, true = simulate(clinics, number), truth(number)
        for outcome, title in titles.items():
            bias, held = summed(found[outcome], true[outcome])
            old, _ = summed(found[f"before: {outcome}"], true[outcome])
            print(f"| {pattern} | {title} | {bias:+.1f} | {held:.1f}% | {old:+.1f} |", flush=True)


if __name__ == "__main__":
    main()
