"""`consentpack reader-test`."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, print_json
from consentpack.cli.score import of_files, of_plans
from consentpack.errors import ReadError

if TYPE_CHECKING:
    from consentpack.reader_test import Counted, Difference

_DAY = click.DateTime(formats=["%Y-%m-%d"])


@click.group("reader-test")
def reader_test() -> None:
    """Test a text with readers: sheets with gaps, a spreadsheet for the marks, and what they say.

    Example: consentpack reader-test make old-form.docx new-form.docx --out test
    """


@reader_test.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The folder to write to.")
@click.option(
    "--every", default=5, show_default=True, type=click.IntRange(5, 12), help="Each which word is a gap."
)
@click.option(
    "--gaps", default=50, show_default=True, type=click.IntRange(20, 200), help="At most so many gaps."
)
@click.option("--today", type=_DAY, help="The day in the files' properties; without it, today.")
@clinic_option
@guarded
def make(
    files: tuple[Path, ...],
    out: Path,
    every: int,
    gaps: int,
    today: datetime | None,
    clinic_dir: Path | None,
) -> None:
    """Make a sheet to print and a key for each text, and one spreadsheet for the marks.

    FILES: plans (their patient documents), or any .docx, .md, .txt or .html. English only. A text that is too
    short is left out, and named.

    Example: consentpack reader-test make old-form.docx new-form.docx --out test
    """
    from consentpack import pipeline  # noqa: PLC0415

    plans = [path for path in files if path.suffix == ".toml"]
    others = [path for path in files if path.suffix != ".toml"]
    texts = of_plans(plans, clinic_dir, advice=False) if plans else []
    texts += of_files(others, clinic_dir, "en-GB", advice=False)
    day = (today or datetime.now()).date()
    paths, left_out = pipeline.make_reader_test(texts, out, day=day, every=every, gaps=gaps)
    for path in paths:
        click.echo(str(path))
    for problem in left_out:
        click.echo(f"left out: {problem}", err=True)


@reader_test.command("count")
@click.argument("file", type=click.Path(path_type=Path))
@json_option
@guarded
def count_(file: Path, as_json: bool) -> None:
    """Say how many words readers got right in each text, and whether two texts differ.

    A row that cannot be counted is set aside and named; then the exit code is 17.

    Example: consentpack reader-test count test/marks.xlsx
    """
    from consentpack import pipeline  # noqa: PLC0415

    sheets, found, two = pipeline.count_reader_test(file)
    aside = [problem for sheet in sheets for problem in sheet.aside]
    if as_json:
        print_json({"texts": list(map(asdict, found)), "difference": asdict(two) if two else None})
    else:
        _print(found, two)
        for sheet in sheets:
            if not sheet.readers:
                click.echo(f"{sheet.text}: nobody's marks are in it yet.")
    if aside:
        raise ReadError(aside)


def _print(found: list[Counted], two: Difference | None) -> None:
    for each in found:
        click.echo(f"{each.text}: {counted(each.readers, 'reader', 'readers')}, {each.gaps} gaps")
        between = f" (95% interval {each.interval[0]:.0f} to {each.interval[1]:.0f})" if each.interval else ""
        click.echo(f"  right: {each.mean:.0f} of 100 words on average{between}")
        low, high = 100 * each.alone_share.low, 100 * each.alone_share.high
        click.echo(
            f"  read it alone (60 and over): {each.alone} of {each.readers} (95% interval {low:.0f} to "
            f"{high:.0f} of 100); with help (40 to 59): {each.with_help}; too hard: {each.too_hard}"
        )
        if each.few:
            click.echo("  note: few readers; read the intervals, not the averages.")
        hardest = ", ".join(f"{n} “{word}” ({right})" for n, word, right in each.hardest[:5])
        click.echo(f"  gaps that the fewest got right: {hardest}")
    if two:
        click.echo(
            f"{two.second} less {two.first}: {two.value:+.0f} words of 100 (95% interval {two.low:+.0f} to "
            f"{two.high:+.0f}): {two.verdict}."
        )
