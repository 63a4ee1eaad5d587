"""`consentpack audit map` and `audit import`: a clinic's spreadsheet as it is."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.audit_history import grade_word
from consentpack.cli.edge import by_option, clinic_option, guarded, json_option, opened, print_json
from consentpack.cli.kept import kept
from consentpack.cli.sheet_answers import kept_words, pairs_of

if TYPE_CHECKING:
    from consentpack.pipeline import Proposal, Wanted
    from consentpack.register import ImportResult, Place

_UNKNOWN = ", which is no "
"""In the reason of a row that was set aside for a word nobody has explained."""
_MAP = 'consentpack audit map {file} --save --word "WORD=IDS"'
_SHOWN = 20
"""Lines of one kind that are listed; --json lists all."""


def _rows_of(_: click.Context, __: click.Parameter, value: str) -> tuple[int, ...]:
    from consentpack.clinic import header_rows  # noqa: PLC0415

    rows = header_rows(value)
    if rows is None:
        raise click.BadParameter("write the number of a row, such as 3, or of two lines together: 2-3")
    return rows


sheet_option = click.option(
    "--sheet",
    default="",
    help="The sheet of a workbook, by name or number; kept for the next file. Without it: the one kept, or "
    "the likeliest.",
)
header_option = click.option(
    "--header-row",
    "header_rows",
    default="",
    callback=_rows_of,
    help="The row of the headers, such as 3, or 2-3 for two lines; kept for the next file. Without it: the "
    "one kept, or the likeliest.",
)


def _wanted(sheet: str, header_rows: tuple[int, ...]) -> Wanted:
    from consentpack.pipeline import Wanted  # noqa: PLC0415

    return Wanted(sheet, header_rows)


@click.command("map")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--save", is_flag=True, help="Put the map into clinic.toml.")
@click.option(
    "--word",
    "words",
    multiple=True,
    metavar="WORD=IDS",
    help="With --save: what a word in cells means: ids with ';' between, yes, no, a grade or 'not recorded'.",
)
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="HEADER=MEANING",
    help="With --save: what a column holds, where it is not as proposed; 'ignore' for one not to be read.",
)
@sheet_option
@header_option
@clinic_option
@json_option
@guarded
def map_(
    file: Path,
    save: bool,
    words: tuple[str, ...],
    columns: tuple[str, ...],
    sheet: str,
    header_rows: tuple[int, ...],
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """Propose which column of a spreadsheet holds what, and name the words that cannot be read.

    Look at it, mend it, and keep it in clinic.toml under [audit.columns] and [audit.words]. With --save the
    map is put there as it is proposed, with what you say of columns with --column, of words with --word, and
    of where they stand with --sheet and --header-row. What clinic.toml already says of a column stays.

    Example: consentpack audit map audit.csv
    """
    from consentpack import pipeline  # noqa: PLC0415

    own = pairs_of(words, "--word", "'WORD=IDS', such as --word 'nil=no'", save=save)
    said = pairs_of(columns, "--column", "'HEADER=MEANING', such as --column 'Mood=ignore'", save=save)
    place, wanted = opened(clinic_dir), _wanted(sheet, header_rows)
    found = pipeline.propose_columns(place, file, wanted=wanted, columns=said, words=own)
    if as_json:
        print_json(pipeline.as_json.proposal(found))
    else:
        _say_map(found, own)
    if save:
        path = pipeline.save_columns(place, found.columns, own, at=found.place, wanted=wanted)
        click.echo(f"Saved in {path}.{kept_words(found.place, wanted)}", err=True)


def _say_map(found: Proposal, own: Mapping[str, str]) -> None:
    _say_place(found.place, before="# ")
    for header in found.identities:
        click.echo(f"# '{header}' looks as if it says who a patient is: take it out of the file")
    click.echo("[audit.columns]")
    for header, meaning in found.columns.items():
        click.echo(f"{_quoted(header)} = {_quoted(meaning)}")
    left = [word for word in found.words if word.word not in own]
    if left or own:
        click.echo("\n[audit.words]")
    for word, meaning in own.items():
        click.echo(f"{_quoted(word)} = {_quoted(meaning)}")
    for each in left[:_SHOWN]:
        times = "once" if each.times == 1 else f"{each.times} times"
        may = f"; may be: {', '.join(each.may_mean)}" if each.may_mean else ""
        click.echo(f"# {_quoted(each.word)} = ?  ({times} in {each.column}{may})")
    if len(left) > _SHOWN:
        click.echo(f"# … and {len(left) - _SHOWN} more; --json lists all.")


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", is_flag=True, help="Report what would change, and change nothing.")
@click.option(
    "--overwrite-by-hand",
    "overwrite",
    is_flag=True,
    help="Where the file differs from what was entered by hand or from a diary, take the file's.",
)
@sheet_option
@header_option
@by_option
@clinic_option
@json_option
@guarded
def import_(
    file: Path,
    dry_run: bool,
    overwrite: bool,
    sheet: str,
    header_rows: tuple[int, ...],
    by: str,
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """Import a spreadsheet (.csv in UTF-8, or .xlsx) into the register.

    It may stay as it is: headers are found below a title, totals and notes are left out, days are read in
    the forms people type. What was read otherwise than it is typed is told, word by word.

    Rows that cannot be read are set aside in a file beside it, with row, column, value and reason;
    all others go in. Import the same file again after mending it: rows are known by case and session.
    What was entered by hand or from a diary stays as it is; where the file says something else, you are
    told.

    Example: consentpack audit import audit.csv --dry-run
    """
    from consentpack import pipeline  # noqa: PLC0415

    place, wanted = opened(clinic_dir), _wanted(sheet, header_rows)
    result, aside = pipeline.import_audit(
        place,
        file,
        now=datetime.now(),
        by=by,
        dry_run=dry_run,
        overwrite_by_hand=overwrite,
        wanted=wanted,
    )
    with kept("nothing was changed, as you asked" if dry_run else "the rows were kept"):
        if as_json:
            print_json(pipeline.as_json.imported(result, aside))
        else:
            _say(result, aside)
        if not dry_run and (said := kept_words(result.place, wanted)):
            click.echo(f"In clinic.toml:{said}", err=True)


def _say_place(place: Place, before: str = "") -> None:
    """Where the treatments were found, unless that is just the first row of a file with one sheet."""
    rows = " and ".join(map(str, place.header_rows))
    if place.sheet:
        click.echo(f"{before}Sheet '{place.sheet}' was read; its headers are in row {rows}.")
    elif place.header_rows != (1,):
        click.echo(f"{before}The headers are in row {rows}.")
    for said in place.otherwise:
        click.echo(f"{before}{said}")
    for name in place.others:
        click.echo(f"{before}Sheet '{name}' looks like an audit too, and was not read: --sheet \"{name}\".")


def _say(result: ImportResult, aside: Path | None) -> None:
    would = "Would be: " if result.dry_run else ""
    click.echo(
        f"{would}{result.read} rows read: {result.added} added, {result.updated} updated, "
        f"{result.unchanged} unchanged, {result.rows_set_aside} set aside."
    )
    _say_place(result.place)
    if aside:
        click.echo(f"Rows set aside, with the reasons: {aside}")
    _say_some([f"  {group.told()}" for group in result.aside_groups])
    if any(_UNKNOWN in group.reason for group in result.aside_groups):
        click.echo(f"Words of your own? Say what they mean, once: {_MAP.format(file=result.file)}", err=True)
    if result.more_set_aside:
        click.echo(f"{result.more_set_aside} more reasons are not listed.")
    _say_some([each.told() for each in result.left_out])
    _say_some([each.told() for each in result.repairs])
    if result.more_repairs:
        click.echo(f"{result.more_repairs} more cells were read otherwise than they are typed.")
    _say_register(result)
    _say_differs(result)
    _say_unwatched(result)
    for doubt in result.doubts:
        click.echo(f"Row {doubt.row}, {doubt.column}: {doubt.what}. It went in.", err=True)
    if result.more_doubts:
        click.echo(f"{result.more_doubts} more cells look wrong and went in.", err=True)
    if result.ignored_columns:
        click.echo(f"Columns not read: {', '.join(result.ignored_columns)}.", err=True)


def _say_some(lines: list[str]) -> None:
    for line in lines[:_SHOWN]:
        click.echo(line)
    if len(lines) > _SHOWN:
        click.echo(f"… and {len(lines) - _SHOWN} more; --json lists all.")


def _say_register(result: ImportResult) -> None:
    if result.kept_older:
        click.echo(
            f"{result.kept_older} of them are in the register as an earlier import left them; "
            "mend the rows so that the figures change."
        )
    if result.not_in_file:
        click.echo(f"{result.not_in_file} treatments in the register are not in this file. They were kept.")


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
