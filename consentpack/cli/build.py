"""`consentpack build`."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from consentpack.cli.edge import (
    clinic_option,
    counted,
    guarded,
    json_option,
    opened,
    print_json,
    progress,
    worst,
)
from consentpack.errors import ConsentpackError

if TYPE_CHECKING:
    from consentpack.pipeline import Pack, Workplace

SHOWN = ("plan", "matches", "rates", "tree")  # as pipeline.STAGES, which is too heavy for --help


@click.command()
@click.argument("plans", metavar="PLAN…", nargs=-1, type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help="Every plan in plans/.")
@clinic_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for the pack. Without it: packs/ in the clinic folder, by the plan's reference.",
)
@click.option(
    "--draft", is_flag=True, help="Write it, marked as a draft, even when patients may not have it."
)
@click.option(
    "--pdf", is_flag=True, help="Add a PDF of each document for print. Needs LibreOffice on this computer."
)
@click.option(
    "--large-print",
    is_flag=True,
    help="Write each document in large print (18 pt) too, as NAME-large-print.docx.",
)
@click.option(
    "--language",
    default="",
    help="The patient's language, such as pl, where it is not the one the plan names.",
)
@click.option(
    "--side-by-side",
    is_flag=True,
    help="Add the patient's documents with the clinic's language beside theirs, block by block.",
)
@click.option(
    "--only",
    default="",
    metavar="DOCUMENTS",
    help="Write only these documents, such as form,aftercare. All are judged all the same.",
)
@click.option(
    "--show",
    type=click.Choice(SHOWN),
    help="Print one stage and write nothing: to see why the pack says what it says.",
)
@json_option
@guarded
def build(
    plans: tuple[Path, ...],
    everything: bool,
    clinic_dir: Path | None,
    out: Path | None,
    draft: bool,
    pdf: bool,
    large_print: bool,
    language: str,
    side_by_side: bool,
    only: str,
    show: str | None,
    as_json: bool,
) -> None:
    """Make the pack of each PLAN: form, booklet, aftercare, diary, record and manifest.

    PLAN is a file, or the reference of a plan in plans/. Each document is a Word file, and a web page
    for a phone that needs no network. Nothing of a pack is written unless the whole pack is right. Of several
    plans one that fails does not stop the others; the exit code is then that of the worst.

    Example: consentpack build plans/p-101.toml
    """
    from consentpack import pipeline  # noqa: PLC0415

    if bool(plans) == everything:
        raise click.UsageError("Name the plans to build, or say --all.")
    if out and (everything or len(plans) > 1):
        raise click.UsageError("--out is for one plan: each pack has a folder of its own.")
    place = opened(clinic_dir)

    def make(plan: Path) -> Any:
        if show:
            judged = pipeline.judge_plan(place, plan, language=language, progress=progress)
            return click.echo(pipeline.shown(judged, show))
        made = pipeline.build(
            place,
            plan,
            allow_draft=draft,
            pdf=pdf,
            large_print=large_print,
            both_languages=side_by_side,
            language=language,
            only=frozenset(filter(None, map(str.strip, only.split(",")))),
            folder=out,
            progress=progress,
        )
        return _json(*made) if as_json else _print(*made)

    if len(plans) == 1:
        made = [make(pipeline.plan_of(place, plans[0]))]
        failed: list[ConsentpackError] = []
    else:
        made, failed = _each(plans or tuple(pipeline.plan_files(place)), place, make)
    if as_json and not show:
        print_json(made[0] if len(plans) == 1 else made)
    if failed:
        raise SystemExit(worst(each.exit_code for each in failed))


def _each(
    plans: Sequence[Path], place: Workplace, make: Callable[[Path], Any]
) -> tuple[list[Any], list[ConsentpackError]]:
    """What was made of each plan, with what stopped the others. Each result is told when it is known."""
    from consentpack import pipeline  # noqa: PLC0415

    made: list[Any] = []
    failed: list[ConsentpackError] = []
    for plan in plans:
        try:
            made.append(make(pipeline.plan_of(place, plan)))
            click.echo(f"{plan}: made.", err=True)
        except ConsentpackError as error:
            failed.append(error)
            for problem in error.problems:
                click.echo(str(problem), err=True)
            click.echo(f"{plan}: not made.", err=True)
    click.echo(f"{counted(len(made), 'pack', 'packs')} made, {len(failed)} not.", err=True)
    return made, failed


def _json(pack: Pack, target: Path) -> dict[str, Any]:
    return {"folder": str(target), **json.loads(pack.files["manifest.json"])}


def _print(pack: Pack, target: Path) -> None:
    for name in pack.files:
        click.echo(str(target / name))
    for reason in pack.draft:
        click.echo(f"Marked as a draft: {reason}", err=True)
