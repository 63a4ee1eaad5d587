"""`consentpack give` and `consentpack mark`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import (
    by_option,
    clinic_option,
    guarded,
    json_option,
    opened,
    print_json,
    progress,
    start_of,
)
from consentpack.cli.kept import kept

KINDS = ("signed", "refused", "more-time", "withdrawn", "confirmed", "treated", "differently")
# as ledger.AFTER_GIVEN and giving.HOW, which are too heavy for --help; a test holds them to it
HOW = ("paper", "phone", "mail")


@click.command()
@click.argument("plan", type=click.Path(path_type=Path))
@by_option
@click.option(
    "--to", type=click.Choice(HOW), default="paper", show_default=True, help="How it is handed over."
)
@click.option("--language", default="", help="The patient's language, before the plan's own.")
@click.option("--large-print", is_flag=True, help="Give each document in large print (18 pt) too.")
@click.option("--side-by-side", is_flag=True, help="Give the documents beside the clinic's language too.")
@click.option("--pdf", is_flag=True, help="Give a PDF of each document too. Needs LibreOffice.")
@click.option("--only", default="", help="Only these documents, such as: form,aftercare")
@clinic_option
@json_option
@guarded
def give(
    plan: Path,
    by: str,
    to: str,
    language: str,
    large_print: bool,
    side_by_side: bool,
    pdf: bool,
    only: str,
    clinic_dir: Path | None,
    as_json: bool,
) -> None:
    """Give the pack of one PLAN to its patient: freeze it, number it, and enter it in the ledger.

    The papers to print lie in given/, by reference and version, and are never changed. A draft is not given.

    Example: consentpack give HS-P-101 --by "Dr A. Hazel" --to paper
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    asked = frozenset(filter(None, map(str.strip, only.split(","))))
    handing = pipeline.Handing(
        by, datetime.now(), to, language, large_print, both_languages=side_by_side, pdf=pdf, only=asked
    )
    given = pipeline.give(place, pipeline.plan_of(place, plan), handing, progress=progress)
    entry = given.entry
    with kept(f"version {entry.version} of {entry.reference} was given", "consentpack story"):
        if as_json:
            print_json({**entry.as_row(), "details": dict(entry.more), "folder": str(given.folder)})
            return
        for name in given.pack.files:
            click.echo(str(given.folder / name))
        click.echo(f"Given: {entry.reference}, version {entry.version}, code {entry.code}.", err=True)


@click.command()
@click.argument("reference")
@click.argument("what", type=click.Choice(KINDS))
@by_option
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day it happened; today without it.")
@click.option("--version", type=click.IntRange(min=1), help="Of the pack; the newest without it.")
@click.option("--scan", type=click.Path(path_type=Path), help="A scan of the paper: its digest is kept.")
@click.option("--techniques", default="", help="With 'differently': what was done, such as: a+b")
@click.option("--case", default="", help="The case of the audit it belongs to; as the reference without it.")
@click.option("--session", type=click.IntRange(min=1), default=1, help="Of that case.")
@clinic_option
@guarded
def mark(
    reference: str,
    what: str,
    by: str,
    day: datetime | None,
    version: int | None,
    scan: Path | None,
    techniques: str,
    case: str,
    session: int,
    clinic_dir: Path | None,
) -> None:
    """Enter what came of a pack that was given.

    signed, refused, more-time, withdrawn, confirmed (on the day), treated, or differently (something else
    was done than planned).

    Example: consentpack mark HS-P-101 signed --by "Dr A. Hazel" --on 2026-11-24
    """
    from consentpack import pipeline  # noqa: PLC0415

    now = datetime.now()
    done = tuple(filter(None, map(str.strip, techniques.replace(",", "+").split("+"))))
    when = (day or now).date()
    marked = pipeline.Marked(what, by, now, when, version or 0, scan, done, case, session)
    entry = pipeline.mark(pipeline.find_clinic(start_of(clinic_dir)), reference, marked)
    with kept(f"'{what}' was entered for {reference}", "consentpack story"):
        click.echo(f"Entered: {reference}, version {entry.version}, {what} on {entry.day}.")
