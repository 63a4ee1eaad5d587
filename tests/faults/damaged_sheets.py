"""Damaged spreadsheets by the thousand, imported one by one. To be run by hand:

    python tests/faults/damaged_sheets.py --count 4000 --seed 1 --code .

`--code` is the checkout whose `consentpack` is tried, so that an older one can be compared. Each batch
is a process of its own with a limit of memory; each file has a limit of processor time. Prints one
row of a table, and with `--each` every file that went wrong.
"""

from __future__ import annotations

import argparse
import json
import resource
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from sheet_damage import Damaged, sheet

MEMORY = 1_500_000_000
"""Bytes of address space of one process; about 400 MB of them are Python and its libraries."""
SECONDS = 20
"""Processor time for one file."""
BATCH = 210
NOW = datetime(2026, 11, 25, 9, 0)
COLUMNS = ("tried", "went in", "refused", "lost", "misread", "half-written", "tracebacks", "over limits")


class OverTime(BaseException):
    """A file took too long. No Exception, so that nothing on the way takes it for its own."""


def _over_time(*_: object) -> None:
    raise OverTime


def held(path: Path) -> tuple[dict[str, tuple[str, int | None]], int]:
    """What a register holds, read without any of the code under trial; and how many imports it lists."""
    import sqlite3
    from datetime import date

    if not path.exists():
        return {}, 0
    with closing(sqlite3.connect(path)) as base:
        column = base.execute("SELECT 'o' || id FROM outcome_columns WHERE outcome = 'bruising'").fetchone()
        grade = column[0] if column else "NULL"
        rows = base.execute(f"SELECT case_ref, day, {grade} FROM treatments").fetchall()
        imports = base.execute("SELECT count(*) FROM imports").fetchone()[0]
    return {case: (date.fromordinal(day).isoformat(), seen) for case, day, seen in rows}, imports


def verdict(made: Damaged, result: Any, register: Path) -> str:
    """What became of a file: one of COLUMNS. `result` is None when it was refused."""
    found, imports = held(register)
    if result is None:
        if found or imports:
            return "half-written"
        return "lost" if made.must_go_in else "refused"
    missing = made.good.keys() - found.keys()
    told = 0 if made.must_go_in else result.rows_set_aside
    counted = result.added + result.updated + result.unchanged + result.rows_set_aside
    if len(missing) > told or result.read != counted or (made.read or result.read) != result.read:
        return "lost"
    if any(found[case] != value for case, value in made.good.items() if case in found):
        return "misread"
    return "went in" if len(found) == result.added else "half-written"


def run_batch(code: Path, seed: int, numbers: range) -> None:
    """Import some files, and print what became of each."""
    sys.path.insert(0, str(code))
    from consentpack import pipeline
    from consentpack.errors import ConsentpackError

    assert Path(pipeline.__file__).is_relative_to(code), "another consentpack was imported"
    signal.signal(signal.SIGPROF, _over_time)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        place = pipeline.open_workplace(pipeline.copy_demo(Path(folder, "clinic")))
        plain = replace(
            place.clinic, audit_columns={}, audit_words={}, list_covers=(), date_order="year-first"
        )
        for number in numbers:
            made = sheet(seed, number)
            path, register = Path(folder, made.name), Path(folder, f"{number}.sqlite")
            path.write_bytes(made.data)
            there = replace(place, clinic=replace(plain, register_url=f"sqlite:///{register}"))
            result, why = None, ""
            signal.setitimer(signal.ITIMER_PROF, SECONDS)
            try:
                result, _ = pipeline.import_audit(there, path, now=NOW, by="trial")
                became = verdict(made, result, register)
            except ConsentpackError as error:
                became, why = verdict(made, None, register), str(error)
            except (OverTime, MemoryError) as error:
                became, why = "over limits", type(error).__name__
            except Exception as error:
                became, why = "tracebacks", repr(error)[:200]
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            register.unlink(missing_ok=True)
            print(json.dumps([number, made.kind, became, why]), flush=True)


def tried(code: Path, *, seed: int, count: int, say: bool = False) -> list[tuple[int, str, str, str]]:
    """Every file with its kind, what became of it, and why."""
    found: list[tuple[int, str, str, str]] = []
    at = 0
    while at < count:
        stop = min(at + BATCH, count)
        command = [
            sys.executable,
            __file__,
            "--batch",
            f"{at}:{stop}",
            "--seed",
            str(seed),
            "--code",
            str(code),
        ]
        done = subprocess.run(command, capture_output=True, text=True)
        lines = [json.loads(line) for line in done.stdout.splitlines()]
        found += [(n, kind, became, why) for n, kind, became, why in lines]
        at += len(lines)
        if say:
            print(table_row(f"{code.name}, so far", found), file=sys.stderr, flush=True)
        if at < stop:  # the process itself died at this file
            if not lines and "sheet_damage" not in done.stderr and "Error" in done.stderr and at == 0:
                raise SystemExit(done.stderr)
            found.append((at, sheet(seed, at).kind, "over limits", f"died: {done.returncode}"))
            at += 1
    return found


def table_row(name: str, found: list[tuple[int, str, str, str]]) -> str:
    """One row of a table: name and COLUMNS."""
    counts = Counter(became for _, _, became, _ in found)
    return f"| {name} | {len(found)} | " + " | ".join(str(counts[column]) for column in COLUMNS[1:]) + " |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--code", type=Path, default=Path(__file__).parents[2])
    parser.add_argument("--each", action="store_true")
    parser.add_argument("--batch", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    code = asked.code.resolve()
    if asked.batch:
        first, last = map(int, asked.batch.split(":"))
        run_batch(code, asked.seed, range(first, last))
        return
    found = tried(code, seed=asked.seed, count=asked.count, say=asked.each)
    if asked.each:
        for number, kind, became, why in found:
            if became not in ("went in", "refused"):
                print(f"{number} {kind}: {became} {why}", file=sys.stderr)
    print(f"| code | {' | '.join(COLUMNS)} |", f"|---|{'---:|' * len(COLUMNS)}", sep="\n", file=sys.stderr)
    print(table_row(code.name, found))


if __name__ == "__main__":
    main()
