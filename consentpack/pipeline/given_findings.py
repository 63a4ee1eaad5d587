"""What of a given pack is not as its entry says: its files, what was kept of it, its receipt."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from consentpack.errors import ConsentpackError, unread
from consentpack.ledger import RECEIPT, Entry, receipt_in
from consentpack.manifest import MANIFEST
from consentpack.pipeline.kept_inputs import INPUTS, TOLD, inputs_in
from consentpack.pipeline.ledgers import GIVEN, given_folder
from consentpack.pipeline.stored import fetch

_NAMED = {MANIFEST: "manifest", INPUTS: "inputs", TOLD: "told"}
"""Files of a given pack that the ledger names one by one, beside its documents."""


@dataclass(frozen=True)
class Finding:
    """Something that is not as it was given."""

    where: str
    what: str


@dataclass
class Kept:
    """What is kept in a clinic folder. Each content is read once, however many packs were made from it."""

    clinic: Path
    _wrong: dict[str, tuple[Finding, ...]] = field(default_factory=dict)
    _lists: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def wrong(self, digest: str) -> tuple[Finding, ...]:
        """What is wrong with a content."""
        if digest not in self._wrong:
            self._wrong[digest] = self._looked_at(digest)
        return self._wrong[digest]

    def _looked_at(self, digest: str) -> tuple[Finding, ...]:
        try:
            fetch(self.clinic, digest)
        except ConsentpackError as error:
            return tuple(Finding(inside(self.clinic, each.where), each.what) for each in error.problems)
        return ()

    def listed(self, digest: str) -> tuple[str, ...]:
        """The contents that a kept list names; none where it cannot be read, which `wrong` tells."""
        if digest not in self._lists:
            self._lists[digest] = self._read(digest)
        return self._lists[digest]

    def _read(self, digest: str) -> tuple[str, ...]:
        try:
            return tuple(str(each) for each in json.loads(fetch(self.clinic, digest)).values())
        except (ConsentpackError, ValueError, AttributeError, RecursionError):
            return ()


@dataclass(frozen=True)
class _Said:
    """What an entry says of the files of its pack."""

    given: Entry

    @cached_property
    def named(self) -> Mapping[str, str]:
        """File name -> digest."""
        documents = self.given.more.get("documents", {})
        named = dict(documents) if isinstance(documents, dict) else {}
        named |= {name: self.given.more.get(key, "") for name, key in _NAMED.items()}
        return {name: str(digest) for name, digest in named.items()}


def findings_of(clinic: Path, given: Entry, kept: Kept | None = None) -> Iterator[Finding]:
    """What of a given pack is not as its entry says."""
    folder = given_folder(clinic, given.reference, given.version)
    link = next((each for each in (folder.parent, folder) if each.is_symlink()), None)
    if link:
        yield Finding(shown(link), "it is a link to somewhere else, and no folder of this clinic.")
    if not folder.is_dir():
        yield Finding(shown(folder), "the papers that were given are not here any more.")
        return
    said = _Said(given)
    try:
        yield from _files(folder, said)
    except OSError as error:
        yield Finding(shown(folder), unread("", error).what)
    yield from _kept(kept or Kept(clinic), folder, said)
    yield from _receipt(folder, given)


def _files(folder: Path, said: _Said) -> Iterator[Finding]:
    for name, digest in said.named.items():
        path = folder / name
        if what := _file(path, digest):
            yield Finding(shown(path), what)
    there = {path.name for path in folder.iterdir()}
    for name in sorted(there - set(said.named) - {RECEIPT}):
        yield Finding(shown(folder / name), "it was not given: somebody put it here.")


def _file(path: Path, digest: str) -> str:
    """What is wrong with a given file; '' for nothing."""
    if path.is_symlink():
        return "it is a link: what was given lies somewhere else, or nowhere."
    if not path.is_file():
        return "it was given and is not here any more."
    try:
        with path.open("rb") as stream:
            found = hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        return unread("", error).what
    return "" if found == digest else "it is not as it was given."


def _kept(kept: Kept, folder: Path, said: _Said) -> Iterator[Finding]:
    """Where the list itself is another one, which `_files` has told, nobody knows what was kept."""
    if not _file(folder / INPUTS, said.named[INPUTS]):
        try:
            listed = inputs_in(read(folder / INPUTS))
        except ConsentpackError as error:
            yield from (Finding(shown(folder / INPUTS), each.what) for each in error.problems)
            return
        yield from kept.wrong(listed.plan)
        for each in (listed.clinic, listed.shipped):
            yield from kept.wrong(each)
            for digest in kept.listed(each):
                yield from kept.wrong(digest)
    yield from kept.wrong(str(said.given.more.get("modules", "")))


def _receipt(folder: Path, given: Entry) -> Iterator[Finding]:
    path = folder / RECEIPT
    receipt = receipt_in(read(path))
    if receipt is None:
        yield Finding(shown(path), "the receipt is not here any more, or is not as it was written.")
    elif not receipt.proves:
        yield Finding(shown(path), "the receipt does not prove what it says: it was changed.")
    elif receipt.entry != given:
        what = f"the ledger's entry {receipt.entry.number} is not the one this receipt was made for."
        yield Finding(shown(path), what)


def read(path: Path) -> bytes:
    """A file's bytes; none where it cannot be read."""
    try:
        return path.read_bytes() if path.is_file() and not path.is_symlink() else b""
    except OSError:
        return b""


def shown(path: Path) -> str:
    """A given file as people look for it: given/HS-P-101/1/form.docx."""
    parts = path.parts
    return "/".join(parts[_last(parts, GIVEN) :]) if GIVEN in parts else path.name


def _last(parts: tuple[str, ...], name: str) -> int:
    return len(parts) - 1 - parts[::-1].index(name)


def inside(clinic: Path, where: str) -> str:
    """A path as it is named within the clinic folder."""
    return where.removeprefix(f"{clinic}/")
