"""Whether a paper, a pack or the whole ledger is what was given. Needs no network."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from consentpack.errors import ConsentpackError, LedgerError, Problem
from consentpack.export.pdf import pages_of_any
from consentpack.files import digest_of
from consentpack.ledger import (
    RECEIPT,
    Connection,
    Entry,
    Standing,
    entries_saying,
    entries_with,
    entries_with_scan,
    in_words,
    read_code,
    receipt_in,
    standings,
)
from consentpack.pipeline.differing import Difference, differences
from consentpack.pipeline.given_findings import Finding, findings_of, read
from consentpack.pipeline.kept_inputs import INPUTS, inputs_in
from consentpack.pipeline.ledgers import GIVEN, given_folder, reading_ledger
from consentpack.pipeline.rebuilding import Rebuilt, rebuild
from consentpack.pipeline.stored import fetch

MOST_READ = 64_000_000
"""Bytes of a part of a file in which a code is looked for."""


@dataclass(frozen=True)
class Verified:
    """What was found of one paper, one pack or one code."""

    asked: str
    standing: Standing | None
    """The pack it belongs to; None where nothing of it was given."""
    document: str = ""
    """The file of the pack that it is; '' for the pack as a whole, or where it is none."""
    same: bool = False
    """Whether it is exactly what was given."""
    differs: tuple[Difference, ...] = ()
    findings: tuple[Finding, ...] = ()
    rebuilt: Rebuilt | None = None
    approved_by: tuple[str, ...] = ()
    """Who had approved the texts of it on that day."""

    @property
    def holds(self) -> bool:
        """Whether nothing at all is wrong."""
        again = self.rebuilt is None or self.rebuilt.holds
        return self.standing is not None and self.same and not self.findings and again


def verify(clinic: Path, asked: str, *, again: bool = True) -> Verified:
    """Look at a file, at the folder of a given pack, or at a code that somebody typed or scanned.

    `again`: make the pack once more from what was kept. Raises LedgerError where it is none of these.
    """
    path = Path(asked)
    with reading_ledger(clinic) as connection:
        if path.is_dir():
            return _pack(clinic, connection, asked, _entry_in(connection, path), again=again)
        if path.is_file():
            return _paper(clinic, connection, path, again=again)
        return _code(clinic, connection, asked, again=again)


# --- a code -----------------------------------------------------------------------------------------


def _code(clinic: Path, connection: Connection, asked: str, *, again: bool) -> Verified:
    code = read_code(asked)
    if code is None:
        what = "there is no file or folder of this name, and it is no code such as K7QF2-M9XAB-1."
        raise LedgerError(Problem(asked, what, "The code stands at the foot of every paper."))
    given = _given_with(connection, code[0])
    if given is None:
        return Verified(asked, None, findings=(Finding(asked, "nothing was ever given under this code."),))
    return _pack(clinic, connection, asked, given, number=code[1], again=again)


def _given_with(connection: Connection, pack: str) -> Entry | None:
    return next((each for each in entries_with(connection, pack) if each.kind == "given"), None)


# --- a paper ----------------------------------------------------------------------------------------


def _paper(clinic: Path, connection: Connection, path: Path, *, again: bool) -> Verified:
    data = path.read_bytes()
    digest, code = digest_of(data), read_code(_code_in(path, data))
    given = _given_with(connection, code[0]) if code else None
    if given is None:
        given = next(iter(entries_saying(connection, digest)), None)
    if given is None:
        return _scan(connection, path, digest)
    named: Mapping[str, str] = given.more.get("documents", {})
    name = next((name for name, each in named.items() if each == digest), "")
    whole = _pack(clinic, connection, str(path), given, again=again)
    if name:
        return replace(whole, document=name, same=True)
    like = _like(named, path, code[1] if code else 0, given_folder(clinic, given.reference, given.version))
    found = differences(like, path) if like and like.is_file() else ()
    return replace(whole, document=like.name if like else "", same=False, differs=found)


def _code_in(path: Path, data: bytes) -> str:
    """The first code in a file: in its words, or in a part of a Word file."""
    if path.suffix.lower() == ".pdf":
        return next(filter(None, map(in_words, pages_of_any(data))), "")
    if not zipfile.is_zipfile(path):
        return in_words(data[:MOST_READ].decode("utf-8", "replace"))
    try:
        with zipfile.ZipFile(path) as package:
            for part in package.infolist():
                if part.filename.endswith(".xml") and part.file_size <= MOST_READ:
                    text = re.sub(r"<[^>]+>", "", package.read(part).decode("utf-8", "replace"))
                    if found := in_words(text):
                        return found
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, RuntimeError):
        return ""
    return ""


def _like(named: Mapping[str, str], path: Path, number: int, folder: Path) -> Path | None:
    """The given file that a changed one was: by its number on the paper, then by its name."""
    same = [name for name in named if Path(name).suffix == path.suffix.lower()]
    for name in same:
        if number and _number(folder / name) == number:
            return folder / name
    return next((folder / name for name in same if name == path.name), None)


def _number(path: Path) -> int:
    code = read_code(_code_in(path, read(path)))
    return code[1] if code else 0


def _scan(connection: Connection, path: Path, digest: str) -> Verified:
    """A file that is no paper of ours: perhaps the scan of a signed one."""
    entry = next(iter(entries_with_scan(connection, digest)), None)
    if entry is None:
        what = "nothing like this was ever given: it has no code of a given pack, and its digest is unknown."
        return Verified(str(path), None, findings=(Finding(path.name, what),))
    standing = _standing(connection, entry)
    return Verified(str(path), standing, f"the scan of '{entry.kind}' on {entry.day}", True)


# --- a pack -----------------------------------------------------------------------------------------


def _entry_in(connection: Connection, folder: Path) -> Entry:
    """The entry of a given pack's folder, by its receipt or by where it lies."""
    receipt = receipt_in(read(folder / RECEIPT))
    if receipt and (found := _given_with(connection, receipt.entry.code)):
        return found
    for standing in standings(connection):
        if (
            given_folder(folder.parents[2], standing.given.reference, standing.given.version)
            == folder.resolve()
        ):
            return standing.given
    what = "this is not the folder of a pack that was given."
    raise LedgerError(Problem(str(folder), what, f"Those are in {GIVEN}/, by reference and version."))


