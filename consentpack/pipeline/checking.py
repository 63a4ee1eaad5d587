"""Looking at a whole clinic folder: what is not as it should be. Nothing is ever written.

Each check is a function of `Looked`, and stands in `CHECKS`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from consentpack import shipped
from consentpack.approvals import load_approvals
from consentpack.catalogues import available, load
from consentpack.clinic import SETTINGS_FILE, find_clinic, load_clinic, register_from
from consentpack.errors import ConsentpackError
from consentpack.library import Library
from consentpack.model import Clinic
from consentpack.pipeline import checking_files
from consentpack.pipeline.ledgers import ALONE, GIVEN
from consentpack.pipeline.noticed import Noticed, note, wrong
from consentpack.pipeline.place import library_of
from consentpack.pipeline.verifying_all import verify_all
from consentpack.pipeline.walking import Found, RegisterPlace, walk
from consentpack.plans import load_plan
from consentpack.register import SCHEMA, check_register, file_of, open_register, shown, version_at


@dataclass(frozen=True)
class Looked:
    """A clinic folder, and what of it could be read."""

    folder: Path
    found: tuple[Found, ...]
    library: Library | None
    clinic: Clinic | None
    unread: tuple[Noticed, ...]
    """Why library or settings cannot be read, and what is wrong in them."""
    counted: Counter[str] = field(default_factory=Counter)
    """What was looked at: files, packs, treatments …"""


@dataclass(frozen=True)
class Checkup:
    """What a check of a clinic folder found."""

    folder: Path
    noticed: tuple[Noticed, ...]
    counted: Counter[str]

    @property
    def wrong(self) -> bool:
        """Whether something has to be put right."""
        return any(not each.only_note for each in self.noticed)


def check_folder(start: Path) -> Checkup:
    """Check the clinic folder at or above `start`. Raises ClinicError when there is none."""
    looked = _look(find_clinic(start))
    noticed = [each for check in CHECKS for each in _tried(check, looked)]
    return Checkup(looked.folder, tuple(_each_once(noticed)), looked.counted)


def _tried(check: Check, looked: Looked) -> list[Noticed]:
    """What a check says; one that cannot look says so, and the others go on."""
    said: list[Noticed] = []
    try:
        said.extend(check(looked))
    except ConsentpackError as error:
        said += [Noticed(each) for each in error.problems]
    except OSError as error:
        said.append(wrong(str(error.filename or looked.folder), f"it cannot be read ({error.strerror})."))
    return said


def _look(folder: Path) -> Looked:
    unread: list[Noticed] = []
    library = clinic = None
    try:
        try:
            library = library_of(folder)
        except ConsentpackError as error:
            unread += [Noticed(each) for each in error.problems]
            library = library_of(folder, whole=False)  # what is left, to look at plans all the same
        clinic = load_clinic(folder, library)
    except ConsentpackError as error:
        unread += [Noticed(each) for each in error.problems]
    found: list[Found] = []
    try:
        found.extend(walk(folder, RegisterPlace("")))
    except OSError as error:
        unread.append(wrong(str(error.filename or folder), f"it cannot be read ({error.strerror})."))
    return Looked(folder, tuple(found), library, clinic, tuple(unread))


# --- what is read ---------------------------------------------------------------------------------


def settings(looked: Looked) -> Iterator[Noticed]:
    """clinic.toml and the content of the clinic's own."""
    yield from looked.unread


def approvals(looked: Looked) -> Iterator[Noticed]:
    """The file of approvals."""
    looked.counted["approvals"] = len(load_approvals(looked.folder))
    yield from ()


def plans(looked: Looked) -> Iterator[Noticed]:
    """Every plan."""
    files = [each for each in looked.found if _is_plan(each)]
    looked.counted["plans"] = len(files)
    if files and (looked.library is None or looked.clinic is None):
        yield note("plans/", "they cannot be checked until clinic.toml and content/ can be read.")
        return
    for each in files:
        assert looked.library and looked.clinic
        try:
            load_plan(each.path, looked.library, looked.clinic)
        except ConsentpackError as error:
            yield from (Noticed(problem) for problem in error.problems)


