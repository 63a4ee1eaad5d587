"""What whole commands cost from cold, beside importing what a build needs, all in one run.

    python tests/benchmarks/cold_start.py [--runs 5] [--rows 1000000] [--packs 500] [--folder TREE]

`--version`, `--help`, `build` of one pack, `score` of one file, `audit sheet` over a large invented
register, and two processes beside one over many packs. `--rows 0` and `--packs 0` leave the long ones
out. `--folder` measures another checkout of the program, for a before and after.

Whole processes in turn, so that a slow moment of the machine hits all of them alike; the smallest of the
runs, in processor time and on the clock. Byte code is kept in a folder of its own and is there before the
first run counts, as it is for an installed package.
"""

from __future__ import annotations

import argparse
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
HEAVY = "import textstat, docx, sqlalchemy"
BUILD = "consentpack build, one pack"
SCORE = "consentpack score FILE"
COMMANDS: Mapping[str, Sequence[str]] = {
    "python -c pass": ["-c", "pass"],
    HEAVY: ["-c", HEAVY],
    "consentpack --version": ["-m", "consentpack", "--version"],
    "consentpack --help": ["-m", "consentpack", "--help"],
    BUILD: ["-m", "consentpack", "build", "plans/p-101.toml"],
    SCORE: ["-m", "consentpack", "score", "old-form.docx"],
}
LAUNCHER = """
import os, subprocess, sys, time
begun = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
_, status, used = os.wait4(process.pid, 0)
clock = time.perf_counter() - begun
print(os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, clock, used.ru_maxrss)
process.returncode = 0
"""
"""A small process starts each command: Linux counts the memory of the one that starts it to the command's
peak, so that a large pytest would be measured instead."""
OVER_TARGET = 13
"""Exit code of `score` for the demo's old form, which is hard to read on purpose."""
TODAY = "2026-11-25"
"""The end of the demo's audit."""


@dataclass(frozen=True)
class Cost:
    """Of one process."""

    processor: float
    """Seconds, of user and system together."""
    clock: float
    """Seconds."""
    peak_mb: float
    """Largest memory held, in MB of 1024 * 1024 bytes."""


def run(arguments: Sequence[str], folder: Path, tree: Path = ROOT) -> Cost:
    """One process of this Python, in `folder`, with the program of `tree`."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment = kept | {"PYTHONPATH": str(tree), "PYTHONPYCACHEPREFIX": str(folder / ".byte-code")}
    launched = subprocess.run(
        [sys.executable, "-S", "-c", LAUNCHER, sys.executable, *arguments],
        cwd=folder,
        env=environment,
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    code, processor, clock, peak_kb = map(float, launched.stdout.split())
    assert code in (0, OVER_TARGET), f"{arguments}: {code:g}"
    return Cost(processor, clock, peak_kb / 1024)


def measure(
    runs: int, clinic: Path, tree: Path = ROOT, commands: Mapping[str, Sequence[str]] = COMMANDS
) -> dict[str, Cost]:
    """Command -> the smallest cost of so many runs, each figure by itself."""
    costs: dict[str, list[Cost]] = {name: [] for name in commands}
    for _ in range(runs + 1):
        for name, arguments in commands.items():
            costs[name].append(run(arguments, clinic, tree))
    return {name: _smallest(found[1:]) for name, found in costs.items()}


def _smallest(costs: Sequence[Cost]) -> Cost:
    return Cost(*(min(getattr(cost, name) for cost in costs) for name in ("processor", "clock", "peak_mb")))


def clinic(folder: Path, tree: Path = ROOT) -> Path:
    """The demo clinic with its audit, made by the program of `tree`."""
    run(["-m", "consentpack", "demo", "demo"], folder, tree)
    return folder / "demo"


def enlarge(register: Path, rows: int) -> None:
    """The treatments of a register again and again, under other case numbers, until there are `rows`."""
    with sqlite3.connect(register) as connection:
        names = [row[1] for row in connection.execute("PRAGMA table_info(treatments)")]
        have = int(connection.execute("SELECT count(*) FROM treatments").fetchone()[0])
        others = ", ".join(f'"{name}"' for name in names if name not in ("id", "case_ref"))
        again = (
            f"INSERT INTO treatments (case_ref, {others}) "
            f"SELECT ? || case_ref, {others} FROM treatments ORDER BY id LIMIT ?"
        )
        for number in range(1, -(-rows // have)):
            connection.execute(again, (f"{number}-", min(have, rows - number * have)))
    connection.close()


def sheet(folder: Path, rows: int, tree: Path = ROOT) -> Cost:
    """`audit sheet` of the demo clinic, its invented treatments repeated until there are `rows`."""
    place = clinic(folder, tree)
    enlarge(place / "register.sqlite", rows)
    cost = run(["-m", "consentpack", "audit", "sheet", "--out", "sheet.html", "--today", TODAY], place, tree)
    assert "Operators and sites" in (place / "sheet.html").read_text(encoding="utf-8")
    return cost


def main() -> None:
    options = _options()
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        found = measure(options.runs, clinic(folder, options.folder), options.folder)
        heavy = found[HEAVY]
        print(f"{'':36} processor s      clock s  peak MB")
        for name, cost in found.items():
            print_line(name, cost, heavy)
        if options.rows:
            (folder / "large").mkdir()
            cost = sheet(folder / "large", options.rows, options.folder)
            print_line(f"audit sheet, {options.rows:,} rows", cost, heavy)
    if options.packs:
        batch = [sys.executable, str(options.folder / "tests/benchmarks/batch_speed.py"), str(options.packs)]
        subprocess.run(batch, check=True, env=os.environ | {"PYTHONPATH": str(options.folder)})


def print_line(name: str, cost: Cost, heavy: Cost) -> None:
    """A command's figures, each time with its ratio to the imports."""
    processor = f"{cost.processor:6.2f} ({cost.processor / heavy.processor:5.2f})"
    clock = f"{cost.clock:6.2f} ({cost.clock / heavy.clock:5.2f})"
    print(f"{name:36} {processor} {clock} {cost.peak_mb:7.0f}", flush=True)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--packs", type=int, default=500)
    parser.add_argument("--folder", type=Path, default=ROOT)
    return parser.parse_args()


if __name__ == "__main__":
    main()
