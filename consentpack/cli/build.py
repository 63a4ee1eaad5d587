"""`consentpack build`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, guarded, json_option, print_json, progress, start_of

if TYPE_CHECKING:
    from consentpack.pipeline import Pack

SHOWN = ("plan", "matches", "rates", "tree")  # as pipeline.STAGES, which is too heavy for --help


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
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
    plan: Path,
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
    """Make the pack of one PLAN: form, booklet, aftercare, diary, record and manifest.

    PLAN is a file, or the reference of a plan in plans/. Each document is a Word file, and a web page
    for a phone that needs no network. Nothing is written unless the whole pack is right.

    Example: consentpack build plans/p-101.toml
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = pipeline.open_workplace(start_of(clinic_dir), whole=False)
    plan = pipeline.plan_of(place, plan)
    if place.library.set_aside:
        click.echo(f"Set aside, as they have mistakes: {', '.join(place.library.set_aside)}.", err=True)
        click.echo("  This pack uses none of them. `consentpack library check` says more.", err=True)
    if show:
        judged = pipeline.judge_plan(place, plan, language=language, progress=progress)
        click.echo(pipeline.shown(judged, show))
        return
    pack, target = pipeline.build(
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
    if as_json:
        print_json({"folder": str(target), **json.loads(pack.files["manifest.json"])})
    else:
        _print(pack, target)


def _print(pack: Pack, target: Path) -> None:
    for name in pack.files:
        click.echo(str(target / name))
    for reason in pack.draft:
        click.echo(f"Marked as a draft: {reason}", err=True)
