"""`consentpack verify`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, print_json, start_of

if TYPE_CHECKING:
    from consentpack.pipeline.verifying import Verified
    from consentpack.pipeline.verifying_all import AllVerified


@click.command()
@click.argument("what", required=False)
@click.option("--quick", is_flag=True, help="Do not make the pack once more from what was kept.")
@click.option("--again", is_flag=True, help="With nothing named: make every given pack once more, too.")
@click.option("--html", type=click.Path(path_type=Path), help="Write what was found as a page, too.")
@clinic_option
@json_option
@guarded
def verify(
    what: str | None, quick: bool, again: bool, html: Path | None, clinic_dir: Path | None, as_json: bool
) -> None:
    """Say whether WHAT is exactly what was given.

    WHAT is a file, a folder of given/, or the code at the foot of a paper. With nothing named: the whole
    ledger and everything that was given. Needs no network. Exits with 23 when something is not as it was
    given.

    Example: consentpack verify given/HS-P-101/1/form.docx
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import LedgerError  # noqa: PLC0415

    clinic = pipeline.find_clinic(start_of(clinic_dir))
    if what is None:
        found = pipeline.verify_all(clinic, again=again)
        if html:
            pipeline.write_ledger_page(clinic, html, found)
        _print_all(found, as_json=as_json)
        sys.exit(0 if found.holds else LedgerError.exit_code)
    one = pipeline.verify(clinic, what, again=not quick)
    if html:
        pipeline.write_ledger_page(clinic, html, one)
    if as_json:
        print_json(pipeline.ledger_as_json.verified(one))
    else:
        _print(one)
    sys.exit(0 if one.holds else LedgerError.exit_code)


def _print(found: Verified) -> None:
    from consentpack import pipeline  # noqa: PLC0415

    if found.standing is None:
        click.echo(f"{found.asked}: not given.")
    else:
        name = f"{found.document} of " if found.document else ""
        exactly = "exactly what was given" if found.same else "not what was given"
        click.echo(f"{found.asked}: {name}{pipeline.standing_words(found.standing)}")
        click.echo(f"It is {exactly}.")
    for each in found.differs:
        click.echo(f"  {each.part or 'before the first heading'}")
        click.echo(f"    given: {each.given or '(nothing)'}")
        click.echo(f"    here:  {each.now or '(nothing)'}")
    for finding in found.findings:
        click.echo(f"{finding.where}: {finding.what}")
    if found.approved_by:
        click.echo(f"The texts were approved by: {'; '.join(found.approved_by)}.")
    if found.rebuilt:
        click.echo(pipeline.again_words(found.rebuilt))


def _print_all(found: AllVerified, *, as_json: bool) -> None:
    from consentpack import pipeline  # noqa: PLC0415

    if as_json:
        print_json(pipeline.ledger_as_json.all_verified(found))
        return
    entries, packs = counted(found.entries, "entry", "entries"), counted(found.packs, "pack", "packs")
    click.echo(f"{entries} and {packs} looked at.")
    if found.head:
        click.echo(
            f"The ledger's head: {found.head.size} {found.head.root}{' signed' if found.head.key else ''}"
        )
    for each in found.findings:
        click.echo(f"{each.where}: {each.what}")
    for each in found.warnings:
        click.echo(f"{each.where}: {each.what}", err=True)
    for rebuilt in found.not_the_same:
        click.echo(
            f"{rebuilt.entry.reference}, version {rebuilt.entry.version}: {pipeline.again_words(rebuilt)}"
        )
    if found.holds:
        click.echo("All of it is as it was given.")
