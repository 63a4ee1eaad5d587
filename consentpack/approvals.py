"""Sign-off of modules. An approval is bound to a digest: edit the text and it no longer holds."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from consentpack.errors import ClinicError, Problem
from consentpack.library import Library
from consentpack.model import Approval, ApprovalState, Clinic, Module
from consentpack.strict import Key, TomlText, check_table

APPROVALS_FILE = "approvals.toml"
KEYS: Mapping[str, Key] = {
    "module": Key(str, "folder and id of the module"),
    "language": Key(str, "the language that was read"),
    "digest": Key(str, "SHA-256 of the text that was read"),
    "by": Key(str, "who approved"),
    "role": Key(str, "that person's role"),
    "day": Key(date, "the day of the approval"),
    "until": Key(date, "the last day it holds"),
    "grade": Key(float, "the reading grade of that text", required=False),
}


def load_approvals(folder: Path) -> tuple[Approval, ...]:
    """The clinic's approvals; none when nothing has been approved. Raises ClinicError."""
    path = folder / APPROVALS_FILE
    if not path.is_file():
        return ()
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ClinicError(Problem(APPROVALS_FILE, f"the file cannot be read ({error}).")) from None
    listed = data.get("approval", [])
    problems = [
        Problem(APPROVALS_FILE, f"there is no table '{key}'; entries are [[approval]]s.")
        for key in data
        if key != "approval"
    ]
    if not isinstance(listed, list):
        problems.append(Problem(APPROVALS_FILE, "entries are [[approval]]s, in double brackets."))
        raise ClinicError(problems)
    for number, item in enumerate(listed, 1):
        toml = TomlText(f"{APPROVALS_FILE}, approval {number}", "")
        found = check_table(item, KEYS, toml=toml)
        problems += [Problem(toml.file, problem.what, problem.fix) for problem in found]
    if problems:
        raise ClinicError(problems)
    return tuple(Approval(**item) for item in listed)


def tables(library: Library, clinic: Clinic) -> dict[str, Module]:
    """What prints numbers without being a module, to be approved like one: file -> stand-in."""
    care = {n: [clinic.care.get(n, s.value), s.unit] for n, s in sorted(library.settings.items())}
    printed = [repr(rate) for rate in library.published]
    return {
        "tables/care-settings": _table("care-settings", json.dumps(care)),
        "tables/published-rates": _table("published-rates", json.dumps(printed)),
    }


def _table(id: str, content: str) -> Module:
    return Module(
        id=id,
        title=id.replace("-", " ").capitalize(),
        version="-",
        reviewed=date.min,
        review_by=date.max,
        sections={},
        file=f"tables/{id}",
        title_line=0,
        digest=hashlib.sha256(content.encode()).hexdigest(),
    )


def states(
    modules: Mapping[str, Module], approvals: Iterable[Approval], *, language: str, today: date
) -> dict[str, ApprovalState]:
    """How each used module stands: file -> state. `modules` maps file -> module."""
    latest: dict[str, Approval] = {}
    for approval in approvals:
        if approval.language == language:
            latest[approval.module] = approval  # the file is in order of time
    return {file: _state(file, module, latest.get(key_of(file)), today) for file, module in modules.items()}


def key_of(file: str) -> str:
    """A module's name in approvals: 'risks/bruising', wherever its file lies."""
    return "/".join(file.removesuffix(".md").split("/")[-2:])


def _state(file: str, module: Module, approval: Approval | None, today: date) -> ApprovalState:
    key = key_of(file)
    if approval is None:
        return ApprovalState(key, module.version, "never approved", None, file)
    if approval.digest != module.digest:
        return ApprovalState(key, module.version, "changed", approval, file)
    state = "expired" if today > min(approval.until, module.review_by) else "approved"
    return ApprovalState(key, module.version, state, approval, file)  # type: ignore[arg-type]


def not_approved(found: Mapping[str, ApprovalState]) -> list[str]:
    """Why a pack is a draft, counted by state: '3 modules changed since approval'."""
    said = {
        "never approved": "never approved",
        "changed": "changed since approval",
        "expired": "past their date",
    }
    counts = {state: sum(s.state == state for s in found.values()) for state in said}
    return [
        f"{count} {'module' if count == 1 else 'modules'} {said[state]}"
        for state, count in counts.items()
        if count
    ]


def added(approvals: Iterable[Approval]) -> str:
    """Some approvals as TOML to append to the file; one block each, so that it merges well."""
    return "".join(
        f"\n[[approval]]\nmodule = {_quoted(a.module)}\nlanguage = {_quoted(a.language)}\n"
        f"digest = {_quoted(a.digest)}\nby = {_quoted(a.by)}\nrole = {_quoted(a.role)}\n"
        f"day = {a.day.isoformat()}\nuntil = {a.until.isoformat()}\n"
        + (f"grade = {a.grade:.2f}\n" if a.grade and a.grade > 0 else "")
        for a in approvals
    )


def _quoted(words: str) -> str:
    return json.dumps(words, ensure_ascii=False)  # a JSON string is a TOML basic string
