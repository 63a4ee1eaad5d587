"""`consentpack check`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import clinic_option, counted, guarded, json_option, print_json, start_of

if TYPE_CHECKING:
    from consentpack.pipeline import Checkup, Noticed

_NOUNS = {
    "files": ("file", "files"),
    "plans": ("plan", "plans"),
    "packs": ("pack", "packs"),
    "given": ("given version", "given versions"),
    "treatments": ("treatment", "treatments"),
}


@click.command()
@clinic_option
@json_option
@guarded
def check(clinic_dir: Path | None, as_json: bool) -> None:
    """Check the whole clinic folder, and say line by line what is not as it should be.

    Settings, content, approvals, plans, the digest of every treatment, each pack against its manifest,
    what was given, who else can read the files, links, and what stopped runs left. Never writes. Exits
    with 25 when something has to be put right; a note alone is no fault.

    Example: consentpack check
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import CheckError  # noqa: PLC0415

    found = pipeline.check_folder(start_of(clinic_dir))
    if as_json:
        print_json(_json(found))
    else:
        _print(found)
    if found.wrong:
        sys.exit(CheckError.exit_code)


def _print(found: Checkup) -> None:
    for each in found.noticed:
        click.echo(_line(each))
    counts = (counted(found.counted[name], *nouns) for name, nouns in _NOUNS.items() if found.counted[name])
    faults = sum(not each.only_note for each in found.noticed)
    said = counted(faults, "thing", "things") + " to put right" if faults else "all is well"
    click.echo(f"Checked {', '.join(counts)}: {said}.")


def _line(each: Noticed) -> str:
    problem = each.problem
    words = f"{problem.where}: {problem.what} {problem.fix}".strip()
    return f"{'note: ' if each.only_note else ''}{' '.join(words.split())}"


def _json(found: Checkup) -> dict[str, object]:
    noticed = [vars(each.problem) | {"note": each.only_note} for each in found.noticed]
    return {"folder": str(found.folder), "well": not found.wrong, "checked": found.counted, "found": noticed}