def _is_plan(each: Found) -> bool:
    in_plans = each.path.parent.name == "plans" and each.name.count("/") == 1
    return in_plans and each.path.suffix == ".toml" and not each.path.name.startswith(".")


def locales(looked: Looked) -> Iterator[Noticed]:
    """The clinic's own translations."""
    folder = looked.folder / "locales"
    ours = shipped.locales_for(looked.library.shipped_field if looked.library else "")
    for tag in available([folder]):
        try:
            load(tag, (folder, *ours), where=f"locales/{tag}")
        except ConsentpackError as error:
            yield from (Noticed(problem) for problem in error.problems)


def register(looked: Looked) -> Iterator[Noticed]:
    """The digest of every treatment, and the database itself; nothing is brought up to date for it."""
    where = register_from(looked.folder)
    if not where:
        return
    if _is_written(where):
        what = "an import is running, or was stopped half-way, so the register was not checked."
        yield wrong(shown(where), what, "`consentpack audit history` puts it right. Then check once more.")
        return
    version = version_at(where)
    if version is None:
        yield note(shown(where), "there is no register yet, so no figure can be counted.", _BEGIN)
    elif version < SCHEMA:
        what = f"an older consentpack made it (schema {version}), so it was not checked."
        yield note(shown(where), what, "`consentpack audit check` brings it up to date and checks it.")
    else:
        yield from _rows(where, looked)


_BEGIN = f"Is 'register' in {SETTINGS_FILE} right? `consentpack audit import FILE` begins one."


def _is_written(where: str) -> bool:
    """Whether somebody writes in an SQLite register just now, or was stopped; looking would undo it."""
    file = file_of(where)
    journal = Path(f"{file}-journal")
    return bool(file) and journal.is_file() and journal.stat().st_size > 0


def _rows(where: str, looked: Looked) -> Iterator[Noticed]:
    opened = open_register(where)
    assert opened is not None
    try:
        checked = check_register(opened)
    finally:
        opened.engine.dispose()
    looked.counted["treatments"] = checked.treatments
    if checked.edited:
        what = f"{len(checked.edited)} of {checked.treatments} treatments were changed by another program."
        yield wrong(shown(where), what, "`consentpack audit check` names them.")
    for line in checked.damage:
        fix = "Restore the last backup that is whole: `consentpack restore`."
        yield wrong(shown(where), f"the database is damaged: {line}.", fix)


def files(looked: Looked) -> Iterator[Noticed]:
    """Packs, what was given, modes, links, what stopped runs left, and what nobody knows."""
    yield from checking_files.look(looked.folder, looked.found, looked.counted)


def ledger(looked: Looked) -> Iterator[Noticed]:
    """Every entry of the ledger, every pack that was given, and what those were made from."""
    where = register_from(looked.folder) or str(looked.folder / ALONE)
    if _is_written(where) or version_at(where) != SCHEMA:
        return  # there is none yet, or `register` has said that an older program made it
    found = verify_all(looked.folder, settled=False)
    looked.counted["entries of the ledger"] = found.entries
    for each in found.findings:
        fix = "`consentpack verify` says more. Take it from the last backup that is whole."
        yield wrong(each.where, each.what, fix)
    for each in found.warnings:
        yield note(each.where, each.what, "Somebody has to be able to explain it.")


def _each_once(noticed: Iterable[Noticed]) -> Iterator[Noticed]:
    """What two checks tell of one given paper is told once."""
    told: set[str] = set()
    for each in dict.fromkeys(noticed):
        where = each.problem.where
        if not (where.startswith(f"{GIVEN}/") and where in told):
            yield each
        told.add(where)


Check = Callable[[Looked], Iterator[Noticed]]
CHECKS: tuple[Check, ...] = (settings, approvals, plans, locales, register, files, ledger)
"""All checks, in the order in which they are told. One more is one more function here."""
