"""`consentpack audit add` and `outcome`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import (
    by_option,
    clinic_option,
    guarded,
    opened,
)
from consentpack.cli.kept import kept

_DAY = click.DateTime(formats=["%Y-%m-%d"])


@click.command()
@click.option("--case", required=True, help="The clinic's own case reference; never a name.")
@click.option("--session", required=True, type=click.IntRange(min=1), help="Which session: 1, 2 …")
@click.option("--date", "day", required=True, type=_DAY, help="Day of the treatment.")
@click.option("--technique", "techniques", required=True, multiple=True, help="Repeat for several.")
@click.option("--site", required=True, help="The area, as in your plans.")
@click.option(
    "--stratum", "strata", multiple=True, metavar="ID=VALUE", help="As in plans; repeat for several."
)
@by_option
@clinic_option
@guarded
def add(
    case: str,
    session: int,
    day: datetime,
    techniques: tuple[str, ...],
    site: str,
    strata: tuple[str, ...],
    by: str,
    clinic_dir: Path | None,
) -> None:
    """Enter one treatment by hand.

    Example: consentpack audit add --case C-1 --session 1 --date 2026-11-02 --technique blunt-cannula
    --site chin
    """
    from consentpack import pipeline  # noqa: PLC0415

    pairs = [word.partition("=") for word in strata]
    if any(not between for _, between, _ in pairs):
        raise click.UsageError("Write each stratum as ID=VALUE.")
    pipeline.add(
        opened(clinic_dir),
        case=case,
        session=session,
        day=day.date(),
        techniques=techniques,
        site=site,
        strata={id: value for id, _, value in pairs},
        now=datetime.now(),
        by=by,
    )
    with kept("it was entered"):
        click.echo(f"{case}, session {session}: entered.")


@click.command()
@click.argument("case")
@click.argument("session", type=click.IntRange(min=1))
@click.argument("seen", nargs=-1, metavar="OUTCOME=yes|no|GRADE …")
@click.option("--seen-on", required=True, type=_DAY, help="The day the patient was seen.")
@click.option("--on", "noticed", type=_DAY, help="The day on which what was seen was first noticed.")
@click.option("--treated-again", type=_DAY, help="The day the same place was treated again: watching ends.")
@click.option("--diary", is_flag=True, help="It comes out of the patient's diary.")
@by_option
@clinic_option
@guarded
def outcome(
    case: str,
    session: int,
    seen: tuple[str, ...],
    seen_on: datetime,
    noticed: datetime | None,
    treated_again: datetime | None,
    diary: bool,
    by: str,
    clinic_dir: Path | None,
) -> None:
    """Enter what was seen of a treatment, and when.

    What is entered goes before what a spreadsheet says, now and when it is imported again. An earlier
    day never shortens how long was watched. Outcomes that were first noticed on different days are
    entered one after the other.

    Example: consentpack audit outcome C-1 1 bruising=yes --on 2026-11-04 --seen-on 2026-11-16
    """
    from consentpack import pipeline  # noqa: PLC0415

    pairs = [word.partition("=") for word in seen]
    if any(not between for _, between, _ in pairs):
        raise click.UsageError("Write each outcome as OUTCOME=yes, OUTCOME=no or OUTCOME=GRADE.")
    if not pairs and treated_again is None:
        raise click.UsageError("Name an outcome, or --treated-again.")
    place = opened(clinic_dir)
    after = pipeline.record(
        place,
        case,
        session,
        {id: value for id, _, value in pairs},
        seen_on=seen_on.date(),
        now=datetime.now(),
        by=by,
        diary=diary,
        noticed_on=noticed.date() if noticed else None,
        retreated_on=treated_again.date() if treated_again else None,
    )
    with kept("it was entered"):
        click.echo(f"{case}, session {session}: watched for {after.watched_days} days.")
