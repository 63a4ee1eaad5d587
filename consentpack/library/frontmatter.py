"""One content file: TOML between `+++` lines, then Markdown. Reads syntax only, knows no kinds."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from consentpack.errors import Problem, unread
from consentpack.strict import TomlText, load_toml

_FENCE = "+++"


@dataclass(frozen=True)
class RawFile:
    """A file taken apart, not yet checked against its kind."""

    file: str
    """As a person would find it."""
    front: Mapping[str, Any]
    toml: TomlText
    """The front matter as written, to find lines."""
    body: str
    body_line: int
    """Line number of the body's first line."""
    digest: str


def digest_of(text: str) -> str:
    """SHA-256 of a text, line ends made equal so that a checkout on Windows does not differ."""
    return hashlib.sha256(text.replace("\r\n", "\n").encode()).hexdigest()


def read_text(path: Path, *, file: str) -> tuple[str, list[Problem]]:
    """The text of a file, or '' and the reason."""
    try:
        return path.read_text(encoding="utf-8-sig"), []
    except (UnicodeDecodeError, OSError) as error:
        return "", [unread(file, error)]


def split(text: str, *, file: str) -> tuple[RawFile | None, list[Problem]]:
    """Take one file apart. None, with the reason, when that is not possible."""
    lines = text.splitlines()
    ends = [i for i, line in enumerate(lines) if line.strip() == _FENCE]
    if len(ends) < 2 or ends[0] != 0:
        what = "the file does not begin with front matter."
        fix = "Put TOML between two lines of '+++' at the very top."
        return None, [Problem(f"{file}, line 1", what, fix)]
    front_text = "\n".join(lines[1 : ends[1]])
    front, problems = load_toml(front_text, file=file, first_line=2)
    if problems:
        return None, problems
    body = "\n".join(lines[ends[1] + 1 :])
    toml = TomlText(file, front_text, first_line=2)
    return RawFile(file, front, toml, body, ends[1] + 2, digest_of(text)), []
