"""Sign-off of modules. An approval is bound to a digest: edit the text and it no longer holds."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from pathlib import Path

from consentpack.catalogues import Catalogue
from consentpack.errors import ClinicError, Problem, unread
from consentpack.library import Library
from consentpack.library.texts import patient_texts
from consentpack.model import Approval, ApprovalState, Clinic, Module
from consentpack.strict import Key, TomlText, check_table, load_toml

APPROVALS_FILE = "approvals.toml"
WARN_DAYS = 60
"""Days before its end from which an approval is named as ending."""
TRANSLATORS = 2
"""People who must approve a translation: a translator and a second person who revises it (ISO 17100;
45 CFR 92.201(c)(3) for machine translation; both from the reference, second hand)."""
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
    return approvals_in(read_approvals(folder) or b"")


def read_approvals(folder: Path) -> bytes | None:
    """What the clinic's file of approvals holds; None when there is none. Raises ClinicError."""
    path = folder / APPROVALS_FILE
    try:
        return path.read_bytes() if path.exists() else None
    except OSError as error:
        raise ClinicError(unread(APPROVALS_FILE, error)) from None


def approvals_in(written: bytes) -> tuple[Approval, ...]:
    """The approvals that a file's bytes mean. Raises ClinicError with everything that is wrong."""
    try:
        data, wrong = load_toml(written.decode("utf-8-sig"), file=APPROVALS_FILE)
    except UnicodeDecodeError as error:
        raise ClinicError(unread(APPROVALS_FILE, error)) from None
    if wrong:
        raise ClinicError(wrong)
    listed = data.get("approval", [])
    problems = [
        Problem(APPROVALS_FILE, f"there is no table '{key}'; entries are [[approval]]s.")
        for key in data
        if key != "approval"
    ]
    if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
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
    """What prints numbers, or is a line to tick of the clinic's own, to be approved like a module:
    file -> stand-in."""
    return {f"{TABLES}{id}": _table(id, held) for id, held in in_tables(library, clinic).items()}


TABLES = "tables/"
"""Where what is approved like a module and is none seems to lie."""


def in_tables(library: Library, clinic: Clinic) -> dict[str, str]:
    """What each of those tables holds, as JSON: what its approval is bound to."""
    care = {n: [clinic.care.get(n, s.value), s.unit] for n, s in sorted(library.settings.items())}
    printed = [repr(rate) for rate in library.published]
    own = {tag: tick.words for tag, tick in library.ticks.items() if not tick.file.startswith("content/")}
    ticks = {"tick-boxes": json.dumps(own)} if own else {}
    return ticks | {"care-settings": json.dumps(care), "published-rates": json.dumps(printed)}


PHRASES = "tables/phrases"
"""All a translation has outside the modules. In English it comes with the program, as its code does."""


def phrases_of(catalogue: Catalogue) -> Module:
    """The words of a translation that stand in no module, to be approved like one."""
    return _table("phrases", in_phrases(catalogue))


def in_phrases(catalogue: Catalogue) -> str:
    """Those words as JSON: what their approval is bound to."""
    return json.dumps(catalogue.outside_modules())


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
    modules: Mapping[str, Module],
    approvals: Iterable[Approval],
    *,
    language: str,
    today: date,
    digest: Callable[[Module], str] = lambda module: module.digest,
    persons: int = 1,
) -> dict[str, ApprovalState]:
    """How each used module stands: file -> state. `modules` maps file -> module.

    `digest` gives what an approval in this language is bound to; `persons` is how many different
    people must have approved the very text.
    """
    found: dict[str, list[Approval]] = {}
    for approval in approvals:
        if approval.language == language:
            found.setdefault(approval.module, []).append(approval)  # the file is in order of time
    return {
        file: _state(file, module, found.get(key_of(file), []), digest(module), persons, today)
        for file, module in modules.items()
    }


def digest_in(module: Module, catalogue: Catalogue) -> str:
    """What an approval of a module in a language is bound to: every word of it in that language, and
    the original it was translated from."""
    if catalogue.is_source or module.file.startswith(TABLES):
        return module.digest
    return hashlib.sha256(words_in(module, catalogue).encode()).hexdigest()


def words_in(module: Module, catalogue: Catalogue) -> str:
    """The digest of a module and each of its texts in a language, with a zero byte between any two."""
    words = (catalogue.block(piece.text).text for piece in patient_texts(module))
    return "\0".join([module.digest, *words])


def holding(approvals: Iterable[Approval], module: Module, language: str, *, today: date) -> tuple[str, ...]:
    """Who has approved the very text of a table in a language, and whose approval has not run out."""
    key = key_of(module.file)
    names = {
        a.by.strip().casefold(): a.by.strip()
        for a in approvals
        if (a.module, a.language, a.digest) == (key, language, module.digest) and today <= a.until
    }
    return tuple(names.values())


def key_of(file: str) -> str:
    """A module's name in approvals: 'risks/bruising', wherever its file lies."""
    return "/".join(file.removesuffix(".md").split("/")[-2:])


def _state(
    file: str, module: Module, given: list[Approval], digest: str, persons: int, today: date
) -> ApprovalState:
    key, last = key_of(file), given[-1] if given else None
    if last is None:
        return ApprovalState(key, module.version, "never approved", None, file)
    latest = {approval.by.strip().casefold(): approval for approval in given}
    holding = [a for a in latest.values() if a.digest == digest]
    if last.digest != digest:
        return ApprovalState(key, module.version, "changed", last, file)
    in_date = [a for a in holding if today <= min(a.until, module.review_by)]
    if last not in in_date:
        return ApprovalState(key, module.version, "expired", last, file)
    if len(in_date) < persons:
        return ApprovalState(key, module.version, "needs another person", last, file)
    until = min(module.review_by, *(a.until for a in in_date[-persons:]), last.until)
    return ApprovalState(key, module.version, "approved", last, file, until)


def ending(found: Iterable[ApprovalState], *, today: date) -> list[ApprovalState]:
    """Approvals that end within the next two months, the first to end first."""
    soon = [s for s in found if s.until and (s.until - today).days <= WARN_DAYS]
    return sorted(soon, key=lambda s: s.until or date.max)


def not_approved(found: Mapping[str, ApprovalState]) -> list[str]:
    """Why a pack is a draft, counted by state: '3 modules changed since approval'."""
    said = {
        "never approved": "never approved",
        "changed": "changed since approval",
        "expired": "past their date",
        "needs another person": "approved by one person; a translation needs two",
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
