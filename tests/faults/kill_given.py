"""`give` and `mark` are killed at random moments, with import, build or approve beside them: is all whole?

    python tests/faults/kill_given.py --kills 100 [--seed 1] [--postgres]

Half of the kills come while a pack is being frozen, the others at any moment of the command. Then the program
is started once more, and looked at: no entry lost, doubled or half there, no document without its entry, no
entry without its documents, nothing left lying. Prints one row.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from given_clinic import FAULT, Running, clinic_in, database, entered, looked_at, new_plan, run, start

from consentpack.ledger import Entry

COUNTED = ("tried", "killed", "entered", "lost", "doubled", "half-written", "strays", "tracebacks")
BY = ("--by", "Dr Invented")


def beside(clinic: Path, number: int, rng: random.Random) -> tuple[str, ...]:
    """What somebody else does at the same time."""
    sheet = clinic / f"more-{number}.csv"
    head, *rows = (clinic / "audit.csv").read_text("utf-8").splitlines()
    sheet.write_text("\n".join([head, *(f"{number}-{row}" for row in rows[:200])]) + "\n", encoding="utf-8")
    return rng.choice(
        [
            ("audit", "import", sheet.name),
            ("build", "plans/p-102.toml", "--draft"),
            ("library", "approve", "risks/bruising", *BY, "--role", "invented"),
        ]
    )


def command(clinic: Path, number: int, rng: random.Random, given: Sequence[Entry]) -> tuple[str, ...]:
    if given and rng.random() < 0.3:
        return ("mark", rng.choice(given).reference, "more-time", *BY)
    return ("give", new_plan(clinic, f"K-{number}"), *BY)


def one_kill(clinic: Path, number: int, rng: random.Random, takes: dict[str, float]) -> Counter[str]:
    before = entered(clinic)
    asked = command(clinic, number, rng, before)
    both = [start(clinic, *asked)]
    if rng.random() < 0.6:
        both.append(start(clinic, *beside(clinic, number, rng)))
    killed = wait_and_kill(both[0], asked[0], rng, takes[asked[0]])
    for other in both[1:]:
        time.sleep(rng.uniform(0, 0.3))
        killed += other.kill() < 0
    after = run(clinic, "library", "status")  # a command that works with the whole folder
    found = looked_at(clinic, before)
    new = len(entered(clinic)) - len(before)
    found["lost"] += both[0].code == 0 and new != 1
    found["doubled"] += new > 1
    found["tracebacks"] += sum(each.code == FAULT for each in (*both, after)) + (after.code != 0)
    for each in (*both, after):
        if each.code == FAULT:
            print(each.said[-2000:], file=sys.stderr)
    return found + Counter({"tried": 1, "killed": killed, "entered": new})


def wait_and_kill(running: Running, what: str, rng: random.Random, takes: float) -> int:
    """Half of the gives die while they write; the rest of all at any moment."""
    if what == "give" and rng.random() < 0.5:
        running.hear("giving it", 60)
        time.sleep(rng.uniform(0, 0.12 + takes * 0.1))
    else:
        time.sleep(rng.uniform(0, takes * 1.05))
    return int(running.kill() < 0)


def tried(kills: int, seed: int, clinic: Path) -> Counter[str]:
    """So many kills in one clinic folder, one after the other. A kill that came too late tries nothing: where
    all did, on a machine whose speed has changed meanwhile, there are more."""
    takes, counts = {}, Counter[str]()
    for name, asked in (("give", new_plan(clinic, "K-first")), ("mark", "K-first")):
        begun = time.monotonic()
        words = (name, asked, *BY) if name == "give" else (name, asked, "more-time", *BY)
        first = run(clinic, *words)
        assert first.code == 0, first.said
        takes[name] = time.monotonic() - begun
    for number in range(10 * kills):
        if number >= kills and counts["killed"]:
            break
        counts += one_kill(clinic, number, random.Random(f"{seed}-{number}"), takes)
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true", help="a throw-away server instead of SQLite")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, database(asked.postgres) as url:
        counts = tried(asked.kills, asked.seed, clinic_in(Path(place) / "clinic", url))
    print(" | ".join(f"{name} {counts[name]}" for name in COUNTED))


if __name__ == "__main__":
    main()
