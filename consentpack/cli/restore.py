"""`consentpack restore`."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from consentpack.cli.edge import counted, guarded, progress


@click.command()
@click.argument("archive", type=click.Path(path_type=Path))
@click.argument("to", type=click.Path(path_type=Path))
@click.option(
    "--only-whole",
    is_flag=True,
    help="When the backup is damaged: restore the files that are whole, and list the others.",
)
@click.option(
    "--register",
    default="",
    metavar="URL",
    help="Write the rows of the register into this empty database too.",
)
@guarded
def restore(archive: Path, to: Path, only_whole: bool, register: str) -> None:
    """Bring a clinic folder back from a backup, into the new or empty folder TO.

    Every file is checked first. When one is damaged it is named, and nothing is restored. Nothing that is
    there is ever written over.

    Example: consentpack restore backups/backup-2026-11-25-090000.zip ../restored
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import BackupError  # noqa: PLC0415

    done = pipeline.restore(archive, to, only_whole=only_whole, register=register, progress=progress)
    there = len(done.listed.files) - len({problem.where for problem in done.lost})
    click.echo(str(done.folder))
    click.echo(f"{counted(max(0, there), 'file', 'files')} of the backup of {done.listed.made}.")
    for problem in done.to_do:
        click.echo(str(problem))
    for problem in done.lost:
        click.echo(f"Not whole: {problem}", err=True)
    if done.lost:
        sys.exit(BackupError.exit_code)
