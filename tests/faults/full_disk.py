"""The disk is full at each write of `give` and `mark` in turn: is nothing half there, and does a retry work?

    python tests/faults/full_disk.py [--every 1] [--postgres]

A library is loaded before all others, and fails with ENOSPC from the n-th call on that writes in the clinic
folder: write, pwrite, fsync, fdatasync, rename, mkdir, and open where it makes a file. So Python's own
writes and those of SQLite are met alike. n goes from 1 until a run meets no fault any more. After each: what
the command said, one more start, a look at all of it, and the same command again. Needs a C compiler. Prints
one row.

Nearly all calls of `give` come after the pack was made, and making it takes a hundred times as long as
keeping it. So one `give` stops there (`Held`), and each try is a fork of it, in a clinic folder that was put
back. Its calls before that are tried with whole commands.
"""

from __future__ import annotations

import argparse
import ctypes
import os
import re
import select
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
import given_files
import ledger_rows
from given_clinic import FAULT, clinic_in, database, entered, looked_at, new_plan, run, start

from consentpack.pipeline import giving

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


def fill(clinic: Path, first: int, only: bool) -> None:
    """From now on the disk is full, from a call on or at that one alone; never where it is 0."""
    ctypes.CDLL(None).full_disk(os.fsencode(clinic), ctypes.c_long(first), ctypes.c_long(int(only)))


class Held:
    """A `give` that has made its pack and stops before it keeps it: each try goes on in a fork of it.

    The folder and the database are put back by `put_back`.
    """

    def __init__(self, clinic: Path, url: str, words: tuple[str, ...]):
        self.clinic = clinic
        self._hear, tell = os.pipe()
        hears, self._tell = os.pipe()

        def first() -> None:
            os.close(self._hear)
            os.close(self._tell)  # or the end of what is asked never came
            kept = giving._frozen

            def again(*made: Any) -> Any:
                os.write(tell, b"%d\n" % ctypes.CDLL(None).full_disk_calls())
                while asked := os.read(hears, 100).split():
                    pid = os.fork()
                    if not pid:
                        fill(clinic, int(asked[0]), asked[1] == b"1")
                        return kept(*made)
                    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
                    os.write(tell, b"%d\n" % code)
                os._exit(0)

            giving._frozen = again
            giving.locked = lambda _: nullcontext()  # or this process held it while the folder is looked at
            fill(clinic, 10**9, False)  # to count its calls

        self._running = start(clinic, *words, first=first)
        os.close(tell)
        os.close(hears)
        self.calls_before = int(self._heard())
        self.folder = given_files.Folder(clinic)
        self.engine = ledger_rows.engine_of(url or f"sqlite:///{clinic / 'register.sqlite'}")
        with self.engine.begin() as connection:
            self.rows = ledger_rows.rows_of(connection)

    def _heard(self) -> bytes:
        heard = os.read(self._hear, 100)
        assert heard, (self._running.wait(), self._running.said)
        return heard

    def go_on(self, call: int = 0, only: bool = False) -> tuple[int, str]:
        """Keep the pack with the disk full at a call: exit code, and what was said on stderr."""
        os.write(self._tell, b"%d %d" % (call, only))
        code = int(self._heard())
        said = b""
        while select.select([self._running.pipe], [], [], 0)[0] and (
            more := os.read(self._running.pipe, 65536)
        ):
            said += more
        return code, said.decode("utf-8", "replace")

    def put_back(self) -> None:
        self.folder.put_back()
        with self.engine.begin() as connection:
            ledger_rows.unlock(connection)
            ledger_rows.put(connection, self.rows)

    def end(self) -> None:
        os.close(self._tell)
        self._running.wait()


def judged(clinic: Path, before: tuple[Any, ...], code: int, said: str) -> tuple[Counter[str], bool]:
    """What one command on a full disk left; and whether it met it at all."""
    found = looked_at(clinic, before)
    new = len(entered(clinic)) - len(before)
    found += Counter({"tried": 1, "entered": new})
    found["tracebacks"] += code == FAULT
    found["unclear"] += code != 0 and not AS_CLINICS_SAY.search(said)
    found["lost"] += code == 0 and new != 1
    found["doubled"] += new > 1
    if code == FAULT or (code and not AS_CLINICS_SAY.search(said)):
        print(code, said[-1500:], file=sys.stderr)
    return found, code != 0 or "not written" in said


def one(clinic: Path, call: int, only: bool, words: tuple[str, ...]) -> tuple[Counter[str], bool]:
    """One whole command on a full disk, and the same again."""
    before = entered(clinic)
    failed = start(clinic, *words, first=lambda: fill(clinic, call, only))
    found, met = judged(clinic, before, failed.wait(), failed.said)
    new = found["entered"]
    again = run(clinic, *words)
    found["lost"] += again.code != 0 and not (new and words[0] == "give" and "very same" in again.said)
    if again.code and not new:
        print("again:", words, again.said[-800:], file=sys.stderr)
    return found, met


def one_held(held: Held, call: int, only: bool) -> tuple[Counter[str], bool]:
    """Keeping a pack on a full disk, and again: a version that stands is not given twice."""
    before = entered(held.clinic)
    found, met = judged(held.clinic, before, *held.go_on(call, only))
    code, said = held.go_on()
    found["lost"] += len(entered(held.clinic)) - len(before) != 1
    found["tracebacks"] += code == FAULT
    if (code == 0) == bool(found["entered"]):
        found["lost"] += 1
        print("again:", call, only, code, said[-800:], file=sys.stderr)
    held.put_back()
    return found, met


def tried(clinic: Path, every: int, url: str = "") -> Counter[str]:
    """Every so manieth call, of a give and of a mark."""
    counts: Counter[str] = Counter()
    held = Held(clinic, url, ("give", new_plan(clinic, "F-held"), *BY))
    try:
        for only in (False, True):
            counts += in_turn(every, lambda call, only=only: one_held(held, call, only))
    finally:
        held.end()
    for only in (False, True):
        for call in range(1, held.calls_before + 1, every):
            counts += one(clinic, call, only, ("give", new_plan(clinic, f"F-{int(only)}-{call}"), *BY))[0]
        mark = ("mark", "F-first", "more-time", *BY)
        counts += in_turn(every, lambda call, only=only, mark=mark: one(clinic, call, only, mark))
    return counts


def in_turn(every: int, once: Callable[[int], tuple[Counter[str], bool]]) -> Counter[str]:
    """One call after the other. A single fault may be got over: three in a row that met none end it."""
    counts: Counter[str] = Counter()
    call, done = 1, 0
    while done < 3:
        found, met = once(call)
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
            counts = tried(clinic, asked.every, url)
    print(" | ".join(f"{name} {counts[name]}" for name in COUNTED))


if __name__ == "__main__":
    main()
