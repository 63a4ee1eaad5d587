"""What given packs were made from, kept for good: each content once, under its own digest."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from consentpack.errors import LedgerError, OutputError, Problem
from consentpack.files import (
    FIXES,
    KEPT_FILE,
    add_aside,
    clear,
    digest_of,
    make_parent,
    move_whole,
    put_new,
    to_disk,
)  # fmt: skip

KEPT = "kept"
"""The folder of it in a clinic folder."""
ASIDE = ".aside"
"""In it, and in that of given packs: what is not whole yet. One place, so that strays are found at once."""
_DIGEST = re.compile(r"[0-9a-f]{64}")


def keep(clinic: Path, content: bytes) -> str:
    """Keep a content, unless it is there already; its digest. Raises OutputError."""
    digest = digest_of(content)
    path = path_of(clinic, digest)
    if not path.is_file():
        part = clinic / KEPT / ASIDE / f".{digest}.{os.getpid()}.part"
        add_aside(part, content, shown=path)
        try:
            move_whole(part, path)
        except OSError as error:
            what = f"the file cannot be written ({error.strerror})."
            raise OutputError(Problem(str(path), what, FIXES.get(error.errno or 0, ""))) from None
    return digest


def keep_all(clinic: Path, contents: Iterable[bytes]) -> None:
    """Keep some contents, each as `keep` does; their folders are brought to the disk once for all of them.

    Raises OutputError.
    """
    folders: set[Path] = set()
    path = clinic / KEPT
    try:
        for content in contents:
            digest = digest_of(content)
            path = path_of(clinic, digest)
            if path.is_file():
                continue
            part = clinic / KEPT / ASIDE / f".{digest}.{os.getpid()}.part"
            for folder in (part.parent, path.parent):
                make_parent(folder)
            clear(part)
            put_new(part, content, KEPT_FILE)
            os.rename(part, path)
            folders |= {path.parent, path.parent.parent}
        for folder in folders:
            to_disk(folder)
    except OSError as error:
        what = f"the file cannot be written ({error.strerror})."
        raise OutputError(Problem(str(path), what, FIXES.get(error.errno or 0, ""))) from None


def fetch(clinic: Path, digest: str) -> bytes:
    """What was kept under a digest. Raises LedgerError where it is gone or is something else."""
    if not _DIGEST.fullmatch(digest):  # it would name a file somewhere else
        what = "a given pack names something kept by what is no digest: its list was changed."
        raise LedgerError(Problem(f"{KEPT}/", what, "Bring the pack back from a backup."))
    path = path_of(clinic, digest)
    try:
        content = path.read_bytes()
    except OSError as error:
        what = f"what a given pack was made from cannot be read ({error.strerror})."
        raise LedgerError(Problem(str(path), what, "Bring it back from a backup.")) from None
    if digest_of(content) != digest:
        what = "what a given pack was made from is not what was kept: the file has been changed."
        raise LedgerError(Problem(str(path), what, "Bring it back from a backup."))
    return content


def path_of(clinic: Path, digest: str) -> Path:
    """Where a content is kept."""
    return clinic / KEPT / digest[:2] / digest[2:]
