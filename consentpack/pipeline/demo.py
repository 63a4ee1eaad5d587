"""The invented clinic, copied for whoever wants to try."""

from __future__ import annotations

import shutil
from pathlib import Path

from consentpack import shipped
from consentpack.errors import OutputError, Problem


def copy_demo(folder: Path) -> Path:
    """Copy the invented clinic to a new folder. Raises OutputError when something is there."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "there is something here already; the demo needs an empty or new folder."
        raise OutputError(Problem(str(folder), what, "Give another name: `consentpack demo NAME`."))
    try:
        shutil.copytree(shipped.demo_clinic(), folder, dirs_exist_ok=True)
    except OSError as error:
        raise OutputError(Problem(str(folder), f"it cannot be written ({error.strerror}).")) from None
    return folder
