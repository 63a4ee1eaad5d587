"""All that a given pack is made from, read once and kept; and laid out again to make it once more.

A pack is given from the kept copy itself: what the copy lacks, the pack cannot have been made from.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path, PurePosixPath

from consentpack import __version__, shipped
from consentpack.approvals import APPROVALS_FILE
from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import ConsentpackError, LedgerError, Problem, unread
from consentpack.pipeline.kept_inputs import KeptInputs
from consentpack.pipeline.place import Workplace, open_workplace
from consentpack.pipeline.stored import fetch, keep

_OURS = ("content", "locales")
"""Folders of words, in the program as in a clinic folder."""


def keep_inputs(place: Workplace, plan_path: Path) -> KeptInputs:
    """Keep every file a pack of a plan may be made from. Raises LedgerError, OutputError."""
    folder = place.folder
    named = [folder / name for name in (SETTINGS_FILE, APPROVALS_FILE)]
    named += [folder / name for name, _ in place.clinic.brand.files]
    own = [*(path for path in named if path.is_file()), *_words(folder)]
    program = shipped.content().parent
    return KeptInputs(
        plan_name=plan_path.name,
        plan=keep(folder, _read(plan_path)),
        clinic=_list(folder, folder, own),
        shipped=_list(folder, program, _words(program)),
        program=__version__,
        code=shipped.code(),
    )


def _words(folder: Path) -> Iterator[Path]:
    """Every file of content and locales, those of editors and systems aside."""
    for name in _OURS:
        for path in sorted((folder / name).rglob("*")):
            if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts):
                yield path


def _list(clinic: Path, base: Path, paths: Iterable[Path]) -> str:
    """Keep some files, and the list of them; the digest of the list."""
    found = {path.relative_to(base).as_posix(): keep(clinic, _read(path)) for path in paths}
    return keep(clinic, (json.dumps(found, indent=0, sort_keys=True) + "\n").encode())


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise LedgerError(unread(str(path), error)) from None


@contextmanager
def laid_out(clinic: Path, kept: KeptInputs) -> Iterator[tuple[Workplace, Path]]:
    """A clinic folder as it was when a pack was given, and the plan in it; gone afterwards.

    What the program had then is read in place of what it has now. Errors name files as the clinic knows them.
    Raises LedgerError where something kept is gone or was changed.
    """
    with tempfile.TemporaryDirectory(prefix="consentpack-") as temporary:
        program, folder = Path(temporary) / "program", Path(temporary) / "clinic" / clinic.name
        _lay(clinic, kept.shipped, program)
        _lay(clinic, kept.clinic, folder)
        plan = folder / "plans" / PurePosixPath(kept.plan_name).name
        plan.parent.mkdir(parents=True, exist_ok=True)
        plan.write_bytes(fetch(clinic, kept.plan))
        try:
            with shipped.standing_in(program, of_then=True):
                yield open_workplace(folder, whole=False), plan
        except ConsentpackError as error:
            raise type(error)([_as_known(each, folder, clinic) for each in error.problems]) from None


def with_register(there: Workplace, url: str) -> Workplace:
    """A clinic folder that counts another register than the one its settings name; '' for none."""
    return replace(there, clinic=replace(there.clinic, register_url=url))


def _lay(clinic: Path, listed: str, into: Path) -> None:
    into.mkdir(parents=True)
    for name, digest in json.loads(fetch(clinic, listed)).items():
        path = into / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(fetch(clinic, digest))


def _as_known(problem: Problem, folder: Path, clinic: Path) -> Problem:
    return replace(
        problem,
        where=problem.where.replace(str(folder), str(clinic)),
        what=problem.what.replace(str(folder), str(clinic)),
        fix=problem.fix.replace(str(folder), str(clinic)),
    )
