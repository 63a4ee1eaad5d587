"""`consentpack backup`."""

from __future__ import annotations

import sys
from collections import defaultdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, print_json, progress, start_of

if TYPE_CHECKING:
    from consentpack.pipeline import Saved

_NAMED = 3
"""How many of what was left out for one reason are named."""


@click.command()
@click.argument("to", type=click.Path(path_type=Path), required=False)
@clinic_option
@json_option
@guarded
def backup(to: Path | None, clinic_dir: Path | None, as_json: bool) -> None:
    """Save the clinic folder and its register into one file, as they stand at one moment.

    TO is a folder, or the name of the file (.zip). Without it: backups/ in the clinic folder. Others may
    go on working meanwhile. The file is read back and checked before it gets its name.

    Example: consentpack backup /media/stick
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import RegisterError  # noqa: PLC0415

    saved = pipeline.backup(start_of(clinic_dir), to, now=datetime.now(), progress=progress)
    damaged = bool(saved.register and (saved.register.damage or saved.register.edited))
    if as_json:
        print_json(_json(saved))
    else:
        _print(saved)
    if damaged:
        click.echo("It was saved as it is, but the register is not as consentpack wrote it.", err=True)
        click.echo("  `consentpack audit check` says more.", err=True)
        sys.exit(RegisterError.exit_code)


def _print(saved: Saved) -> None:
    listed, treatments = saved.listed, saved.register.treatments if saved.register else None
    click.echo(str(saved.path))
    rows = f" and {counted(treatments, 'treatment', 'treatments')}" if treatments is not None else ""
    files = counted(len(listed.files), "file", "files")
    click.echo(f"{files}{rows}, {listed.size:,} bytes. Read back: all whole.")
    if listed.register is None:
        click.echo("There is no register yet, so none was saved.")
    elif treatments is None:
        click.echo("An older consentpack made the register; it was saved as it is, and not checked.")
    for why, names in _by_reason(saved).items():
        shown = ", ".join(names[:_NAMED]) + (f" and {len(names) - _NAMED} more" if names[_NAMED:] else "")
        click.echo(f"Left out, {why}: {shown}")


def _by_reason(saved: Saved) -> dict[str, list[str]]:
    found = defaultdict(list)
    for each in saved.listed.left_out:
        found[each.why].append(each.name)
    return found


def _json(saved: Saved) -> dict[str, object]:
    listed = saved.listed
    register = vars(listed.register) | {"rows": dict(listed.register.rows)} if listed.register else None
    return {
        "archive": str(saved.path),
        "files": len(listed.files),
        "bytes": listed.size,
        "register": register,
        "left_out": [vars(each) for each in listed.left_out],
    }
