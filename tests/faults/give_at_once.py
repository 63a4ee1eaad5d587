"""Several people give and enter at once, each command a process of its own: is any entry lost or doubled?

    python tests/faults/give_at_once.py --rounds 20 [--seed 1] [--postgres]

In each round four commands begin together: two of one plan, one of another, and what came of a third. With
`--postgres` they come from two clinic folders that share one register. Prints one row.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from given_clinic import FAULT, Running, clinic_in, database, entered, looked_at, new_plan, run, start

COUNTED = ("tried", "entered", "refused", "lost", "doubled", "half-written", "strays", "tracebacks")
BY = ("--by", "Dr Invented")


def one_round(clinics: Sequence[Path], number: int, rng: random.Random) -> Counter[str]:
    """Four at once. Of two who give one plan one is told that it was given; the others all go through."""
    for clinic in clinics:
        same, other = new_plan(clinic, f"S-{number}"), new_plan(clinic, f"T-{number}", "p-102")
    before = entered(clinics[0])
    asked = [
        ("give", same, *BY),
        ("give", same, *BY),
        ("give", other, *BY),
        ("mark", "first", "more-time", *BY),
    ]
    rng.shuffle(asked)
    running = [start(clinics[n % len(clinics)], *words) for n, words in enumerate(asked)]
    codes = [each.wait() for each in running]
    found: Counter[str] = Counter(tried=len(asked))
    for clinic in clinics:
        found += looked_at(clinic, before, own=len(clinics) == 1)
    found += judged(running, asked)
    found["entered"] = len(entered(clinics[0])) - len(before)
    found["refused"] = sum(code != 0 for code in codes)
    found["lost"] += found["entered"] != codes.count(0)
    return found


def judged(running: Sequence[Running], asked: Sequence[tuple[str, ...]]) -> Counter[str]:
    """Only the second of the same plan may be refused."""
    found: Counter[str] = Counter()
    same = max((words[1] for words in asked), key=[words[1] for words in asked].count)
    for each, words in zip(running, asked, strict=True):
        if each.code == FAULT or (each.code and words[1] != same):
            found["tracebacks"] += each.code == FAULT
            found["lost"] += each.code != FAULT
            print(words, each.said[-1500:], file=sys.stderr)
    codes = [each.code for each, words in zip(running, asked, strict=True) if words[1] == same]
    found["doubled"] += codes.count(0) > 1
    found["lost"] += codes.count(0) < 1
    return found


def tried(rounds: int, seed: int, clinics: Sequence[Path]) -> Counter[str]:
    """So many rounds, one after the other."""
    for clinic in clinics:
        plan = new_plan(clinic, "first")
    first = run(clinics[0], "give", plan, *BY)
    assert first.code == 0, first.said
    counts: Counter[str] = Counter()
    for number in range(rounds):
        counts += one_round(clinics, number, random.Random(f"{seed}-{number}"))
    return counts


def folders(place: Path, url: str) -> list[Path]:
    """One clinic folder, or two that share a register on a server."""
    clinic = clinic_in(place / "clinic", url)
    return [clinic, Path(shutil.copytree(clinic, place / "second"))] if url else [clinic]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true", help="a throw-away server instead of SQLite")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, database(asked.postgres) as url:
        counts = tried(asked.rounds, asked.seed, folders(Path(place), url))
    print(" | ".join(f"{name} {counts[name]}" for name in COUNTED))


if __name__ == "__main__":
    main()
