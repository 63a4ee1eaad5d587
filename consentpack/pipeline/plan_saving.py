"""Saving a plan: the same TOML file that a person would write, with that person's comments kept."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from consentpack.catalogues import SOURCE_LANGUAGE, available
from consentpack.errors import LedgerError, PlanError, Problem
from consentpack.files import digest_of, make_parent, write_file
from consentpack.ledger import Standing
from consentpack.locks import locked
from consentpack.normal import plain
from consentpack.pipeline.given_list import issued
from consentpack.pipeline.ledgers import folder_name
from consentpack.pipeline.place import Workplace, plans_in
from consentpack.plans import PlanText, check_plan, in_future, reference_in, shown
from consentpack.strict import load_toml, with_days

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

_HEAD = "# A plan for one patient, by the clinic's own reference. It never says who the patient is.\n"
_SETS = ("factors", "asked", "reader_needs")
"""Lists whose order says nothing: a person's own order of them is kept."""
_NO_FILE_NAME = re.compile(r"[\x00-\x1f\x7f]")


class PlanChanged(PlanError):
    """Somebody else has saved the plan in the meantime; nothing was written."""


def save_plan(
    place: Workplace,
    values: Mapping[str, Any],
    *,
    file: Path | None = None,
    made_from: str = "",
    only_check: bool = False,
) -> Path:
    """Write a plan whole, a new one or over an older one, and only if it is right.

    `values` are those of the file's keys; None or what is empty takes a key out, and what is not named stays.
    `made_from` is the digest of the file the values were made from. Raises PlanError with all that is wrong,
    PlanChanged where the file is another by now, OutputError; nothing is written then, nor
    where it is `only_check`ed.
    """
    with locked(place.folder):
        path = file or _new_file(place, values)
        before = _read(path, made_from) if file else _HEAD
        text = laid_over(before, values)
        plan = check_plan(PlanText(shown(path), text.encode()), place.library, place.clinic)
        if problems := in_future(plan, date.today()):
            raise PlanError(problems)
        if not only_check:
            make_parent(path.parent)
            write_file(path, text)
    return path


def save_done(place: Workplace, file: Path, *, techniques: Sequence[str], day: date) -> Path:
    """Write into a plan what was done where that is not what was planned: its aftercare follows from it."""
    done = {"date": day, "techniques": list(techniques)}
    return save_plan(place, {"done": done}, file=file, made_from=digest_of(file.read_bytes()))


def languages(place: Workplace) -> tuple[str, ...]:
    """The languages a patient's papers can be in, the clinic's own first."""
    found = available(place.locales)
    own = place.clinic.language
    others = (tag for tag in (*found, SOURCE_LANGUAGE) if tag.split("-")[0] != own.split("-")[0])
    return (own, *dict.fromkeys(others))


def laid_over(text: str, values: Mapping[str, Any]) -> str:
    """A plan's text with other values. Lines that say the same already, and comments, stay."""
    import tomlkit  # noqa: PLC0415 - only here is a plan written
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415

    try:
        document = tomlkit.parse(with_days(text))
    except TOMLKitError:
        _, problems = load_toml(text, file="plan")
        raise PlanError(problems or Problem("plan", "this is not TOML.")) from None
    for key, value in values.items():
        _set(document, key, value)
    return tomlkit.dumps(document)


def _set(document: TOMLDocument, key: str, value: Any) -> None:
    if value is None or value in ("", [], {}):
        document.pop(key, None)
    elif not _same(key, document.get(key), value):
        document[key] = value


def _same(key: str, now: Any, value: Any) -> bool:
    now = now.unwrap() if hasattr(now, "unwrap") else now
    if key in _SETS and isinstance(now, list):
        return sorted(map(str, now)) == sorted(map(str, value))
    if isinstance(now, str) and isinstance(value, str):
        return plain(now) == value  # a longer text may stand in several lines
    return bool(now == value)


def _read(path: Path, made_from: str) -> str:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PlanError(Problem(shown(path), f"the plan cannot be read ({error.strerror}).")) from None
    if digest_of(data) != made_from:
        what = "the plan was changed in the meantime, in another window or by somebody else."
        raise PlanChanged(Problem(shown(path), what, "Look at what changed below, then save once more."))
    return data.decode("utf-8-sig")


def _new_file(place: Workplace, values: Mapping[str, Any]) -> Path:
    """Where a new plan goes. A reference that is taken is refused: two plans under it may be two patients."""
    reference = str(values.get("reference") or "")
    if not reference or _NO_FILE_NAME.search(reference):
        what = "it holds a sign that no reference may hold." if reference else "no reference was written."
        raise PlanError(Problem("reference", what, "Such as a case number: letters, figures and hyphens."))
    path = place.folder / "plans" / f"{folder_name(reference).lower()}.toml"
    taken = next((each for each in plans_in(place.folder) if reference_in(each) == reference), None)
    if taken or path.exists():
        what = f"there is a plan of this reference already: {(taken or path).name}. Nothing was saved."
        raise PlanError(Problem(reference, what, "Open that plan, or give this patient another reference."))
    if any(each.given.reference == reference for each in _given(place.folder)):
        what = "packs were given under this reference, and their plan is not here any more."
        raise PlanError(Problem(reference, what, "Give this patient a reference of their own."))
    return path


def _given(folder: Path) -> list[Standing]:
    try:
        return issued(folder)
    except LedgerError:
        return []  # nothing was given yet
