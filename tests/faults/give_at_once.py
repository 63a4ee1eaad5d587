"""Several people give and enter at once, each command a process of its own: is any entry lost or doubled?

    python tests/faults/give_at_once.py --rounds 20 [--seed 1] [--postgres]

In each round four commands begin together: two of one plan, one of another, and what came of a third. With
`--postgres` they come from two clinic folders that share one register, the second a copy of the first: one of
them goes on with the ledger, whichever is the quicker, and all from the other is refused. Prints one row.
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
from given_clinic import FAULT, Running, clinic_in, database, entered, looked_at, new_plan, start

from consentpack.pipeline.ledgers import receipt_path

COUNTED = ("tried", "entered", "refused", "lost", "doubled", "half-written", "strays", "tracebacks")
BY = ("--by", "Dr Invented")


def one_round(clinics: Sequence[Path], number: int, rng: random.Random) -> Counter[str]:
    """Four at once. Of two who give one plan one is told that it was given; the others all go through, but
    for those from a second clinic folder."""
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
    owner = goes_on(clinics)
    found: Counter[str] = Counter(tried=len(asked))
    found += looked_at(clinics[owner], before)
    for place, clinic in enumerate(clinics):
        of_it = [each for n, each in enumerate(running) if n % len(clinics) == place]
        theirs = [words for n, words in enumerate(asked) if n % len(clinics) == place]
        if place == owner:
            found += judged(of_it, theirs, same)
        else:
            found += looked_at(clinic, before, own=False) + all_refused(of_it)
    found["entered"] = len(entered(clinics[0])) - len(before)
    found["refused"] = sum(code != 0 for code in codes)
    found["lost"] += found["entered"] != codes.count(0)
    return found


def goes_on(clinics: Sequence[Path]) -> int:
    """Which of the folders the ledger's last entry was made from, by its receipt."""
    last = entered(clinics[0])[-1]
    there = [place for place, clinic in enumerate(clinics) if receipt_path(clinic, last).is_file()]
    assert len(there) == 1, there
    return there[0]


def all_refused(running: Sequence[Running]) -> Counter[str]:
    """From the folder that the ledger does not go on in, and told why."""
    found: Counter[str] = Counter()
    for each in running:
        found["tracebacks"] += each.code == FAULT
        found["doubled"] += each.code == 0
        found["lost"] += "was not made from this clinic folder" not in each.said
        if each.code == 0 or "was not made from this clinic folder" not in each.said:
            print("another folder:", each.code, each.said[-1500:], file=sys.stderr)
    return found


def judged(running: Sequence[Running], asked: Sequence[tuple[str, ...]], same: str) -> Counter[str]:
    """Only the second of the same plan may be refused."""
    found: Counter[str] = Counter()
    for each, words in zip(running, asked, strict=True):
        if each.code == FAULT or (each.code and words[1] != same):
            found["tracebacks"] += each.code == FAULT
            found["lost"] += each.code != FAULT
            print(words, each.said[-1500:], file=sys.stderr)
    codes = [each.code for each, words in zip(running, asked, strict=True) if words[1] == same]
    found["doubled"] += codes.count(0) > 1
    found["lost"] += bool(codes) and codes.count(0) < 1
    return found


def tried(rounds: int, seed: int, clinics: Sequence[Path]) -> Counter[str]:
    """So many rounds, one after the other. The first pack is given from all folders at once."""
    for clinic in clinics:
        plan = new_plan(clinic, "first")
    first = [start(clinic, "give", plan, *BY) for clinic in clinics]
    codes = [each.wait() for each in first]
    assert codes.count(0) == 1, [each.said for each in first]
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
