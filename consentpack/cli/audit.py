"""`consentpack audit`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, guarded, json_option, print_json, start_of

if TYPE_CHECKING:
    from consentpack.model import RateAnswer
    from consentpack.register import ImportResult


@click.group()
def audit() -> None:
    """Import the audit and look at its figures.

    Example: consentpack audit import audit.csv
    """


@audit.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@clinic_option
@json_option
@guarded
def import_(file: Path, clinic_dir: Path | None, as_json: bool) -> None:
    """Import a spreadsheet saved as CSV into the register.

    Rows that cannot be read are set aside in a file beside it, with row, column, value and reason;
    all others go in. Import the same file again after mending it: rows are known by case and session.

    Example: consentpack audit import audit.csv
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = pipeline.open_workplace(start_of(clinic_dir))
    result, aside = pipeline.import_audit(place, file, now=datetime.now())
    if as_json:
        print_json(_as_json(result, aside))
        return
    click.echo(
        f"{result.read} rows read: {result.added} added, {result.updated} updated, "
        f"{result.unchanged} unchanged, {result.rows_set_aside} set aside."
    )
    if aside:
        click.echo(f"Rows set aside, with the reasons: {aside}")
    if result.not_in_file:
        click.echo(f"{result.not_in_file} treatments in the register are not in this file. They were kept.")
    if result.ignored_columns:
        click.echo(f"Columns not read: {', '.join(result.ignored_columns)}.", err=True)


def _as_json(result: ImportResult, aside: Path | None) -> dict[str, object]:
    return {
        "file": result.file,
        "read": result.read,
        "added": result.added,
        "updated": result.updated,
        "unchanged": result.unchanged,
        "set_aside": result.rows_set_aside,
        "set_aside_file": str(aside) if aside else None,
        "not_in_file": result.not_in_file,
        "ignored_columns": list(result.ignored_columns),
    }


@audit.command()
@click.argument("plan", type=click.Path(path_type=Path))
@clinic_option
@json_option
@guarded
def rates(plan: Path, clinic_dir: Path | None, as_json: bool) -> None:
    """Show the figures a PLAN would quote, with counts, interval and closeness.

    Example: consentpack audit rates plans/p-101.toml
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.manifest import rate_answer  # noqa: PLC0415

    place = pipeline.open_workplace(start_of(clinic_dir))
    _, answers = pipeline.plan_rates(place, plan)
    if as_json:
        print_json([rate_answer(answer) for answer in answers.values()])
        return
    for answer in answers.values():
        click.echo(f"{place.library.outcome(answer.outcome).title}: {_line(answer)}")


def _line(answer: RateAnswer) -> str:
    from consentpack.wording import percent, percent_range  # noqa: PLC0415

    rate = answer.rate
    if rate is None:
        return "no reliable figure"
    period = f", {rate.first} to {rate.last}" if rate.first else f", {rate.source}"
    return (
        f"{rate.events} of {rate.n} {rate.unit} = {percent(rate)} "
        f"(95% {percent_range(rate)}), {rate.level}{period}"
    )