def _standing(connection: Connection, entry: Entry) -> Standing | None:
    found = standings(connection, reference=entry.reference)
    return next((each for each in found if each.given.version == entry.version), None)


def _pack(
    clinic: Path, connection: Connection, asked: str, given: Entry, *, number: int = 0, again: bool
) -> Verified:
    findings = tuple(findings_of(clinic, given))
    rebuilt = rebuild(clinic, given) if again else None
    folder = given_folder(clinic, given.reference, given.version)
    named: Mapping[str, str] = given.more.get("documents", {})
    name = next((n for n in named if number and _number(folder / n) == number), "")
    standing = _standing(connection, given)
    return Verified(asked, standing, name, not findings, (), findings, rebuilt, _approved_by(clinic, given))


def _approved_by(clinic: Path, given: Entry) -> tuple[str, ...]:
    """Who had approved texts in the language of a pack, as the file of approvals said that was kept."""
    from consentpack.approvals import APPROVALS_FILE, approvals_in  # noqa: PLC0415

    try:
        folder = given_folder(clinic, given.reference, given.version)
        listed = json.loads(fetch(clinic, inputs_in(read(folder / INPUTS)).clinic))
        approvals = approvals_in(fetch(clinic, listed[APPROVALS_FILE]))
    except (ConsentpackError, KeyError, ValueError):
        return ()
    language = str(given.more.get("language"))
    return tuple(dict.fromkeys(f"{a.by}, {a.role}" for a in approvals if a.language == language))
