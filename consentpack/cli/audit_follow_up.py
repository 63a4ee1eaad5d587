"""`consentpack audit due` and `follow-up`."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import (
    by_option,
    clinic_option,
    counted,
    guarded,
    json_option,
    opened,
    print_json,
    today_option,
)
from consentpack.cli.kept import kept

if TYPE_CHECKING:
    from consentpack.pipeline import Overdue, Workplace
    from consentpack.register import Due

_DAY = click.DateTime(formats=["%Y-%m-%d"])


@click.command()
@click.option("--not-asked", is_flag=True, help="List instead those lost to follow-up or followed elsewhere.")
@today_option
@clinic_option
@json_option
@guarded
def due(not_asked: bool, today: datetime, clinic_dir: Path | None, as_json: bool) -> None:
    """List treatments whose watching time has passed with nothing recorded.

    Following these up is what makes figures quotable. Who is lost to follow-up or followed elsewhere
    (`audit follow-up`) is not among them; how many these are is said at the end.

    Example: consentpack audit due
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    found = pipeline.due_and_not_asked(place, today.date())
    if as_json:
        print_json(_set_down(found) if not_asked else [_as_json(each) for each in found.asked])
    elif not_asked:
        for each in found.not_asked:
            click.echo(f"{_line(each.due)}: {each.why}, since {each.mark.told.day} (by {each.mark.by})")
        click.echo(f"{counted(len(found.not_asked), 'treatment', 'treatments')} not asked about.")
    else:
        for late in found.asked:
            click.echo(f"{_line(late)}: {_titles(place, late.outcomes)}")
        click.echo(f"{counted(len(found.asked), 'treatment', 'treatments')} to follow up.")
        if found.not_asked:
            click.echo(_not_asked(found))


def _line(each: Due) -> str:
    return f"{each.case}, session {each.session}, {each.day}"


def _titles(place: Workplace, ids: Iterable[str]) -> str:
    return "; ".join(sorted(place.library.outcome(id).title for id in ids))


def _as_json(each: Due) -> dict[str, Any]:
    outcomes = sorted(each.outcomes)
    return {"case": each.case, "session": each.session, "date": str(each.day), "outcomes": outcomes}


def _set_down(found: Overdue) -> list[dict[str, Any]]:
    return [
        _as_json(each.due)
        | {
            "how": each.mark.told.how,
            "followed_by": each.mark.told.followed_by or None,
            "since": str(each.mark.told.day),
            "number": each.mark.number,
        }
        for each in found.not_asked
    ]


def _not_asked(found: Overdue) -> str:
    """How many are asked no more: a list from which people have gone must not look like a clinic that has
    asked everybody."""
    elsewhere = len(found.not_asked) - found.lost
    return (
        f"Not among them: {found.lost} lost to follow-up, {elsewhere} followed elsewhere "
        "(`consentpack audit due --not-asked`)."
    )


@click.command("follow-up")
@click.argument("case")
@click.argument("session", type=click.IntRange(min=1))
@click.option("--lost", is_flag=True, help="Lost to follow-up: cannot be asked any more.")
@click.option(
    "--elsewhere",
    metavar="WHO",
    help="Followed elsewhere: family-doctor, another-clinic, hospital or not-known. Never a name.",
)
@click.option("--again", is_flag=True, help="Take that back: to be asked about as before.")
@click.option("--on", "day", type=_DAY, help="From which day it holds; today without it.")
@by_option
@clinic_option
@guarded
def follow_up(
    case: str,
    session: int,
    lost: bool,
    elsewhere: str | None,
    again: bool,
    day: datetime | None,
    by: str,
    clinic_dir: Path | None,
) -> None:
    """Say that a treatment is lost to follow-up or followed elsewhere: it is no longer among who is due.

    No figure changes by it, and nothing that was seen. What was not recorded stays not recorded. It holds
    until the treatment is seen after all, or is taken back.

    Example: consentpack audit follow-up C-1 1 --elsewhere family-doctor
    """
    from consentpack import pipeline  # noqa: PLC0415

    if lost + again + (elsewhere is not None) != 1:
        raise click.UsageError("Say one of --lost, --elsewhere WHO and --again.")
    how = "lost" if lost else "again" if again else "elsewhere"
    now = datetime.now()
    told = pipeline.FollowUp(how, (day or now).date(), elsewhere or "")
    number = pipeline.say_follow_up(opened(clinic_dir), [(case, session)], told, now=now, by=by)
    with kept("it was entered"):
        click.echo(f"{case}, session {session}: {_SAID[how]}. Entered as number {number}.")


_SAID = {
    "lost": "lost to follow-up",
    "elsewhere": "followed elsewhere",
    "again": "to be asked about again",
}
