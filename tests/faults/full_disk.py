"""The disk is full at each write of `give` and `mark` in turn: is nothing half there, and does a retry work?

    python tests/faults/full_disk.py [--every 1] [--postgres]

A library is loaded before all others, and fails with ENOSPC from the n-th call on that writes in the clinic
folder: write, pwrite, fsync, fdatasync, rename, mkdir, and open where it makes a file. So Python's own
writes and those of SQLite are met alike. n goes from 1 until a run meets no fault any more. After each: what
the command said, one more start, a look at all of it, and the same command again. Needs a C compiler. Prints
one row.
"""

from __future__ import annotations

import argparse
import ctypes
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from given_clinic import FAULT, Running, clinic_in, database, entered, looked_at, new_plan, run, start

COUNTED = ("tried", "entered", "lost", "doubled", "half-written", "strays", "tracebacks", "unclear")
BY = ("--by", "Dr Invented")
AS_CLINICS_SAY = re.compile(r"disk is full|No space left|disk I/O error|unable to open|room left", re.I)
SHIM = Path(__file__).with_suffix(".c")


def with_shim(folder: Path) -> None:
    """Start this very script once more with the library before all others."""
    library = folder / "full.so"
    command = ["cc", "-shared", "-fPIC", "-O1", "-o", str(library), str(SHIM), "-ldl"]
    subprocess.run(command, check=True, capture_output=True)
    environment = {**os.environ, "LD_PRELOAD": str(library)}
    sys.exit(subprocess.run([sys.executable, *sys.argv], env=environment).returncode)


def start_full(clinic: Path, first: int, only: bool, *arguments: str) -> Running:
    """A command whose disk is full from a call on, or at that one alone."""

    def fill() -> None:
        ctypes.CDLL(None).full_disk(os.fsencode(clinic), ctypes.c_long(first), ctypes.c_long(int(only)))

    return start(clinic, *arguments, first=fill)


def one(clinic: Path, call: int, only: bool, words: tuple[str, ...]) -> tuple[Counter[str], bool]:
    """One command on a full disk; and whether it met it at all."""
    before = entered(clinic)
    failed = start_full(clinic, call, only, *words)
    code = failed.wait()
    found = looked_at(clinic, before)
    new = len(entered(clinic)) - len(before)
    met = code != 0 or "not written" in failed.said
    found += Counter({"tried": 1, "entered": new})
    found["tracebacks"] += code == FAULT
    found["unclear"] += code != 0 and not AS_CLINICS_SAY.search(failed.said)
    found["lost"] += code == 0 and new != 1
    found["doubled"] += new > 1
    if code == FAULT or (code and not AS_CLINICS_SAY.search(failed.said)):
        print(call, only, words, code, failed.said[-1500:], file=sys.stderr)
    again = run(clinic, *words)
    found["lost"] += again.code != 0 and not (new and words[0] == "give" and "very same" in again.said)
    if again.code and not new:
        print("again:", words, again.said[-800:], file=sys.stderr)
    return found, met


def tried(clinic: Path, every: int) -> Counter[str]:
    """Every so manieth call, of a first give, a second one and a mark."""
    counts: Counter[str] = Counter()
    for only in (False, True):
        for kind in ("give", "mark"):
            call, met, done = 1, True, 0
            while met or done < 3:  # a single fault may be got over: three in a row that met none end it
                name = f"F-{int(only)}-{call}"
                words = (
                    ("give", new_plan(clinic, name), *BY)
                    if kind == "give"
                    else ("mark", "F-first", "more-time", *BY)
                )
                found, met = one(clinic, call, only, words)
                counts += found
                done = 0 if met else done + 1
                call += every
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--postgres", action="store_true", help="a throw-away server instead of SQLite")
    asked = parser.parse_args()
    assert shutil.which("cc"), "needs a C compiler"
    with tempfile.TemporaryDirectory() as place:
        if "full.so" not in os.environ.get("LD_PRELOAD", ""):
            with_shim(Path(place))
        with database(asked.postgres) as url:
            clinic = clinic_in(Path(place) / "clinic", url)
            assert run(clinic, "give", new_plan(clinic, "F-first"), *BY).code == 0
            counts = tried(clinic, asked.every)
    print(" | ".join(f"{name} {counts[name]}" for name in COUNTED))


if __name__ == "__main__":
    main()
