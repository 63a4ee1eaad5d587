"""What one sees after a choice comes at once: at 10,000 treatments, with the desk open."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from datetime import date, timedelta

import pytest

pytestmark = pytest.mark.alone  # a test beside it would take the time that is measured
TREATMENTS = 10_000
MOST_SECONDS = 0.6
"""Of processor, on a machine that may be slower by half. Aimed at: 0.3; it takes about 0.27, and with every
Word file of the pack it took 1.1."""


@pytest.fixture
def clinic(approved_folder, tmp_path):
    import shutil

    folder = shutil.copytree(approved_folder, tmp_path / "clinic", copy_function=shutil.copy2)
    enlarge(folder / "register.sqlite", TREATMENTS)
    return folder


def enlarge(register, rows: int) -> None:
    """The treatments of a register again and again, under other case numbers, until there are `rows`."""
    with closing(sqlite3.connect(register)) as connection, connection:
        names = [row[1] for row in connection.execute("PRAGMA table_info(treatments)")]
        have = int(connection.execute("SELECT count(*) FROM treatments").fetchone()[0])
        others = ", ".join(f'"{name}"' for name in names if name not in ("id", "case_ref"))
        again = f"INSERT INTO treatments (case_ref, {others}) SELECT ? || case_ref, {others} FROM treatments"
        again += " ORDER BY id LIMIT ?"
        for number in range(rows // have):
            connection.execute(again, (f"{number}-", have))


def quickest(ask, *, times: int = 5) -> float:
    """Seconds of processor; the smallest, since others on the machine only add to it."""
    found = []
    for _ in range(times):
        begun = time.process_time()
        assert ask().status_code == 200
        found.append(time.process_time() - begun)
    return min(found)


def test_the_page_after_a_choice_and_the_paper_it_would_make(desk):
    """Ten pages, each with its figures: some seconds."""
    chosen = {"site": "left cheek", "usual": "blunt-cannula+local-infiltration", "skin_type": "III",
              "indication": "rolling", "asked_all": "yes", "sessions": "2", "factor.smoking": "yes",
              "treatment_date": f"{date.today() + timedelta(days=30)}"}  # fmt: skip
    page = desk.post("/patients/new", {**chosen, "do": "check"}).location.partition("#")[0]
    assert "What would be told" in desk.get(page).text
    assert quickest(lambda: desk.get(page)) < MOST_SECONDS
    assert quickest(lambda: desk.get(f"/patients/paper/{page.rpartition('/')[2]}/form")) < MOST_SECONDS
