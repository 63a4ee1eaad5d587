"""`consentpack issued`, `recall`, `stale` and `story`: what was given, and how it stands."""

from __future__ import annotations

import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import (
    clinic_option,
    counted,
    guarded,
    json_option,
    opened,
    print_json,
    progress,
    start_of,
    today_option,
)
from consentpack.cli.talk_back import fell

if TYPE_CHECKING:
    from consentpack.ledger import Standing
    from consentpack.pipeline import Workplace
    from consentpack.pipeline.staleness import Stale
    from consentpack.pipeline.stories import Story, Telling

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command()
@click.option(
    "--state", default="", help="given, more-time, signed, confirmed, refused, withdrawn, treated, superseded"
)
@click.option("--module", default="", help="Only packs that hold this text, such as: risks/bruising")
@click.option("--technique", default="", help="Only packs in which this technique is planned.")
@click.option("--language", default="", help="Only packs in this language.")
@click.option("--clinician", default="", help="Only packs of this clinician, or part of the name.")
@click.option("--since", type=_DAY, help="Given on this day or later.")
@click.option("--until", type=_DAY, help="Given on this day or earlier.")
@clinic_option
@json_option
@guarded
def issued(
    state: str,
    module: str,
    technique: str,
    language: str,
    clinician: str,
    since: datetime | None,
    until: datetime | None,
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """List the packs that were given, and how each stands.

    Example: consentpack issued --state given --technique blunt-cannula
    """
    from consentpack import pipeline  # noqa: PLC0415

    first, last = (day.date().isoformat() if day else "" for day in (since, until))
    wanted = pipeline.Filter(state, module, technique, language, clinician, first, last)
    found = pipeline.issued(pipeline.find_clinic(start_of(clinic_dir)), wanted, say=progress)
    _print(found, as_json=as_json)


@click.command()
@click.argument("module")
@clinic_option
@json_option
@guarded
def recall(module: str, clinic_dir: Path | None, as_json: bool) -> None:
    """List everyone who was given papers that hold a MODULE, such as one that turned out to be wrong.

    Those who are not treated yet come first.

    Example: consentpack recall risks/bruising
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.issued(
        pipeline.find_clinic(start_of(clinic_dir)), pipeline.Filter(module=module), say=progress
    )
    _print(sorted(found, key=lambda each: not each.is_open), as_json=as_json)


def _print(found: list[Standing], *, as_json: bool) -> None:
    from consentpack import pipeline  # noqa: PLC0415

    if as_json:
        print_json([pipeline.ledger_as_json.standing(each) for each in found])
        return
    for each in found:
        click.echo(f"{each.state:<10}  {pipeline.standing_words(each)}")
    click.echo(f"{counted(len(found), 'pack', 'packs')}.", err=True)


@click.command()
@click.argument("reference", required=False, default="")
@today_option
@clinic_option
@json_option
@guarded
def stale(reference: str, today: datetime, clinic_dir: Path | None, as_json: bool) -> None:
    """List given packs that no longer tell what would be told now, while nobody was treated by them yet.

    A figure has moved, a text was changed or withdrawn, an approval has run out, or a rule has changed. Exits
    with 23 when there is one.

    Example: consentpack stale
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import LedgerError  # noqa: PLC0415

    place = opened(clinic_dir)
    found = pipeline.stale(place, today=today.date(), reference=reference, progress=progress)
    if as_json:
        print_json([pipeline.ledger_as_json.stale(each) for each in found])
    else:
        for each in found:
            _print_stale(each)
        _print_fallen(place, today.date())
        click.echo(f"{counted(len(found), 'pack', 'packs')} to be told again.", err=True)
    sys.exit(LedgerError.exit_code if found else 0)


def _print_fallen(place: Workplace, today: date) -> None:
    """A text that was changed and is understood by fewer since then: no pack is stale by it, and it goes on
    being handed out."""
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.talk_report_if_any(place, today)
    for line in fell(found) if found else ():
        click.echo(line, err=True)


def _print_stale(found: Stale) -> None:
    from consentpack import pipeline  # noqa: PLC0415

    click.echo(pipeline.standing_words(found.standing))
    for each in found.figures:
        click.echo(f"  {each.name}: told {each.then or 'nothing'}; now {each.now or 'nothing'}: {each.why}")
    for line in (*found.texts, *found.rules):
        click.echo(f"  {line}")


@click.command()
@click.argument("reference")
@click.option("--on", "day", type=_DAY, help="What had been told by this day.")
@clinic_option
@json_option
@guarded
def story(reference: str, day: datetime | None, clinic_dir: Path | None, as_json: bool) -> None:
    """Tell what was planned, said, done and seen under a REFERENCE, and first where these disagree.

    Example: consentpack story HS-P-101 --on 2026-11-20
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.story(pipeline.find_clinic(start_of(clinic_dir)), reference)
    if as_json:
        print_json(pipeline.ledger_as_json.story(found))
        return
    if day:
        telling = pipeline.told_on(found, day.date())
        if telling is None:
            click.echo(f"By {day.date()} nothing had been given under {reference}.")
        else:
            _print_telling(telling)
        return
    _print_story(found)


def _print_story(found: Story) -> None:
    for line in found.disagree:
        click.echo(f"Does not agree: {line}")
    for telling in found.told:
        _print_telling(telling)
    for each in found.treatments:
        seen = ", ".join(f"{name} {grade}" for name, grade in sorted(each.outcomes.items()))
        click.echo(f"In the audit: {each.day}, {', '.join(each.techniques)}: {seen or 'nothing recorded'}")


def _print_telling(telling: Telling) -> None:
    from consentpack import pipeline  # noqa: PLC0415

    click.echo(pipeline.standing_words(telling.standing))
    click.echo(f"  its papers: {telling.folder}")
    for name, told in telling.told:
        click.echo(f"  {name}: {told}")
