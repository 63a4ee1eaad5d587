"""What is in a clinic folder beside what is read: packs, given documents, modes, links and strays."""

from __future__ import annotations

import stat
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from hashlib import sha256
from pathlib import Path

from consentpack.approvals import APPROVALS_FILE
from consentpack.clinic import SETTINGS_FILE
from consentpack.manifest import MANIFEST, documents_in
from consentpack.pipeline.archive import is_archive
from consentpack.pipeline.ledgers import GIVEN
from consentpack.pipeline.noticed import Noticed, note, wrong
from consentpack.pipeline.place import BACKUPS
from consentpack.pipeline.walking import Found
from consentpack.recovery import strays

_OTHERS = stat.S_IRWXG | stat.S_IRWXO
_WRITE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH
_READ = stat.S_IRGRP | stat.S_IROTH
_ENTER = stat.S_IXGRP | stat.S_IXOTH
_HOUR = 3600
"""Seconds after which a file under a temporary name belongs to no import that is still running."""


def look(folder: Path, found: tuple[Found, ...], counted: Counter[str]) -> Iterator[Noticed]:
    """All of it, each kind by itself."""
    counted["files"] = sum(not each.folder for each in found)
    yield from _packs(folder, counted)
    yield from _given(folder, counted)
    yield from _left_behind(folder, found)
    yield from _open_to_others(folder, found)
    yield from _links(folder, found)
    yield from _strangers(folder)


# --- packs and given documents --------------------------------------------------------------------


def _packs(folder: Path, counted: Counter[str]) -> Iterator[Noticed]:
    for pack in _folders(folder / "packs"):
        counted["packs"] += 1
        yield from _twice(partial(_pack, folder, pack))


def _twice(see: Callable[[], Iterable[Noticed]]) -> list[Noticed]:
    """Looked at once more when something is wrong: a build may just have put a new pack there."""
    return list(see()) and list(see())


def _folders(parent: Path) -> list[Path]:
    there = sorted(parent.iterdir()) if parent.is_dir() else []
    return [path for path in there if path.is_dir() and not path.name.startswith(".")]


def _pack(clinic: Path, pack: Path) -> Iterator[Noticed]:
    build = "Build its plan again."
    for name, state in _documents(pack):
        where = (pack / name).relative_to(clinic).as_posix()
        if state == "changed" and name.endswith(".docx"):
            yield note(where, "it was filled in or changed since it was made.")
        elif state == "changed":
            yield wrong(where, "it is not as it was made, and there is nothing in it to fill in.", build)
        elif state:
            yield wrong(where, f"it is {state}.", build)


def _documents(folder: Path) -> Iterator[tuple[str, str]]:
    """Each document of a manifest with 'changed', 'missing' or ''; the manifest where it is wrong."""
    manifest = folder / MANIFEST
    if not manifest.is_file():
        yield MANIFEST, "missing: this folder is no pack, or has lost its list"
        return
    listed = documents_in(manifest.read_bytes())
    if not listed:
        yield MANIFEST, "damaged: it cannot be read, so nothing beside it can be checked"
    for name, digest in listed.items():
        path = folder / name
        if Path(name).name != name:
            yield MANIFEST, "damaged: it names something outside its folder"
        elif not path.is_file():
            yield name, "missing"
        else:
            yield name, "" if _digest(path) == digest else "changed"


def _digest(path: Path) -> str:
    digest = sha256()
    with open(path, "rb") as stream:
        while chunk := stream.read(1 << 20):
            digest.update(chunk)
    return digest.hexdigest()


def _given(folder: Path, counted: Counter[str]) -> Iterator[Noticed]:
    for reference in _folders(folder / GIVEN):
        for version in _folders(reference):
            counted["given"] += 1
            yield from _twice(partial(_version, folder, version))


def _version(clinic: Path, version: Path) -> Iterator[Noticed]:
    fix = "Take it from the last backup that is whole: what was given must stay as it was."
    for name, state in _documents(version):
        path = version / name
        where = path.relative_to(clinic).as_posix()
        if state:
            yield wrong(where, f"it was given to a patient, and is {state}.", fix)
        elif path.stat().st_mode & _WRITE:
            yield wrong(where, "it was given to a patient, and can be written over.", f"chmod a-w {where}")


