"""`consentpack score`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import clinic_option, guarded, json_option, opened, print_json, start_of
from consentpack.cli.reading import print_ease, print_layout, print_remarks, print_score
from consentpack.errors import ClinicError, LengthError, ReadabilityError

if TYPE_CHECKING:
    from consentpack.pipeline import ReadFile


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--text", is_flag=True, help="Print the very text that is scored, and nothing else.")
@click.option("--worst", default=3, show_default=True, help="How many of the hardest sentences.")
@click.option("--advice", is_flag=True, help="Say what an editor would change, and what it would do.")
@click.option("--layout", is_flag=True, help="Say what lists, headings, cues and things to do are there.")
@click.option("--html", type=click.Path(path_type=Path), help="Write all of it to this HTML file.")
@click.option("--before", type=click.Path(path_type=Path), help="The text as it was, beside it in the page.")
@click.option("--language", default="en-GB", show_default=True, help="The language of other texts.")
@clinic_option
@json_option
@guarded
def score(
    files: tuple[Path, ...],
    text: bool,
    worst: int,
    advice: bool,
    layout: bool,
    html: Path | None,
    before: Path | None,
    language: str,
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """Show how hard texts are to read, and how long: plans' patient documents, or any .docx, .md, .txt or
    .html.

    FILES may mix the two. Without any: every plan in plans/. Sides of paper are counted for plans alone.
    Exits with 13 when a text is over its reading target, with 22 when one is only too long.

    Example: consentpack score plans/p-101.toml old-form.docx --advice
    """
    from consentpack import pipeline  # noqa: PLC0415

    if before and not html:
        raise click.UsageError("--before shows the text as it was in the page: name that with --html.")
    plans = [path for path in files if path.suffix == ".toml"]
    others = [path for path in files if path.suffix != ".toml"]
    asked = advice or as_json or bool(html)
    found = of_plans(plans, clinic_dir, advice=asked) if plans or not others else []
    found += of_files(others, clinic_dir, language, advice=asked)
    if html:
        was = of_files([before], clinic_dir, language, advice=True)[0] if before else None
        pipeline.write_text_page(found, html, _library(clinic_dir)[0], before=was)
        click.echo(str(html))
    elif as_json:
        print_json([pipeline.as_json.read_file(each) for each in found])
    for each in [] if as_json or html else found:
        if text:
            click.echo(each.text)
            continue
        print_score(each.name, each.document, each.score, each.length, _scorer(clinic_dir), worst=worst)
        print_ease(each.document, each.ease)
        if layout:
            print_layout(each.layout)
        if advice:
            print_remarks(each.remarks, each.score, each.mended)
    if any(each.score.over for each in found):
        raise SystemExit(ReadabilityError.exit_code)
    if any(each.length.over for each in found):
        raise SystemExit(LengthError.exit_code)


def of_plans(plans: list[Path], clinic_dir: Path | None, *, advice: bool) -> list[ReadFile]:
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    return pipeline.score_plans(place, plans or pipeline.plan_files(place), advice=advice)


def of_files(files: list[Path], clinic_dir: Path | None, language: str, *, advice: bool) -> list[ReadFile]:
    from consentpack import pipeline  # noqa: PLC0415

    library, rules = _library(clinic_dir)
    return [pipeline.score_file(path, library, rules, language=language, advice=advice) for path in files]


def _library(clinic_dir: Path | None) -> Any:
    """The clinic's library and reading targets; the shipped ones outside a clinic folder."""
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.model import ReadingRules  # noqa: PLC0415

    try:
        place = pipeline.open_workplace(start_of(clinic_dir), whole=False)
    except ClinicError:
        if clinic_dir:
            raise
        return pipeline.open_library(None), ReadingRules()
    return place.library, place.clinic.reading


def _scorer(clinic_dir: Path | None) -> Any:
    from consentpack import pipeline  # noqa: PLC0415

    return pipeline.scorer_of(_library(clinic_dir)[0])
