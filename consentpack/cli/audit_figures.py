"""`consentpack audit watch`, `compare` and `sheet`."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
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
    today_option,
)

if TYPE_CHECKING:
    from consentpack.pipeline import Workplace
    from consentpack.rates.funnel import Place
    from consentpack.rates.standing_out import Sheet
    from consentpack.rates.survey import Funnel
    from consentpack.rates.watching import Watched


SHEET_ENDINGS = (".csv", ".json", ".html")  # as export.rate_sheet, which is too heavy for --help


@click.command()
@today_option
@clinic_option
@json_option
@guarded
def watch(today: datetime, clinic_dir: Path | None, as_json: bool) -> None:
    """Look for harms that are seen more than before, and for operators or sites that stand apart.

    By the rules of [watch] in clinic.toml: a cumulative sum per technique and outcome, and exact
    limits across operators and sites, 99.8% ones if no others are set. The last lines say how often
    chance alone does as much. A signal asks for a look, it is no verdict.

    Example: consentpack audit watch
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    found = pipeline.watch_over_time(place, today.date())
    if as_json:
        print_json(pipeline.as_json.watched(found))
        return
    for each in found.watched:
        for line in _signals(place, each):
            click.echo(line)
    for funnel, group in found.above():
        click.echo(_above(place, funnel, group))
    for line in _by_chance(found):
        click.echo(line)


def _above(place: Workplace, funnel: Funnel, group: Place) -> str:
    name = f"{_title(place, funnel.technique)}: {_title(place, funnel.outcome)}"
    around = f"around {funnel.target:.1%}"
    if group.expected is not None:
        around = f"around the {group.expected:.1f} expected of such patients"
    return (
        f"{name}, {funnel.grouping} {group.group}: {group.events} of {group.n}, {group.state} "
        f"limits {around}. Look at the data first, then at who and how."
    )


def _by_chance(found: Sheet) -> Iterator[str]:
    """What was looked at, what was found, and how much of that chance alone would bring."""
    rules, luck, false = found.rules, found.luck, found.false_signals
    assert rules and false  # or `watch_over_time` has raised
    if luck.groups:
        yield (
            f"{counted(luck.groups, 'operator or site', 'operators and sites')} looked at, outcome by "
            f"outcome, {len(found.above())} above the {rules.limits:g}% limits. If all were alike, one or "
            f"more would be above by chance alone with a chance of up to {luck.said}."
        )
    crossed = sum(len(each.signals) for each in found.watched)
    yield (
        f"{counted(len(found.watched), 'outcome', 'outcomes')} watched since {rules.baseline_until}, "
        f"{counted(crossed, 'signal', 'signals')}; "
        f"{len(found.without)} have no baseline to watch them by. With nothing changed, each would signal "
        f"about once in {rules.run_length} treatments: about {false.expected:.1f} false signals in all, and "
        f"one or more with a chance of {false.said}. "
        "Few treatments: no signal is no proof of safety."
    )


def _signals(place: Workplace, each: Watched) -> list[str]:
    name = f"{_title(place, each.technique)}: {_title(place, each.outcome)}"
    return [
        f"{name}: crossed on {s.day}. {s.events} seen in {s.treatments} treatments since {s.since}, "
        f"about {s.expected:.1f} expected. Look at these treatments: data, patients, materials, hands."
        for s in each.signals
    ]


def _title(place: Workplace, id: str) -> str:
    from consentpack import pipeline  # noqa: PLC0415

    return pipeline.titles(place)(id)


@click.command()
@click.argument("first")
@click.argument("second")
@click.argument("outcome")
@today_option
@clinic_option
@json_option
@guarded
def compare(
    first: str, second: str, outcome: str, today: datetime, clinic_dir: Path | None, as_json: bool
) -> None:
    """Two techniques side by side for one outcome: difference per 100, and ratio.

    Example: consentpack audit compare sharp-cannula blunt-cannula bruising
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    found = pipeline.compare_techniques(place, first, second, outcome, today.date())
    if as_json:
        print_json(pipeline.as_json.compared(found))
        return
    if not found.watched:
        click.echo("Nothing was watched for one of the two.")
        return
    difference, ratio = found.difference(), found.ratio()
    for id, counts in ((first, found.first_counts), (second, found.second_counts)):
        click.echo(f"{_title(place, id)}: {counts.events} of {counts.watched}")
    click.echo(
        f"Difference: {round(100 * difference.value):+} in every 100 "
        f"(95% interval {round(100 * difference.low):+} to {round(100 * difference.high):+})"
    )
    if ratio:
        click.echo(f"Ratio, for the record: {ratio[0]:.2f} ({ratio[1].low:.2f} to {ratio[1].high:.2f})")
    if disagree := found.disagreement():
        click.echo(f"The methods disagree: {disagree}.")
    if not found.quotable:
        click.echo("One of the figures is too thin to quote, so the difference is too.")


@click.command()
@click.option("--out", type=click.Path(path_type=Path), help="A file ending in .csv, .json or .html.")
@today_option
@clinic_option
@guarded
def sheet(out: Path | None, today: datetime, clinic_dir: Path | None) -> None:
    """Every technique's figures on one sheet: in the terminal, or as CSV, JSON or a page.

    Example: consentpack audit sheet --out rates.html
    """
    from consentpack import pipeline  # noqa: PLC0415

    if out is not None and out.suffix not in SHEET_ENDINGS:
        raise click.UsageError("Give a file that ends in .csv, .json or .html.")
    place = opened(clinic_dir)
    if out is None:
        click.echo(pipeline.rate_table(place, today.date()))
        return
    pipeline.write_rate_sheet(place, out, today.date())
    click.echo(str(out))
