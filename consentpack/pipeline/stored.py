"""What given packs were made from, kept for good: each content once, under its own digest."""

from __future__ import annotations

from pathlib import Path

from consentpack.errors import LedgerError, Problem
from consentpack.files import KEPT_FILE, digest_of, make_parent, write_file

KEPT = "kept"
"""The folder of it in a clinic folder."""


def keep(clinic: Path, content: bytes) -> str:
    """Keep a content, unless it is there already; its digest. Raises OutputError."""
    digest = digest_of(content)
    path = _path(clinic, digest)
    if not path.is_file():
        make_parent(path.parent)
        write_file(path, content)
        path.chmod(KEPT_FILE)
    return digest


def fetch(clinic: Path, digest: str) -> bytes:
    """What was kept under a digest. Raises LedgerError where it is gone or is something else."""
    path = _path(clinic, digest)
    try:
        content = path.read_bytes()
    except OSError as error:
        what = f"what a given pack was made from cannot be read ({error.strerror})."
        raise LedgerError(Problem(str(path), what, "Bring it back from a backup.")) from None
    if digest_of(content) != digest:
        what = "what a given pack was made from is not what was kept: the file has been changed."
        raise LedgerError(Problem(str(path), what, "Bring it back from a backup."))
    return content


def _path(clinic: Path, digest: str) -> Path:
    return clinic / KEPT / digest[:2] / digest[2:]
