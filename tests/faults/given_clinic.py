"""What the trials of given packs share: a clinic, commands that run in a process of their own, a look at it.

A command is forked from this process, which has everything loaded: what is killed is the command, not Python
on its way to it.
"""

from __future__ import annotations

import os
import re
import select
import signal
import sqlite3
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "functional"))
from given import approved
from support import postgres_programs, running_postgres

from consentpack import pipeline
from consentpack.cli import main
from consentpack.ledger import Entry, standings
from consentpack.pipeline.ledgers import GIVEN, reading_ledger, receipt_path
from consentpack.pipeline.stored import ASIDE, KEPT

FAULT = 70
BEGUN = datetime(2026, 11, 20, 9, 0)


def clinic_in(folder: Path, url: str = "") -> Path:
    """The invented clinic with its audit and its texts approved; on PostgreSQL where a URL is given."""
    clinic = pipeline.copy_demo(folder)
    if url:
        use_register(clinic, url)
    pipeline.import_audit(pipeline.open_workplace(clinic), clinic / "audit.csv", now=BEGUN, by="tests")
    return approved(clinic)


def use_register(clinic: Path, url: str) -> None:
    settings = clinic / "clinic.toml"
    text = re.sub(r"(?m)^register = .*$", f'register = "{url}"', settings.read_text("utf-8"))
    settings.write_text(text, encoding="utf-8")


def new_plan(clinic: Path, reference: str, like: str = "p-101") -> str:
    """A plan under another reference; its name in the clinic folder."""
    text = (clinic / f"plans/{like}.toml").read_text("utf-8")
    text = re.sub(r"(?m)^reference = .*$", f'reference = "{reference}"', text)
    name = f"plans/{reference.lower()}.toml"
    (clinic / name).write_text(text, encoding="utf-8")
    return name


@contextmanager
def database(postgres: bool) -> Iterator[str]:
    """'' for SQLite, or the URL of an empty database of a throw-away server."""
    if not postgres:
        yield ""
        return
    programs = postgres_programs()
    assert programs, "PostgreSQL is not installed"
    with running_postgres(programs) as running, running.empty_database() as url:
        yield url


@dataclass
class Running:
    """A command in a process of its own."""

    pid: int
    pipe: int
    said: str = ""
    code: int | None = None
    """Exit code; minus the number of the signal that ended it."""

    def hear(self, word: str, seconds: float) -> bool:
        """Wait until it has said something on stderr; False where it ended or time is over."""
        end = time.monotonic() + seconds
        while word not in self.said:
            ready, _, _ = select.select([self.pipe], [], [], max(0.0, end - time.monotonic()))
            if not ready or not (data := os.read(self.pipe, 65536)):
                return False
            self.said += data.decode("utf-8", "replace")
        return True

    def kill(self) -> int:
        os.kill(self.pid, signal.SIGKILL)
        return self.wait()

    def wait(self) -> int:
        while data := os.read(self.pipe, 65536):
            self.said += data.decode("utf-8", "replace")
        os.close(self.pipe)
        self.code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.code


def start(clinic: Path, *arguments: str, first: Callable[[], None] = lambda: None) -> Running:
    """A command of the program, begun; `first` is done in its process before it."""
    sys.stdout.flush()
    out, into = os.pipe()
    pid = os.fork()
    if pid:
        os.close(into)
        return Running(pid, out)
    code = FAULT
    try:
        os.close(out)
        os.dup2(into, 2)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
        os.chdir(clinic)
        first()
        main(list(arguments))
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def run(clinic: Path, *arguments: str) -> Running:
    running = start(clinic, *arguments)
    running.wait()
    return running


# --- looking ----------------------------------------------------------------------------------------


def entered(clinic: Path) -> tuple[Entry, ...]:
    """All entries about packs, by their number."""
    with reading_ledger(clinic) as connection:
        found = [each for s in standings(connection) for each in (s.given, *s.later)]
    return tuple(sorted(found, key=lambda each: each.number))


def strays(clinic: Path) -> list[str]:
    """What is not whole yet, or is no folder of a pack and no receipt."""
    aside = [p for top in (GIVEN, KEPT) for p in (clinic / top / ASIDE).glob("*")]
    parts = [p for p in clinic.rglob(".*") if p.name.endswith((".part", ".old", ".ready", ".done"))]
    return sorted({path.relative_to(clinic).as_posix() for path in (*aside, *parts)})


def looked_at(clinic: Path, before: Sequence[Entry], *, own: bool = True) -> Counter[str]:
    """What is wrong with a clinic folder, once the next command has been there.

    `own`: whether all entries of its ledger are of this folder.
    """
    found: Counter[str] = Counter()
    after = entered(clinic)
    found["lost"] += after[: len(before)] != tuple(before)
    keys = [(each.reference, each.version) for each in after if each.kind == "given"]
    codes = [each.code for each in after if each.kind == "given"]
    found["doubled"] += len(set(keys)) != len(keys) or len(set(codes)) != len(codes)
    found["half-written"] += any(not receipt_path(clinic, e).is_file() for e in after) if own else 0
    if own:
        whole = pipeline.verify_all(clinic)
        found["half-written"] += not whole.holds or bool(whole.warnings)
        if not whole.holds:
            print(whole.findings[:5], file=sys.stderr)
    file = clinic / "register.sqlite"
    if file.is_file():
        with sqlite3.connect(file) as connection:
            found["half-written"] += connection.execute("PRAGMA integrity_check").fetchone() != ("ok",)
        connection.close()
    left = strays(clinic)
    found["strays"] += bool(left)
    if left:
        print(left, file=sys.stderr)
    return found
