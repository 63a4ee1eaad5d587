"""The very texts that were approved, kept so that what has changed since can be shown.

An approval holds a digest, which says that a text is another one and not what was changed in it: whoever
signs again would have to read all of it again, or sign unread.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from consentpack import shipped
from consentpack.approvals import PHRASES, TABLES, digest_in, in_phrases, in_tables, words_in
from consentpack.catalogues import Catalogue
from consentpack.errors import LedgerError
from consentpack.files import digest_of
from consentpack.model import Approval, Module
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.stored import fetch, keep_all


def keep_approved(place: Workplace, modules: Iterable[Module], catalogue: Catalogue) -> None:
    """Keep what approvals of these modules in a language are bound to. Raises OutputError."""
    texts = ((module, bound_text(place, module, catalogue).encode()) for module in modules)
    # where they differ, the file was changed a moment ago: what is signed is what was read before
    keep_all(
        place.folder, (text for module, text in texts if digest_of(text) == digest_in(module, catalogue))
    )


def bound_text(place: Workplace, module: Module, catalogue: Catalogue) -> str:
    """What an approval of a module in a language is bound to; '' where its file is gone."""
    if module.file == PHRASES:
        return in_phrases(catalogue)
    if module.file.startswith(TABLES):
        return in_tables(place.library, place.clinic).get(module.id, "")
    return written(place, module.file) if catalogue.is_source else words_in(module, catalogue)


def written(place: Workplace, file: str) -> str:
    """The text of a module's file, its line ends made equal; '' where it is gone or is no text."""
    try:
        return path_of(place, file).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return ""


def path_of(place: Workplace, file: str) -> Path:
    """Where a file of the library lies: with the program, or in the clinic folder."""
    below = file.partition("content/")[2]
    return (shipped.content() if file.startswith("content/") else place.folder / "content") / below


def approved_text(place: Workplace, approval: Approval) -> str:
    """The text that was approved; '' where it was not kept and is not that of the program."""
    try:
        return fetch(place.folder, approval.digest).decode()
    except (LedgerError, UnicodeDecodeError):
        ours = written(place, f"content/{approval.module}.md")
        return ours if digest_of(ours.encode()) == approval.digest else ""


def lines_of(bound: str, module: Module, catalogue: Catalogue) -> list[str]:
    """What an approval is bound to, line by line as a person reads it."""
    if module.file.startswith(TABLES):
        held = json.loads(bound) if bound else []
        pairs = held.items() if isinstance(held, dict) else enumerate(held, 1)
        return [f"{name}: {_told(value)}" for name, value in pairs]
    return bound.splitlines() if catalogue.is_source else bound.split("\0")[1:]


def _told(value: object) -> str:
    return " ".join(map(str, value)) if isinstance(value, list) else str(value)
