"""What a large ledger costs: checked as a whole, with the receipts of its packs, and asked about one person.

    python tests/benchmarks/ledger_speed.py [--entries 1000000] [--packs 100000]

Limits asked for, in seconds of processor: 10 for a check of a million entries, 1 for “What was HS-P-101 told
on 20 November, and by whom?” among 100,000 packs (`consentpack story HS-P-101 --on 2026-11-20`), starting
Python included; that pack is a real one, given after all others. Receipts lie in files of their own, so a
whole `verify` reads as many files as there are entries; what that costs is printed, without a limit.
"""

from __future__ import annotations

import argparse
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "functional"))
import cold_start
from given import approved, give

from consentpack.ledger import Entry, Head, Receipt, check_ledger, code_from, merkle, receipt_in
from consentpack.ledger.entry import FIRST
from consentpack.ledger.tables import make
from consentpack.pipeline.ledgers import receipt_path
from consentpack.register import Register, open_register

AT = "2026-11-20T09:00:00Z"
DOCUMENTS = {f"{name}.{kind}": f"{n:064x}" for n, name in enumerate("abcdefg") for kind in ("docx", "html")}
DETAILS = json.dumps(
    {"day": "2026-11-20", "documents": DOCUMENTS, "manifest": FIRST, "inputs": FIRST, "told": FIRST,
     "modules": FIRST, "said": FIRST, "techniques": ["blunt-cannula"], "language": "en-GB"},
    separators=(",", ":"), sort_keys=True,
)  # fmt: skip
"""As long as those of a real pack of seven papers, each in two kinds of file."""


def fill(
    register: Register, entries: int, *, each: int = 5, receipts: Path | None = None, every: bool = False
) -> None:
    """A ledger of invented packs with `each` entries of one; with the receipt of the last entry, or of every
    one, in a clinic folder."""
    growing = merkle.Growing()

    def rows() -> Iterator[tuple[object, ...]]:
        previous = FIRST
        for number in range(1, entries + 1):
            entry = _entry(number, each, previous)
            path = tuple(reversed(growing.parts))
            part, previous = growing.add(entry.digest).hex(), entry.digest.hex()
            if receipts and (number == entries or every):
                _write(receipts, Receipt(entry, Head(number, growing.root.hex(), AT), path))
            yield (*entry.as_row().values(), previous, part)

    with register.writing() as connection:
        make(connection)
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        raw.executemany(f"INSERT INTO ledger_entries VALUES ({', '.join('?' * 11)})", rows())
        head = (1, entries, growing.root.hex(), AT, "", "")
        raw.execute("INSERT INTO ledger_head VALUES (?, ?, ?, ?, ?, ?)", head)


def _entry(number: int, each: int, previous: str) -> Entry:
    pack, given = (number - 1) // each, (number - 1) % each == 0
    return Entry(
        number, AT, "given" if given else "more-time", "Dr Invented", f"P-{pack}", 1, code_from(str(pack)),
        DETAILS if given else '{"day":"2026-11-20","moment":[1,0]}', previous,
    )  # fmt: skip


def _write(clinic: Path, receipt: Receipt) -> None:
    path = receipt_path(clinic, receipt.entry)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(receipt.as_json(), encoding="utf-8")


def opened(file: Path) -> Register:
    register = open_register(str(file), create=True)
    assert register
    return register


def check(register: Register, known: dict[int, Head] | None = None) -> float:
    """Seconds of processor for one check of all entries."""
    with register.connect() as connection:
        begun = time.process_time()
        whole = check_ledger(connection, known=known)
        seconds = time.process_time() - begun
    assert not whole.faults and not whole.unseen, whole
    return seconds


def read_receipts(clinic: Path) -> tuple[float, dict[int, Head]]:
    """Seconds of processor to read and prove every receipt of a clinic folder, and their heads."""
    begun, known = time.process_time(), {}
    for path in (clinic / "given").glob("*/*/receipt.json"):
        receipt = receipt_in(path.read_bytes())
        assert receipt and receipt.proves
        known[receipt.head.size] = receipt.head
    return time.process_time() - begun, known


def story_clinic(folder: Path, packs: int, *, receipts: bool = False) -> Path:
    """The demo clinic with a ledger of so many packs, the last of them a real one of HS-P-101."""
    clinic = cold_start.clinic(folder)
    fill(opened(clinic / "register.sqlite"), packs - 1, each=1, receipts=clinic, every=receipts)
    give(approved(clinic))
    return clinic


STORY = ["-m", "consentpack", "story", "HS-P-101", "--on", "2026-11-20"]


def told(clinic: Path) -> str:
    """The answer."""
    environment = {**os.environ, "PYTHONPATH": str(cold_start.ROOT)}
    command = [sys.executable, *STORY]
    return subprocess.run(
        command, cwd=clinic, env=environment, check=True, capture_output=True, text=True
    ).stdout


def story(clinic: Path, runs: int = 3) -> float:
    """Seconds of processor for the answer, starting Python included; the smallest of some runs."""
    return min(cold_start.run(STORY, clinic).processor for _ in range(runs))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=1_000_000)
    parser.add_argument("--packs", type=int, default=100_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        register = opened(Path(place) / "ledger.sqlite")
        fill(register, asked.entries)
        print(f"{asked.entries:,} entries checked: {check(register):.2f} s", flush=True)
        (Path(place) / "demo").mkdir()
        clinic = story_clinic(Path(place) / "demo", asked.packs, receipts=True)
        print(told(clinic))
        print(f"that answer among {asked.packs:,} packs: {story(clinic):.2f} s", flush=True)
        seconds, known = read_receipts(clinic)
        print(f"{len(known):,} receipts read and proved: {seconds:.2f} s", flush=True)
        seconds = check(opened(clinic / "register.sqlite"), known)
        print(f"{asked.packs:,} entries checked against them: {seconds:.2f} s", flush=True)


if __name__ == "__main__":
    sys.exit(main())
