"""`consentpack audit history`, `undo` and `check`."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import by_option, clinic_option, counted, guarded, json_option, opened, print_json
from consentpack.cli.kept import kept

if TYPE_CHECKING:
    from consentpack.register import Entry, Told


@click.command()
@click.option("--case", help="Show instead every value that the outcomes of this case have had.")
@click.option("--session", type=click.IntRange(min=1), default=1, show_default=True, help="With --case.")
@clinic_option
@json_option
@guarded
def history(case: str | None, session: int, clinic_dir: Path | None, as_json: bool) -> None:
    """List every import and entry: when, by whom, which file, and what it did.

    With --case: where each outcome of one treatment came from, and what it replaced.

    Example: consentpack audit history --case C-1
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    if case is not None:
        told = pipeline.values(place, case, session)
        if as_json:
            print_json([vars(each) | {"at": each.at.isoformat()} for each in told])
        for each in () if as_json else told:
            click.echo(_told_line(each))
        return
    found = pipeline.past_imports(place)
    if as_json:
        print_json([_entry_json(entry) for entry in found])
        return
    for entry in found:
        if entry.kind in _MARKS:
            click.echo(_marks_line(entry))
            continue
        what = f"{entry.file_name} ({entry.file_digest[:12]})" if entry.file_name else _by(entry)
        click.echo(
            f"{entry.id}  {entry.at:%Y-%m-%d %H:%M}  {entry.by}  {what}: {entry.added} added, "
            f"{entry.updated} updated, {entry.set_aside} set aside{_taken_back(entry)}"
        )


_MARKS = ("talk-back", "follow-up")
"""Kinds of entry that bring marks, and no treatment."""


def _marks_line(entry: Entry) -> str:
    marks = counted(entry.read, "mark", "marks")
    return f"{entry.id}  {entry.at:%Y-%m-%d %H:%M}  {entry.by}  {_by(entry)}: {marks}{_taken_back(entry)}"


def _by(entry: Entry) -> str:
    said = {"diary": "from a diary", "talk-back": "from a talk", "follow-up": "about follow-up"}
    return said.get(entry.kind, "by hand")


def _taken_back(entry: Entry) -> str:
    if not entry.undone:
        return ""
    when = f" on {entry.undone_at:%Y-%m-%d %H:%M} by {entry.undone_by}" if entry.undone_at else ""
    return f", taken back{when}"


def _entry_json(entry: Entry) -> dict[str, object]:
    undone_at = entry.undone_at.isoformat() if entry.undone_at else None
    return vars(entry) | {"at": entry.at.isoformat(), "undone_at": undone_at}


def grade_word(grade: int | None) -> str:
    """A grade as it is typed: no, yes, or a grade above."""
    if grade is None:
        return "not recorded"
    return {0: "no", 1: "yes"}.get(grade, str(grade))


def _told_line(told: Told) -> str:
    looked = f", seen {told.looked} days after" if told.looked is not None else ""
    looked += f", first noticed {told.noticed} days after" if told.noticed is not None else ""
    gone = ", replaced since" if told.replaced else ""
    return (
        f"{told.outcome}: {grade_word(told.grade)}, {told.kind}, number {told.entry}, "
        f"{told.at:%Y-%m-%d %H:%M}, {told.by}{looked}{gone}"
    )


@click.command()
@click.option("--number", type=click.IntRange(min=1), help="Which one, as `audit history` numbers it.")
@by_option
@clinic_option
@guarded
def undo(number: int | None, by: str, clinic_dir: Path | None) -> None:
    """Take an import or entry back: your own last one, or the one you name.

    Who took it back, and when, is kept in the history.

    Example: consentpack audit undo
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    entry, gone, restored = pipeline.take_back(place, now=datetime.now(), by=by, number=number)
    what = entry.file_name or f"an entry {_by(entry)}"
    done = f"{gone} treatments removed, {restored} put back as they were."
    with kept("it was taken back"):
        click.echo(f"Taken back: {what}. {'Its marks hold no more.' if entry.kind in _MARKS else done}")


@click.command()
@click.option("--repair", is_flag=True, help="First build anew what figures are counted from.")
@clinic_option
@guarded
def check(repair: bool, clinic_dir: Path | None) -> None:
    """Check that the register is whole, and as this program wrote it.

    Lists the treatments that another program has changed. Exits with 11 when there is something.

    Example: consentpack audit check
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import RegisterError  # noqa: PLC0415

    found = pipeline.check(opened(clinic_dir), repair=repair)
    click.echo(f"{counted(found.treatments, 'treatment', 'treatments')} checked.")
    for case, session in found.edited:
        click.echo(f"{case}, session {session}: changed by another program, not by consentpack.")
    for line in found.damage:
        click.echo(f"The database is damaged: {line}.")
    if found.edited:
        click.echo("Import the spreadsheet again, or enter what was seen anew, to set them right.")
    if found.edited or found.damage:
        sys.exit(RegisterError.exit_code)
