"""`consentpack audit`: importing the audit and looking at figures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import nullcontext
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.audit_entry import add, due, outcome
from consentpack.cli.audit_figures import compare, sheet, watch
from consentpack.cli.audit_history import check, grade_word, history, undo
from consentpack.cli.edge import by_option, clinic_option, guarded, json_option, opened, print_json
from consentpack.cli.kept import kept

if TYPE_CHECKING:
    from consentpack.model import Rate, RateAnswer, Seen
    from consentpack.register import ImportResult


@click.group()
def audit() -> None:
    """Import the audit, enter treatments, look at figures and watch them.

    Example: consentpack audit import audit.csv
    """


@audit.command("map")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--save", is_flag=True, help="Put the map into clinic.toml.")
@clinic_option
@guarded
def map_(file: Path, save: bool, clinic_dir: Path | None) -> None:
    """Propose which column of a spreadsheet holds what.

    Look at it, mend it, and keep it in clinic.toml under [audit.columns]. With --save it is put there
    as it is proposed. What clinic.toml already says of a column stays.

    Example: consentpack audit map audit.csv
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    proposed, identities = pipeline.propose_columns(place, file)
    columns = _confirmed(proposed, place.clinic.audit_columns)
    for header in identities:
        click.echo(f"# '{header}' looks as if it says who a patient is: take it out of the file")
    click.echo("[audit.columns]")
    for header, meaning in columns.items():
        quoted = header.replace("\\", "\\\\").replace('"', '\\"')
        click.echo(f'"{quoted}" = "{meaning}"')
    if save:
        click.echo(f"Saved in {pipeline.save_columns(place, columns)}.", err=True)


def _confirmed(proposed: Mapping[str, str], declared: Mapping[str, str]) -> dict[str, str]:
    """The proposed map, where clinic.toml does not already say what a column of this file holds."""
    kept = {header: declared[header] for header in proposed if header in declared}
    return {
        header: kept.get(header, "ignore" if meaning in kept.values() else meaning)
        for header, meaning in proposed.items()
    }


@audit.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Report what would change, and change nothing.")
@click.option(
    "--overwrite-by-hand",
    "overwrite",
    is_flag=True,
    help="Where the file differs from what was entered by hand or from a diary, take the file's.",
)
@by_option
@clinic_option
@json_option
@guarded
def import_(
    file: Path, dry_run: bool, overwrite: bool, by: str, clinic_dir: Path | None, as_json: bool
) -> None:
    """Import a spreadsheet (.csv in UTF-8, or .xlsx) into the register.

    Rows that cannot be read are set aside in a file beside it, with row, column, value and reason;
    all others go in. Import the same file again after mending it: rows are known by case and session.
    What was entered by hand or from a diary stays as it is; where the file says something else, you are
    told.

    Example: consentpack audit import audit.csv --dry-run
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    result, aside = pipeline.import_audit(
        place, file, now=datetime.now(), by=by, dry_run=dry_run, overwrite_by_hand=overwrite
    )
    with kept("nothing was changed, as you asked" if dry_run else "the rows were kept"):
        if as_json:
            print_json(_as_json(result, aside))
        else:
            _say(result, aside)


def _say(result: ImportResult, aside: Path | None) -> None:
    would = "Would be: " if result.dry_run else ""
    click.echo(
        f"{would}{result.read} rows read: {result.added} added, {result.updated} updated, "
        f"{result.unchanged} unchanged, {result.rows_set_aside} set aside."
    )
    if aside:
        click.echo(f"Rows set aside, with the reasons: {aside}")
    for item in result.set_aside if result.dry_run else ():
        click.echo(f"  row {item.row}, {item.column}: '{item.value}' {item.reason}")
    if result.more_set_aside:
        click.echo(f"{result.more_set_aside} more reasons are not listed.")
    if result.kept_older:
        click.echo(
            f"{result.kept_older} of them are in the register as an earlier import left them; "
            "mend the rows so that the figures change."
        )
    if result.not_in_file:
        click.echo(f"{result.not_in_file} treatments in the register are not in this file. They were kept.")
    _say_differs(result)
    _say_unwatched(result)
    for doubt in result.doubts:
        click.echo(f"Row {doubt.row}, {doubt.column}: {doubt.what}. It went in.", err=True)
    if result.more_doubts:
        click.echo(f"{result.more_doubts} more cells look wrong and went in.", err=True)
    if result.ignored_columns:
        click.echo(f"Columns not read: {', '.join(result.ignored_columns)}.", err=True)


def _held(grade: int, day: int | None) -> str:
    return grade_word(grade) if day is None else f"{grade_word(grade)}, first noticed {day} days after,"


def _say_unwatched(result: ImportResult) -> None:
    """What is lacking to say over what time: nobody would miss a column that is not there."""
    if not result.without_last_seen:
        return
    if not result.last_seen_read:
        click.echo(
            "No column says on which day each patient was last seen. Is there one? Then name it in "
            'clinic.toml under [audit.columns]: "Your header" = "last_seen". Without it figures say '
            '"at some time" and not for how long you watched, and no gain can be counted.'
        )
        return
    number = f"{result.without_last_seen} rows say what was seen, and not on which day the patient was last"
    click.echo(f"{number} seen. They do not count as followed up. Fill the day in if you know it.")


_SHOWN = 20
"""Rows that differ and are listed; --json lists all."""


def _say_differs(result: ImportResult) -> None:
    """What the file says otherwise than the register, and what became of it."""
    for each in result.differs[:_SHOWN]:
        click.echo(
            f"Row {each.row}, case {each.case}, session {each.session}, {each.outcome}: "
            f"{_held(each.held, each.held_day)} by {each.kind}, "
            f"{_held(each.in_file, each.day_in_file)} in the file."
        )
    if len(result.differs) > _SHOWN:
        click.echo(f"… and {len(result.differs) - _SHOWN} more; --json lists all.")
    if result.differs:
        number = f"{len(result.differs)} outcomes entered by hand or from a diary differ from the file."
        did = (
            "The file's were taken."
            if result.overwritten
            else "They were kept. Mend the file, or add --overwrite-by-hand to take the file's."
        )
        click.echo(f"{number} {did}")
    if result.blanked:
        click.echo(f"{result.blanked} outcomes of an earlier file are blank now: not recorded any more.")
    if result.unread:
        click.echo(f"The file has no column for: {', '.join(result.unread)}. What is known of them was kept.")


def _as_json(result: ImportResult, aside: Path | None) -> dict[str, object]:
    return {
        "file": result.file,
        "dry_run": result.dry_run,
        "read": result.read,
        "added": result.added,
        "updated": result.updated,
        "unchanged": result.unchanged,
        "set_aside": result.rows_set_aside,
        "set_aside_file": str(aside) if aside else None,
        "doubts": [{"row": d.row, "column": d.column, "what": d.what} for d in result.doubts],
        "kept_older": result.kept_older,
        "not_in_file": result.not_in_file,
        "ignored_columns": list(result.ignored_columns),
        "differs": [vars(each) for each in result.differs],
        "overwritten": result.overwritten,
        "blanked": result.blanked,
        "unread": list(result.unread),
        "last_seen_read": result.last_seen_read,
        "without_last_seen": result.without_last_seen,
    }


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


for command in (add, outcome, due, history, undo, check, watch, compare, sheet):
    audit.add_command(command)
