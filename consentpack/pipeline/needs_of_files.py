"""What needs somebody by a few files alone: texts with mistakes, approvals, the last backup."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from pathlib import Path

from consentpack.pipeline.needs import NOW, ORDER, SOON, Need, in_order
from consentpack.pipeline.place import BACKUPS, ENDING, Workplace
from consentpack.pipeline.sign_off import StatusRow, library_status

SAVE_EVERY_DAYS = 7
"""After so long a backup is asked for (common practice, no source)."""
_EACH = 3
"""Texts that stand alike are listed one by one up to so many, and as one line from there on."""


def needs_at_hand(place: Workplace, today: date) -> tuple[Need, ...]:
    """All of it, the worst first."""
    return in_order((*_set_aside(place), *_approvals(place, today), *_backup(place, today)))


# --- texts ------------------------------------------------------------------------------------------


def _set_aside(place: Workplace) -> Iterator[Need]:
    """Texts with a mistake of their own; what only names one of them is mended with it."""
    found = place.library.set_aside
    for key, problems in found.items():
        if problems[1:] and any(problems[1:] == other for name, other in found.items() if name != key):
            continue
        leaning = sum(set(problems) < set(other) for other in found.values())
        more = f" So are {leaning} that name it." if leaning else ""
        yield Need(NOW, "text", key, f"{key} is set aside: {problems[0].what}{more}")


def _approvals(place: Workplace, today: date) -> Iterator[Need]:
    rows = [
        row for row in library_status(place, today=today) if row.state.state != "approved" or row.ends_soon
    ]
    rows.sort(key=_alike)
    for _, group in groupby(rows, key=_alike):
        alike = list(group)
        if len(alike) > _EACH:
            yield _many(alike, place.clinic.language, today)
        else:
            yield from (_one(row, place.clinic.language, today) for row in alike)


def _alike(row: StatusRow) -> tuple[str, str]:
    return (row.language, "ends soon" if row.ends_soon else row.state.state)


_SAID = {
    "expired": "has run out",
    "changed": "no longer holds: the text was changed",
    "needs another person": "waits for a second person",
    "never approved": "was never given",
}


def _one(row: StatusRow, own: str, today: date) -> Need:
    state, tag = row.state, "" if row.language == own else f" in {row.language}"
    if row.ends_soon and state.until:
        days = (state.until - today).days
        return Need(SOON, "text", state.module, f"{state.module}: its approval{tag} ends in {days} days.")
    what = f"{state.module}: its approval{tag} {_SAID[state.state]}."
    return Need(_urgency(row), "text", state.module, what)


def _many(rows: list[StatusRow], own: str, today: date) -> Need:
    first, number = rows[0], len(rows)
    tag = "" if first.language == own else f" in {first.language}"
    if first.ends_soon:
        until = min(row.state.until for row in rows if row.state.until)
        what = f"The approvals{tag} of {number} texts end soon, the first on {until}."
        return Need(SOON, "approvals", first.language, what)
    what = f"The approval{tag} of {number} texts {_SAID[first.state.state]}."
    return Need(_urgency(first), "approvals", first.language, what)


def _urgency(row: StatusRow) -> int:
    """Papers were made as approved, and are drafts again; or they never were anything else."""
    return NOW if row.state.state in ("expired", "changed") else SOON


# --- backups ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Kept:
    """The newest backup in the clinic folder."""

    name: str
    made: datetime
    size: int


def last_backup(folder: Path) -> Kept | None:
    """The newest backup under backups/; None where there is none. Others may lie elsewhere."""
    paths = [path for path in (folder / BACKUPS).glob(f"*{ENDING}") if not path.name.startswith(".")]
    if not paths:
        return None
    newest = max(paths, key=lambda path: path.stat().st_mtime)
    stat = newest.stat()
    return Kept(f"{BACKUPS}/{newest.name}", datetime.fromtimestamp(stat.st_mtime), stat.st_size)


def _backup(place: Workplace, today: date) -> Iterator[Need]:
    kept = last_backup(place.folder)
    if kept is None:
        yield Need(SOON, "backup", "", f"No backup of the clinic folder lies in {BACKUPS}/.")
    elif (days := (today - kept.made.date()).days) > SAVE_EVERY_DAYS:
        yield Need(ORDER, "backup", "", f"The last backup in {BACKUPS}/ is {days} days old.")
