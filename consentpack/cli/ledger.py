"""`consentpack ledger`: its head, and the key it is signed with."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import by_option, clinic_option, guarded, json_option, print_json, start_of
from consentpack.cli.kept import kept


@click.group()
def ledger() -> None:
    """Look at the ledger of what was given, and sign it.

    Example: consentpack ledger head
    """


@ledger.command()
@clinic_option
@json_option
@guarded
def head(clinic_dir: Path | None, as_json: bool) -> None:
    """Print the head of the ledger: one line that stands for every entry in it.

    Write it down elsewhere, such as in the minutes of a meeting: whoever has it can tell later that nothing
    before it was changed or taken away.

    Example: consentpack ledger head
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.head(pipeline.find_clinic(start_of(clinic_dir)))
    if as_json:
        print_json(vars(found))
    else:
        click.echo(f"{found.size} {found.root} {found.at}")
        if found.key:
            click.echo(f"signed with {found.key}: {found.signature}")


@ledger.command()
@by_option
@clinic_option
@guarded
def key(by: str, clinic_dir: Path | None) -> None:
    """Make the clinic's key: from then on every head of the ledger is signed with it.

    The key is a file in the clinic folder, for its owner alone. Keep a copy where nobody can change it.

    Example: consentpack ledger key
    """
    from consentpack import pipeline  # noqa: PLC0415

    entry, made = pipeline.new_key(pipeline.find_clinic(start_of(clinic_dir)), by=by, now=datetime.now())
    with kept("the key was made", "consentpack ledger head"):
        click.echo(f"The key was made, and entered as number {entry.number}. Its public part: {made.key}")


@ledger.command()
@by_option
@clinic_option
@guarded
def go_on(by: str, clinic_dir: Path | None) -> None:
    """Let this clinic folder go on with a ledger that was last written from another one.

    One folder gives and marks: what was given lies in it. Where that folder is lost, or two used one
    register, this enters that it goes on here. What was given elsewhere stays missing here, and `verify` goes
    on saying so, until its given/ and kept/ are copied into this folder.

    Example: consentpack ledger go-on --by "Dr Ruth Ambrose"
    """
    from consentpack import pipeline  # noqa: PLC0415

    entry = pipeline.go_on_here(pipeline.find_clinic(start_of(clinic_dir)), by=by, now=datetime.now())
    with kept("it was entered", "consentpack ledger head"):
        click.echo(f"The ledger goes on in this clinic folder, with entry {entry.number}.")
