"""A ledger, its given papers, receipts and kept inputs are damaged one way at a time: is each found?

    python tests/faults/ledger_damage.py --count 10000 [--seed 1] [--postgres]

After each change `verify_all` must name the place (the entry's number, the file), or refuse with a sentence.
A bit that is flipped in the database may lie where nothing is kept. That is told without the program: SQLite
then finds the file sound, and every table and every index of the ledger gives back the very same rows.
Prints one row: tried, silent (not found, or at another place), tracebacks, and how many did no harm.
"""

from __future__ import annotations

import argparse
import random
import re
import sqlite3
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "functional"))
sys.path.insert(0, str(Path(__file__).parent))
import given_files
import ledger_rows
from given import change_plan, give, mark
from given_clinic import clinic_in, database
from sqlalchemy.exc import DBAPIError

from consentpack import pipeline
from consentpack.errors import ConsentpackError

GIVEN_AT = datetime(2026, 11, 20, 9, 0)
TABLES = ("ledger_entries", "ledger_head")


def made(folder: Path, url: str = "") -> Path:
    """A clinic that has given four packs and entered what came of them."""
    clinic = clinic_in(folder, url)
    give(clinic, "p-101", now=GIVEN_AT)
    give(clinic, "p-102", now=at(1))
    mark(clinic, "HS-P-101", "more-time", now=at(2))
    mark(clinic, "HS-P-102", "signed", now=at(3))
    change_plan(clinic, "p-101", r"sessions = 2", "sessions = 3")
    give(clinic, "p-101", now=at(4))
    mark(clinic, "HS-P-102", "treated", now=at(5))
    give(clinic, "p-104", now=at(6))
    mark(clinic, "HS-P-101", "signed", now=at(7))
    mark(clinic, "HS-P-104", "refused", now=at(8))
    return clinic


def at(hours: int) -> datetime:
    return GIVEN_AT + timedelta(hours=hours)


@dataclass
class Trial:
    """One clinic that is damaged and put back again and again."""

    clinic: Path
    url: str
    counts: Counter[str] = field(default_factory=Counter)
    missed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.engine = ledger_rows.engine_of(self.url)
        with self.engine.begin() as connection:
            ledger_rows.unlock(connection)
            self.rows = ledger_rows.rows_of(connection)
        self.engine.dispose()
        self.folder = given_files.Folder(self.clinic)
        self.file = self.clinic / "register.sqlite" if self.url.startswith("sqlite") else None
        self.was = self.file.read_bytes() if self.file else b""
        self.pages = tuple(pages_of(self.file)) if self.file else ()
        before = pipeline.verify_all(self.clinic)
        assert before.holds and not before.warnings, before

    def once(self, rng: random.Random) -> None:
        """One change, what comes of it, and all put back."""
        way = rng.choice((self.in_rows, self.in_rows, self.in_files, self.in_files, *self.more))
        try:
            way(rng)
        finally:
            self.put_back()

    @property
    def more(self) -> tuple:
        return (self.in_pages, self.in_cells) if self.file else ()

    def put_back(self) -> None:
        self.folder.put_back()
        for name in ("aside", "elsewhere"):
            given_files.remove(self.clinic / name)
        if self.file:
            for more in ("-journal", "-wal", "-shm"):
                Path(f"{self.file}{more}").unlink(missing_ok=True)
            if not self.file.is_file() or self.file.read_bytes() != self.was:
                self.file.write_bytes(self.was)
        else:
            self._put(self.rows)

    def _put(self, rows: ledger_rows.Rows) -> None:
        with self.engine.begin() as connection:
            ledger_rows.put(connection, rows)
        if self.file:
            self.engine.dispose()

    def in_rows(self, rng: random.Random) -> None:
        changed = rng.choice(ledger_rows.WAYS)(self.rows, rng)
        try:
            self._put(changed.rows)
        except DBAPIError:  # PostgreSQL keeps to lengths and kinds
            self.counts["the database refused it"] += 1
            return
        self.judged(changed.how, entries(changed.numbers))

    def in_cells(self, rng: random.Random) -> None:
        how, number, column, value = next(ledger_rows.raw_cells(rng, len(self.rows.entries)))
        with self.engine.begin() as connection:
            ledger_rows.set_raw(connection, number, column, value)
        self.engine.dispose()
        self.judged(f"cell: {how}", entries([number]))

    def in_files(self, rng: random.Random) -> None:
        damaged = rng.choice(given_files.WAYS)(self.folder, rng)
        self.judged(damaged.how, damaged.paths)

    def in_pages(self, rng: random.Random) -> None:
        """A bit in a page of the ledger. Where its file or its index is broken, no entry can be named."""
        assert self.file
        page, size = rng.choice(self.pages)
        place = (page - 1) * size + rng.randrange(size)
        data = bytearray(self.was)
        data[place] ^= 1 << rng.randrange(8)
        self.file.write_bytes(data)
        others = differing(self.was, self.file)
        if others == ():
            self.counts["harmless"] += 1
        self.judged(f"bit in page {page}", entries(others or ()), harmless=others == ())

    def judged(self, how: str, places: Sequence[str], *, harmless: bool = False) -> None:
        """`places`: one of them must be named; none for anywhere."""
        self.counts["tried"] += 1
        kind = re.sub(r"\d+|of .*", "", how)
        try:
            found = pipeline.verify_all(self.clinic)
        except ConsentpackError as error:
            self.counts["refused"] += 1
            if not str(error).strip():
                self.miss("silent", f"{how}: refused without a word")
            return
        except Exception:
            self.miss("tracebacks", f"{how}: {traceback.format_exc(limit=-3)}")
            return
        named = {each.where for each in (*found.findings, *found.warnings)}
        right = bool(found.findings) and (not places or any(place in named for place in places))
        if not right and not harmless:
            self.miss("silent", f"{how}: wanted {places}, named {sorted(named)[:6]}")
        self.counts[f"found: {kind}"] += right

    def miss(self, what: str, why: str) -> None:
        self.counts[what] += 1
        self.missed.append(why)
        print(why, file=sys.stderr, flush=True)


