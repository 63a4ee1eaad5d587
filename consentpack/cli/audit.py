"""`consentpack audit`: importing the audit and looking at figures."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.audit_entry import add, outcome
from consentpack.cli.audit_figures import compare, sheet, watch
from consentpack.cli.audit_follow_up import due, follow_up
from consentpack.cli.audit_history import check, history, undo
from consentpack.cli.audit_sheet import import_, map_
from consentpack.cli.edge import clinic_option, guarded, json_option, opened, print_json

if TYPE_CHECKING:
    from consentpack.model import Rate, RateAnswer, Seen


@click.group()
def audit() -> None:
    """Import the audit, enter treatments, look at figures and watch them.

    Example: consentpack audit import audit.csv
    """


@audit.command()
@click.argument("plan", type=click.Path(path_type=Path))
@click.option("--entry", type=click.IntRange(min=1), help="Count the audit as it stood at this ledger entry.")
@clinic_option
@json_option
@guarded
def rates(plan: Path, entry: int | None, clinic_dir: Path | None, as_json: bool) -> None:
    """Show the figures a PLAN would quote, with counts, interval and closeness.

    Where no share may be quoted, each comparison says why not, and what is told instead.

    Example: consentpack audit rates plans/p-101.toml
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    plan = pipeline.plan_of(place, plan)
    with pipeline.as_of_entry(place, entry) if entry else nullcontext(place) as then:
        _, answers = pipeline.plan_rates(then, plan)
    if as_json:
        print_json(pipeline.as_json.rates(answers.values()))
        return
    for answer in answers.values():
        click.echo(f"{place.library.outcome(answer.outcome).title}: {_line(answer)}")


def _line(answer: RateAnswer) -> str:
    from consentpack.wording import percent, percent_range  # noqa: PLC0415

    rate = answer.rate
    if rate is None:
        return "\n  ".join([_counted(answer.seen), *_why(answer)])
    period = f", {rate.first} to {rate.last}" if rate.first else f", {rate.source}"
    return (
        f"{rate.events} of {rate.n} {rate.unit} = {percent(rate)} "
        f"(95% {percent_range(rate)}), {rate.level}{period}{_over(rate)}"
    )


_OVER = {
    "at least": "no day is known for some: they may have come after the watching time",
    "some time": "not within a known time",
}


def _over(told: Rate | Seen) -> str:
    """Over what time a figure was counted, where that is not just the watching time of each."""
    if told.risk is None:
        return f"; {_OVER[told.over]}" if told.over in _OVER else ""
    risk = told.risk
    low, high = 100 * risk.interval.low, 100 * risk.interval.high
    return (
        f"; by days {100 * float(risk.share):.1f}% (95% {low:.1f} to {high:.1f}%), product limit of "
        f"{risk.events} seen in {risk.n}"
    )


def _counted(seen: Seen | None) -> str:
    """Counts that are no share, or that there is nothing."""
    if seen is None:
        return "no reliable figure"
    low, high = 100 * seen.interval.low, 100 * seen.interval.high
    return (
        f"told as counts: {seen.events} of {seen.n} treatments (95% {low:.1f} to {high:.1f}%), "
        f"{seen.level}, {seen.first} to {seen.last}{_over(seen)}"
    )


def _why(answer: RateAnswer) -> Iterator[str]:
    """Why no share is quoted: each reason once, with the comparisons it holds for."""
    levels: dict[str, list[str]] = {}
    for item in answer.rejected:
        levels.setdefault(item.why, []).append(item.level)
    yield from (f"{', '.join(where)}: {why}" for why, where in levels.items())


for command in (
    map_, import_, add, outcome, due, follow_up, history, undo, check, watch, compare, sheet
):  # fmt: skip
    audit.add_command(command)
