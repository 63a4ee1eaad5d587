"""Keeping a pack in its folder: where it goes, what of an old one may go, what must never be written over."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import nullcontext
from pathlib import Path

from consentpack.errors import OutputError, Problem
from consentpack.files import digest_of, write_folder
from consentpack.locks import locked
from consentpack.manifest import MANIFEST, documents_in, plan_in
from consentpack.model import Plan
from consentpack.pipeline.ledgers import folder_name
from consentpack.pipeline.place import Workplace
from consentpack.recovery import free_name, recover


def pack_folder(place: Workplace, plan: Plan) -> Path:
    """Where a plan's pack is kept. Two references never share a folder."""
    return place.folder / "packs" / folder_name(plan.reference)


def keep_pack(
    target: Path, files: Mapping[str, bytes], *, plan_file: str = "", clinic: Path | None = None
) -> list[str]:
    """Write the files of a pack into its folder, whole; what was kept of an old one, for the user.

    A document that somebody has filled in or changed, or a scan that has a document's name, is never
    written over: it stays beside the new one. `plan_file` names the plan it is made from: another plan's
    pack is refused. `clinic` is the folder whose lock is held meanwhile. Raises OutputError with nothing
    written.
    """
    with locked(clinic) if clinic else nullcontext():
        said = recover(target.parent, mark=MANIFEST)
        _refuse_another_plan(target, plan_file)
        ours = _ours(target)
        renamed = _changed(target, files, ours)
        write_folder(target, files, mark=MANIFEST, outdated=ours, renamed=renamed)
    what = "{} was filled in or changed since it was made; it is kept as {}."
    return [*said, *(what.format(old, new) for old, new in renamed.items())]


def _ours(folder: Path) -> set[str]:
    """Files of an old pack that are as we wrote them. One left behind would be printed with old figures."""
    old = folder / MANIFEST
    listed = documents_in(old.read_bytes()) if old.is_file() else {}
    there = {name: folder / name for name in listed if (folder / name).is_file()}
    return {name for name, path in there.items() if digest_of(path.read_bytes()) == listed[name]}


def _changed(folder: Path, files: Mapping[str, bytes], ours: set[str]) -> dict[str, str]:
    """Files with the name of a new document that are not as we wrote them -> the name they keep."""
    renamed: dict[str, str] = {}
    for name, content in files.items():
        path = folder / name
        if name != MANIFEST and name not in ours and path.is_file() and path.read_bytes() != content:
            renamed[name] = free_name(path, taken=renamed.values()).name
    return renamed


def _refuse_another_plan(folder: Path, plan_file: str) -> None:
    """Two plans under one reference may be two patients: neither may take the other's pack away."""
    old = folder / MANIFEST
    made_from = plan_in(old.read_bytes()) if old.is_file() else ""
    if plan_file and made_from and made_from != plan_file:
        what = f"this pack was made from {made_from}, and {plan_file} has the same reference."
        fix = "Give each patient a reference of their own. If it is one patient, move this folder away first."
        raise OutputError(Problem(str(folder), f"{what} Nothing was written.", fix))
