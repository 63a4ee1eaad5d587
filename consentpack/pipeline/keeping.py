"""Keeping a pack in its folder: where it goes, what of an old one may go, what must never be written over."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from consentpack.errors import OutputError, Problem
from consentpack.files import write_folder
from consentpack.manifest import digest_of, documents_in
from consentpack.model import Plan
from consentpack.pipeline.place import Workplace

MANIFEST = "manifest.json"


def pack_folder(place: Workplace, plan: Plan) -> Path:
    """Where a plan's pack is kept. Two references never share a folder."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", plan.reference).strip("-.")
    if name != plan.reference:
        name = f"{name}-{digest_of(plan.reference.encode())[:8]}"
    return place.folder / "packs" / name


def keep_pack(target: Path, files: Mapping[str, bytes]) -> None:
    """Write the files of a pack into its folder, whole. Raises OutputError with nothing written."""
    _refuse_their_pdfs(target, files)
    write_folder(target, files, mark=MANIFEST, outdated=_ours(target))


def _ours(folder: Path) -> set[str]:
    """Files of an old pack that are as we wrote them. One left behind would be printed with old figures."""
    old = folder / MANIFEST
    listed = documents_in(old.read_bytes()) if old.is_file() else {}
    there = {name: folder / name for name in listed if (folder / name).is_file()}
    return {name for name, path in there.items() if digest_of(path.read_bytes()) == listed[name]}


def _refuse_their_pdfs(folder: Path, files: Mapping[str, bytes]) -> None:
    """A PDF that we did not make may be the scan of a signed form; it must not be written over."""
    ours = _ours(folder)
    theirs = [n for n in files if n.endswith(".pdf") and n not in ours and (folder / n).exists()]
    what = "this PDF was not made by consentpack, or was changed since. Nothing was written."
    problems = [Problem(str(folder / n), what, "Give it another name, then build again.") for n in theirs]
    if problems:
        raise OutputError(problems)
