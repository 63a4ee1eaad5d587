"""`consentpack library score`."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, opened, print_json
from consentpack.cli.reading import headline, print_remarks, said_of_ease
from consentpack.cli.talk_back import not_understood
from consentpack.errors import ClinicError, LengthError, ReadabilityError

if TYPE_CHECKING:
    from consentpack.pipeline import ReportRow


@click.command("score")
@click.argument("ids", nargs=-1)
@click.option("--language", "languages", multiple=True, help="Only this language. May be given again.")
@click.option("--plans/--no-plans", default=False, help="Also the patient documents of plans/.")
@click.option("--advice", is_flag=True, help="Say what an editor would change.")
@click.option("--html", type=click.Path(path_type=Path), help="Write the report to this HTML file.")
@clinic_option
@json_option
@guarded
def score_library(
    ids: tuple[str, ...],
    languages: tuple[str, ...],
    plans: bool,
    advice: bool,
    html: Path | None,
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """Show how hard every module is to read, in every language there is, the hardest first.

    Exits with 13 when one is over its reading target, with 22 when one is only too long: for a clinic's
    own checks.

    Example: consentpack library score --html reading.html
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = _place(clinic_dir)
    library = place.library if place else pipeline.open_library(None)
    paths = pipeline.plan_files(place) if place and plans else []
    rows = pipeline.library_report(library, place, ids=ids, languages=languages, plans=paths)
    if html:
        pipeline.write_score_report(rows, html)
        click.echo(str(html))
    elif as_json:
        print_json([pipeline.as_json.report_row(row) for row in rows])
    else:
        _print(rows, advice=advice)
        _print_understanding(place)
    if any(row.over for row in rows):
        raise SystemExit(ReadabilityError.exit_code)
    if any(row.too_long for row in rows):
        raise SystemExit(LengthError.exit_code)


def _place(clinic_dir: Path | None) -> Any:

    try:
        return opened(clinic_dir)
    except ClinicError:
        if clinic_dir:
            raise
        return None


def _print_understanding(place: Any) -> None:
    """What people could not say back, beside what is hard to read: a text may be easy and not understood."""
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.talk_report_if_any(place, date.today()) if place else None
    for line in not_understood(found) if found else ():
        click.echo(line)


def _print(rows: list[ReportRow], *, advice: bool) -> None:
    from consentpack.length import told  # noqa: PLC0415
    from consentpack.readability import FEWEST_WORDS  # noqa: PLC0415

    for row in rows:
        trend = "" if row.trend is None else f", {row.trend:+.1f} since it was approved"
        to_mend = counted(len(row.remarks), "remark", "remarks")
        click.echo(f"{row.language} {row.folder}/{row.id}: {headline(row.score)}{trend}; {to_mend}")
        if row.folder == "packs":
            click.echo(f"  length: {told(row.length)}")
        for line in said_of_ease(row.ease) if row.ease else []:
            click.echo(f"  {line}")
        parts = {section.id: section for section in row.score.sections}
        for id in filter(None, row.over):
            click.echo(f"  OVER  {parts[id].grade:.1f}  {parts[id].heading}")
        if advice and row.remarks:
            print_remarks(row.remarks, row.score, None)
    over, without = sum(bool(row.over) for row in rows), sum(row.ease is None for row in rows)
    if without:
        # a score that is missing must not look like a good one
        why = f"it is for English, and for {FEWEST_WORDS} words or more"
        click.echo(f"{counted(without, 'text has', 'texts have')} no score beside the grade: {why}.")
    click.echo(f"{counted(len(rows), 'text', 'texts')} read, {over} over the target.")