# --- what should not be there ---------------------------------------------------------------------


def _left_behind(folder: Path, found: tuple[Found, ...]) -> Iterator[Noticed]:
    """What stopped runs left; what a run is writing just now is none of it."""
    what, fix = "a run that was stopped has left it.", "The next command that works here puts it right."
    places = [folder, *(each.path for each in found if each.folder)]
    left = [path for place in places for path in strays(place)]
    for path in left:
        yield wrong(path.relative_to(folder).as_posix(), what, fix)
    for each in found:
        temporary = each.path.name.startswith(".") and each.path.suffix == ".part" and not each.folder
        if temporary and each.path not in left and time.time() - each.path.lstat().st_mtime > _HOUR:
            yield wrong(each.name, what, "Delete it, once no import is running.")


def _open_to_others(folder: Path, found: tuple[Found, ...]) -> Iterator[Noticed]:
    """What others on the computer can read or change, folder by folder."""
    if sys.platform == "win32":
        return
    modes, files = {folder: stat.S_IMODE(folder.stat().st_mode)}, defaultdict(list)
    for each in (each for each in found if not each.path.is_symlink()):
        if each.folder:
            modes[each.path] = each.mode
        elif each.mode & _OTHERS:
            files[each.path.parent].append(each.mode)
    reached = {folder.parent: True}
    for place, mode in modes.items():  # in the order of the walk: the outer ones first
        above = reached.get(place.parent, False)
        reached[place] = above and bool(mode & _ENTER)
        into = above and bool(mode & _READ)
        if into or files[place]:
            yield _exposed(folder, place, files[place], into=into, reached=reached[place])


def _exposed(folder: Path, place: Path, files: list[int], *, into: bool, reached: bool) -> Noticed:
    where = f"{place.relative_to(folder).as_posix()}/" if place != folder else f"{folder}/"
    count = f"{len(files)} {'file' if len(files) == 1 else 'files'} in it"
    changed = sum(bool(mode & (stat.S_IWGRP | stat.S_IWOTH)) for mode in files)
    writes = f", and change {changed}" if changed else ""
    fix = f"chmod -R go= {place}"
    if not into and not reached:
        what = f"{count} would be open to others; only a closed folder above keeps them out."
        return note(where, what, fix)
    can = ["look into this folder"] if into else []
    can += [f"read {count}{writes}"] if files and reached else []
    return wrong(where, f"others on this computer can {' and '.join(can)}.", fix)


def _links(folder: Path, found: tuple[Found, ...]) -> Iterator[Noticed]:
    for each in found:
        if not each.path.is_symlink():
            continue
        to = each.path.resolve()
        if not each.path.exists():
            yield wrong(each.name, f"it is a link to {to}, and nothing is there.", "Take it away.")
        elif each.name in (SETTINGS_FILE, APPROVALS_FILE) or to.is_relative_to(folder):
            yield note(each.name, f"it is a link to {to}.")
        else:
            fix = "Put the thing itself here, or save it by other means."
            yield wrong(each.name, f"it is a link to {to}, so no backup of this folder holds it.", fix)


def _is_plan(path: Path) -> bool:
    return path.suffix == ".toml" and path.is_file()


_BELONGS: Mapping[str, tuple[Callable[[Path], bool], str]] = {
    "plans": (_is_plan, "nobody reads it: a plan is NAME.toml."),
    "packs": (Path.is_dir, "it lies beside the packs, and is none."),
    GIVEN: (Path.is_dir, "it lies beside what was given, and belongs to none of it."),
    BACKUPS: (is_archive, "it is no backup of ours, or its end is missing."),
    "locales": (Path.is_dir, "nobody reads it: each language has a folder of its own."),
}
"""Folder -> what belongs there, and what is said of anything else."""


def _strangers(folder: Path) -> Iterator[Noticed]:
    """What lies in a folder of ours and is nothing that belongs there."""
    for name, (known, what) in _BELONGS.items():
        for path in sorted((folder / name).iterdir()) if (folder / name).is_dir() else ():
            if not path.name.startswith(".") and not path.is_symlink() and not known(path):
                yield wrong(f"{name}/{path.name}", what, "Move it elsewhere.")
