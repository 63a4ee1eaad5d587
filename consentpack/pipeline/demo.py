"""The invented clinic, copied for whoever wants to try."""

from __future__ import annotations

import shutil
from pathlib import Path

from consentpack import shipped
from consentpack.errors import OutputError, Problem, did_you_mean
from consentpack.files import PRIVATE_FILE, PRIVATE_FOLDER, make_parent

_NOT_OURS = shutil.ignore_patterns(".*")
"""Locks and what a killed run left, should somebody have run a command in the very folder that is copied."""


def copy_demo(folder: Path, field: str = "") -> Path:
    """Copy the invented clinic of a field to a new folder. Raises OutputError when something is there, or
    there is no such field."""
    if field and field not in shipped.fields():
        fix = did_you_mean(field, shipped.fields()) or f"There are: {', '.join(shipped.fields())}."
        raise OutputError(Problem("--field", f"there is no field '{field}'.", fix))
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "there is something here already; the demo needs an empty or new folder."
        raise OutputError(Problem(str(folder), what, "Give another name: `consentpack demo NAME`."))
    try:
        make_parent(folder)
        shutil.copytree(
            shipped.demo_clinic(field), folder, dirs_exist_ok=True, copy_function=_private, ignore=_NOT_OURS
        )
        for each in (folder, *(path for path in folder.rglob("*") if path.is_dir())):
            each.chmod(PRIVATE_FOLDER)  # the names of packs are references of patients
    except OSError as error:
        raise OutputError(Problem(str(folder), f"it cannot be written ({error.strerror}).")) from None
    return folder


def _private(source: str, target: str) -> None:
    """Copy a file for its owner alone, as everything in a clinic folder is."""
    shutil.copyfile(source, target)
    Path(target).chmod(PRIVATE_FILE)
