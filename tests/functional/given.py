"""An invented clinic whose texts are approved, and days on which things happen in it, for tests."""

from __future__ import annotations

import re
from datetime import date, datetime
from pathlib import Path

from consentpack import pipeline

DAY = date(2026, 11, 20)
MORNING = datetime(2026, 11, 20, 9, 0)
BY = "Dr Ruth Ambrose"


def approved(folder: Path, *, language: str = "") -> Path:
    """A copy of the demo clinic in which every text may go to patients."""
    place = pipeline.open_workplace(folder)
    pipeline.approve(place, [], by=BY, role="skin doctor", day=DAY, until=None, language=language)
    return folder


def give(folder: Path, plan: str = "p-101", *, now: datetime = MORNING, **asked) -> pipeline.GivenPack:
    place = pipeline.open_workplace(folder, whole=False)
    path = folder / "plans" / f"{plan}.toml"
    return pipeline.give(place, path, pipeline.Handing(asked.pop("by", BY), now, **asked))


def mark(folder: Path, reference: str, kind: str, *, now: datetime, **more):
    day = more.pop("day", now.date())
    return pipeline.mark(folder, reference, pipeline.Marked(kind, BY, now, day, **more))


def more_bruises(folder: Path, *, now: datetime) -> None:
    """The audit comes again with many more bruises in it, as when somebody reads the notes again."""
    path = folder / "audit-again.csv"
    rows = (folder / "audit.csv").read_text(encoding="utf-8").splitlines()
    column = rows[0].split(",").index("Bruise")
    changed = [rows[0]]
    for number, row in enumerate(rows[1:]):
        cells = row.split(",")
        if number % 3 and cells[column] == "no":
            cells[column] = "yes"
        changed.append(",".join(cells))
    path.write_text("\n".join(changed) + "\n", encoding="utf-8")
    pipeline.import_audit(pipeline.open_workplace(folder), path, now=now, by="tests")


def change_plan(folder: Path, plan: str, old: str, new: str) -> None:
    path = folder / "plans" / f"{plan}.toml"
    text = path.read_text(encoding="utf-8")
    assert re.search(old, text)
    path.write_text(re.sub(old, new, text), encoding="utf-8")
