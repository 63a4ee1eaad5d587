"""A clinic folder that an older program made, brought to what this one reads: by one command, each file kept
as it was beside it.

Only what is sure is changed: what is called otherwise now, and a region that follows from the site. What only
a clinician knows is asked, and a plan that lacks it is named until it is said.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from consentpack.clinic import SETTINGS_FILE, find_clinic, register_from
from consentpack.errors import PlanError, Problem, did_you_mean, unread
from consentpack.files import make_parent, write_file
from consentpack.library import Library
from consentpack.locks import locked
from consentpack.pipeline.older_forms import (
    Mended,
    mended_module,
    mended_plan,
    mended_settings,
    values_of_key,
)
from consentpack.pipeline.place import library_of, plans_in, put_right
from consentpack.register import open_register

BEFORE = "before-migrate"
"""Beginning of the name of the folder in which the files lie as they were."""


@dataclass(frozen=True)
class Migrated:
    """What was done to a clinic folder."""

    folder: Path
    changes: tuple[Problem, ...]
    """What was changed, each with its file."""
    left: tuple[Problem, ...]
    """What only somebody of the clinic can do."""
    before: Path | None
    """Where the files lie as they were; None where nothing was changed."""


@dataclass(frozen=True)
class _File:
    path: Path
    name: str
    text: str
    mended: Mended


def migrate(start: Path, *, said: Mapping[str, str], now: datetime, dry_run: bool = False) -> Migrated:
    """Bring the clinic folder at or above `start` to today's form; not `dry_run`: write it, and bring the
    register forward.

    `said` is what a clinician says of plans: key -> value for all that lack it, or plan:key -> value for one.
    Raises PlanError, with nothing written, where that is no plan, key or value.
    """
    folder = find_clinic(start)
    put_right(folder)
    library = library_of(folder, whole=False)
    _check_said(said, folder, library)
    files = list(_files(folder, library, said))
    todo = [file for file in files if file.mended.text != file.text]
    before = folder / f"{BEFORE}-{now:%Y%m%d-%H%M%S}" if todo else None
    if before and not dry_run:
        _write(folder, before, todo)
    if not dry_run and (register := register_from(folder)):
        open_register(register)  # which brings it forward, keeps a copy, and says so
    return Migrated(
        folder,
        tuple(Problem(file.name, what) for file in todo for what in file.mended.changes),
        (*(problem for file in files for problem in file.mended.left), *_asked(files, library)),
        before,
    )


def _asked(files: list[_File], library: Library) -> Iterator[Problem]:
    """What may be said of that which plans lack, once for all of them."""
    for key in dict.fromkeys(key for file in files for key in file.mended.lacks):
        known = values_of_key(library, key)
        there = "; ".join(f"{value} ({meaning})" for value, meaning in known.items())
        fix = f"--say {key}=VALUE says it of all plans that lack it. There are: {there}."
        yield Problem(f"'{key}'", "only a clinician can say this.", fix)


def _files(folder: Path, library: Library, said: Mapping[str, str]) -> Iterator[_File]:
    """Every file of the folder that an older program may have made, with what becomes of it."""
    field = library.field
    for path in (folder / SETTINGS_FILE, *plans_in(folder), *sorted((folder / "content").rglob("*.md"))):
        name = path.relative_to(folder).as_posix()
        try:
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            yield _File(path, name, "", Mended("", (), (unread(name, error),)))
            continue
        if name == SETTINGS_FILE:
            found = mended_settings(text, name, field.renamed_groups)
        elif path.suffix == ".md":
            found = mended_module(text, name, field.renamed_keys)
        else:
            found = mended_plan(text, name, library, said_of(said, path, text))
        yield _File(path, name, text, found)


def said_of(said: Mapping[str, str], path: Path, text: str) -> dict[str, str]:
    """What is said of one plan: of all, and of this by its file's name or its reference."""
    names = {path.stem, _reference(text)}
    of_all = {key: value for key, value in said.items() if ":" not in key}
    own = {
        key.rpartition(":")[2]: value
        for key, value in said.items()
        if ":" in key and key.rpartition(":")[0] in names
    }
    return {**of_all, **own}


def _reference(text: str) -> str:
    try:
        return str(tomllib.loads(text).get("reference", ""))
    except ValueError:
        return ""


def _check_said(said: Mapping[str, str], folder: Path, library: Library) -> None:
    """A slip in what is said would be passed over, or would stand in a plan."""
    plans = {path.stem: path.read_text(encoding="utf-8-sig", errors="replace") for path in plans_in(folder)}
    names = {*plans, *map(_reference, plans.values())}
    problems = []
    for words, value in said.items():
        plan, _, key = words.rpartition(":")
        if plan and plan not in names:
            fix = did_you_mean(plan, plans) or f"There are: {', '.join(plans)}."
            problems.append(Problem("--say", f"there is no plan '{plan}'.", fix))
        known = values_of_key(library, key)
        if not known:
            fix = did_you_mean(key, library.field.plan_keys) or f"There are: {_listed(library)}."
            problems.append(Problem("--say", f"a plan need not say '{key}'.", fix))
        elif value not in known:
            fix = did_you_mean(value, known) or f"There are: {', '.join(known)}."
            problems.append(Problem("--say", f"there is no {key} '{value}'.", fix))
    if problems:
        raise PlanError(problems)


def _listed(library: Library) -> str:
    return ", ".join(library.field.plan_keys)


def _write(folder: Path, before: Path, files: list[_File]) -> None:
    """Each file as it was first, then as it is now: whoever is stopped between has both."""
    with locked(folder):
        for file in files:
            kept = before / file.name
            make_parent(kept.parent)
            write_file(kept, file.path.read_bytes())
        for file in files:
            write_file(file.path, file.mended.text)