def entries(numbers: Sequence[int]) -> tuple[str, ...]:
    return tuple(f"ledger, entry {number}" if number else "ledger" for number in numbers)


# --- the database without the program ---------------------------------------------------------------


def pages_of(file: Path) -> Iterator[tuple[int, int]]:
    """The pages of the ledger's tables and indexes, and their size in bytes."""
    with sqlite3.connect(file) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        query = "SELECT pageno FROM dbstat WHERE name LIKE 'ledger%' OR name LIKE 'sqlite_autoindex_ledger%'"
        found = [(page, size) for (page,) in connection.execute(query)]
    connection.close()
    return iter(found)


def differing(was: bytes, file: Path) -> tuple[int, ...] | None:
    """The entries whose rows are others than they were; none where all is the same, read in every way;
    None where the database is broken."""
    with tempfile.TemporaryDirectory() as folder:
        before = Path(folder, "was.sqlite")
        before.write_bytes(was)
        try:
            old, new = read(before), read(file)
        except (sqlite3.Error, TypeError, ValueError):
            return None
    if old == new:
        return ()
    rows = [{row[0]: row for row in each[0]} for each in (old, new)]
    return tuple(n for n in {**rows[0], **rows[1]} if rows[0].get(n) != rows[1].get(n)) or None


def read(file: Path) -> list[list[tuple]]:
    """All rows of the ledger by its tables and by each of their indexes. Raises sqlite3.Error."""
    connection = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
    connection.text_factory = bytes
    try:
        found = []
        for table in TABLES:
            if connection.execute(f"PRAGMA integrity_check('{table}')").fetchall() != [(b"ok",)]:
                raise sqlite3.DatabaseError
            found.append(connection.execute(f"SELECT * FROM {table} NOT INDEXED").fetchall())
            for each in connection.execute(f"PRAGMA index_list('{table}')").fetchall():
                name = each[1].decode()
                query = f"SELECT * FROM {table} INDEXED BY {name} WHERE {leading(connection, name)} >= x''"
                found.append(sorted(connection.execute(query.replace(">= x''", "IS NOT NULL")).fetchall()))
        return found
    finally:
        connection.close()


def leading(connection: sqlite3.Connection, index: str) -> str:
    return connection.execute(f"PRAGMA index_info('{index}')").fetchone()[2].decode()


# --- all of it --------------------------------------------------------------------------------------


def tried(count: int, seed: int, clinic: Path, url: str = "") -> Trial:
    """So many changes of one clinic folder."""
    trial = Trial(clinic, url or f"sqlite:///{clinic / 'register.sqlite'}")
    for number in range(count):
        trial.once(random.Random(f"{seed}-{number}"))
    return trial


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--postgres", action="store_true", help="a throw-away server instead of SQLite")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, database(asked.postgres) as url:
        trial = tried(asked.count, asked.seed, made(Path(place) / "clinic", url), url)
    said = ("tried", "silent", "tracebacks", "harmless", "refused", "the database refused it")
    print(" | ".join(f"{name} {trial.counts[name]}" for name in said))
    print({name: count for name, count in sorted(trial.counts.items()) if name.startswith("found")})


if __name__ == "__main__":
    main()
