"""Backups damaged by the thousand: is damage ever missed, or a damaged file given back?

    python tests/faults/damaged_backups.py --count 3000 [--seed 1]

Each try changes one bit, a run of bytes, or cuts the end off, at a random place of an archive of the invented
clinic. A restore must refuse it and name something; what `--only-whole` then gives back must be as it was,
and the rest must be listed. Prints one row: tried, lost, half-written, silent, tracebacks. Lost is a file
that is neither given back nor listed; silent is damage that was not found, or a damaged file given back.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(HERE), str(HERE / "tests")]

from saved import MADE, bring_back, files_of, save  # noqa: E402

from consentpack import pipeline  # noqa: E402
from consentpack.errors import BackupError  # noqa: E402


def clinic(folder: Path) -> Path:
    """The invented clinic with its audit, and without most of its translations."""
    made = pipeline.copy_demo(folder / "clinic")
    place = pipeline.open_workplace(made)
    pipeline.import_audit(place, made / "audit.csv", now=MADE, by="faults")
    shutil.rmtree(made / "locales")
    return made


def damaged(data: bytes, chance: random.Random) -> bytes:
    """An archive that is not what it was."""
    place, kind = chance.randrange(len(data)), chance.random()
    if chance.random() < 0.3:  # the directory and the end, where every byte has a meaning of its own
        place = chance.randrange(len(data) - 3000, len(data))
    if kind < 0.8:
        return data[:place] + bytes([data[place] ^ (1 << chance.randrange(8))]) + data[place + 1 :]
    if kind < 0.9:
        return data[:place]
    spoilt = chance.randbytes(chance.randrange(1, 5000))
    made = data[:place] + spoilt + data[place + len(spoilt) :]
    return made if made != data else data[:-1]


def tried(archive: Path, to: Path, whole: dict[str, bytes]) -> Counter[str]:
    found: Counter[str] = Counter(tried=1)
    try:
        bring_back(archive, to)
        found["silent"] += 1
    except BackupError as error:
        found["silent"] += not all(problem.where and problem.what for problem in error.problems)
    found["half-written"] += to.exists()
    shutil.rmtree(to, ignore_errors=True)
    try:
        lost = {problem.where for problem in bring_back(archive, to, only_whole=True).lost}
    except BackupError:
        return found  # no list can be read, or the register does not agree
    there = files_of(to)
    found["silent"] += any(whole.get(name) != content for name, content in there.items())
    found["lost"] += bool(whole.keys() - there.keys() - lost)
    shutil.rmtree(to)
    return found


def run(count: int, seed: int) -> str:
    chance, found = random.Random(seed), Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        good = save(clinic(folder), folder / "good.zip").path
        bring_back(good, folder / "whole")
        whole, data = files_of(folder / "whole"), good.read_bytes()
        for _ in range(count):
            (folder / "bad.zip").write_bytes(damaged(data, chance))
            try:
                found += tried(folder / "bad.zip", folder / "to", whole)
            except Exception as error:
                found["tracebacks"] += 1
                print(repr(error), file=sys.stderr)
                shutil.rmtree(folder / "to", ignore_errors=True)
    names = ("tried", "lost", "half-written", "silent", "tracebacks")
    return "  ".join(f"{name} {found[name]}" for name in names)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    print(run(chosen.count, chosen.seed))
