"""What the fault scripts share: a clinic folder, and the command line of any checkout of the program.

They drive `python -m consentpack` and look into the database with SQL alone, so that the same script
can be run against an older checkout and the two can be compared.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import create_engine, text

HERE = Path(__file__).resolve().parents[2]
HEAD = "case,session,date,techniques,site,bruising,infection\n"


def options(what: str, **counts: int) -> argparse.Namespace:
    """The command line of a script: its counts, --seed, --code, --postgres."""
    parser = argparse.ArgumentParser(description=what)
    for name, count in counts.items():
        parser.add_argument(name, type=int, nargs="?", default=count)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--code", type=Path, default=HERE, help="the checkout that is tried")
    parser.add_argument("--postgres", metavar="URL", help="an empty database to use instead of SQLite")
    return parser.parse_args()


@dataclass(frozen=True)
class Clinic:
    """A clinic folder in a temporary place, used by the program of one checkout."""

    folder: Path
    code: Path
    url: str

    @classmethod
    def make(cls, folder: Path, code: Path, postgres: str | None) -> Clinic:
        url = postgres or f"sqlite:///{folder / 'register.sqlite'}"
        shutil.copytree(code / "examples" / "hazel-street", folder, dirs_exist_ok=True)
        settings = (folder / "clinic.toml").read_text()
        settings = re.sub(r"(?ms)^\[audit\.columns\].*?(?=^\[groups)", "", settings)
        settings = re.sub(r"(?m)^dates = .*$", 'dates = "year-first"', settings)
        settings = re.sub(r"(?m)^register = .*$", f'register = "{postgres or "register.sqlite"}"', settings)
        (folder / "clinic.toml").write_text(settings)
        return cls(folder, code, url)

    def start(self, *arguments: object) -> subprocess.Popen[str]:
        """One command of `consentpack audit`, begun."""
        return subprocess.Popen(
            [sys.executable, "-m", "consentpack", "audit", *map(str, arguments)],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(self.code)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, *arguments: object) -> tuple[int, str]:
        """One command, to its end: exit code, and what it said on stderr."""
        process = self.start(*arguments)
        _, said = process.communicate(timeout=300)
        return process.returncode, said

    def sheet(self, name: str, first: int, last: int, bruising: str) -> Path:
        """A sheet of invented rows."""
        day = "2026-{:02}-05,blunt-cannula,chin"
        rows = (f"{name}-{n:05},1,{day.format(n % 9 + 1)},{bruising},no\n" for n in range(first, last))
        path = self.folder / f"{name}.csv"
        path.write_text(HEAD + "".join(rows))
        return path

    def held(self) -> dict[tuple[str, int], Mapping[str, object]]:
        """Case and session -> its outcomes, read with SQL alone."""
        engine = create_engine(self.url)
        try:
            with engine.connect() as connection:
                known = connection.execute(text("SELECT * FROM outcome_columns"))
                names = {f"o{each.id}": each.outcome for each in known}
                rows = connection.execute(text("SELECT * FROM treatments")).mappings().all()
                if connection.dialect.name == "sqlite":
                    assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
        finally:
            engine.dispose()
        return {(r["case_ref"], r["session"]): {n: r[c] for c, n in names.items()} for r in rows}


def table(row: Mapping[str, object]) -> None:
    """One row of a table, with its head."""
    print(f"| {' | '.join(row)} |\n|{'---|' * len(row)}\n| {' | '.join(map(str, row.values()))} |")
