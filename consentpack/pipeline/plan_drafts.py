"""Plans that are not finished: kept as they were typed, so that a reload or a stop loses nothing.

They lie in plans/.drafts, where no command takes them for a plan, and a backup takes them along.
"""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from consentpack.errors import PlanError, Problem
from consentpack.files import digest_of, make_parent, write_file
from consentpack.locks import locked

DRAFTS = Path("plans") / ".drafts"
_NAME = re.compile(r"(?:new|plan)-[0-9a-f]{12}")


@dataclass(frozen=True)
class PlanDraft:
    """What was typed of a plan."""

    answers: dict[str, str]
    file: str = ""
    """The name of the plan file it changes; '' for a new plan."""
    made_from: str = ""
    """The digest of that file when the change began."""
    was: dict[str, str] = field(default_factory=dict)
    """The answers that stood in it then, to tell what somebody else has changed since."""

    def as_json(self) -> str:
        return json.dumps(vars(self), indent=1, ensure_ascii=False, sort_keys=True) + "\n"

    @property
    def digest(self) -> str:
        return digest_of(self.as_json().encode())


@dataclass(frozen=True)
class Unfinished:
    """A draft in the list of them."""

    name: str
    reference: str
    file: str
    kept: datetime


def new_draft_name() -> str:
    return f"new-{secrets.token_hex(6)}"


def draft_name_of(file: Path) -> str:
    """The name of the draft in which a plan file is changed: one for each file, in whatever window."""
    return f"plan-{digest_of(file.name.encode())[:12]}"


def keep_draft(folder: Path, name: str, draft: PlanDraft, *, seen: str) -> PlanDraft | None:
    """Keep a draft, if what is kept is still what was `seen` (its digest; '' for none).

    Otherwise the draft that somebody has kept in the meantime, with nothing written.
    """
    path = _path(folder, name)
    with locked(folder):
        there = draft_of(folder, name)
        if there is not None and there.digest not in (seen, draft.digest):
            return there
        make_parent(path.parent)
        write_file(path, draft.as_json())
    return None


def draft_of(folder: Path, name: str) -> PlanDraft | None:
    """The draft of a name; None where there is none, or nobody can read it any more."""
    try:
        found = json.loads(_path(folder, name).read_bytes())
        texts = {key: _texts(found[key]) for key in ("answers", "was")}
        return PlanDraft(file=str(found["file"]), made_from=str(found["made_from"]), **texts)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def drop_draft(folder: Path, name: str) -> None:
    """Take a draft away, once it is a plan or nobody wants it."""
    with locked(folder):
        _path(folder, name).unlink(missing_ok=True)


def unfinished(folder: Path) -> list[Unfinished]:
    """All drafts, the newest first."""
    found = []
    for path in (folder / DRAFTS).glob("*.json"):
        draft = draft_of(folder, path.stem) if _NAME.fullmatch(path.stem) else None
        if draft is not None:
            kept = datetime.fromtimestamp(path.stat().st_mtime, UTC)
            found.append(Unfinished(path.stem, draft.answers.get("reference", ""), draft.file, kept))
    return sorted(found, key=lambda each: each.kept, reverse=True)


def _texts(found: Any) -> dict[str, str]:
    return {str(key): str(value) for key, value in found.items()}


def _path(folder: Path, name: str) -> Path:
    if not _NAME.fullmatch(name):
        raise PlanError(
            Problem(name, "there is no draft of this name.", "The list of patients has them all.")
        )
    return folder / DRAFTS / f"{name}.json"
