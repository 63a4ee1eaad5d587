"""What is said of a fault of the program itself, and the report a programmer needs.

Neither holds a word of an exception or of what was typed: an error text may quote a row of the audit,
and an argument may be a patient's reference. Places in the program, kinds of errors and versions are
enough to find a fault.
"""

from __future__ import annotations

import platform
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from consentpack import __version__
from consentpack.errors import FAULT

REPORT_VARIABLE = "CONSENTPACK_FAULT_REPORT"
_PACKAGE = Path(__file__).parents[1]
_FIRST, _LAST = 20, 40
"""Places of a traceback that are kept: a fault that calls itself has thousands."""


def command_of(group: click.Group, arguments: Sequence[str]) -> str:
    """The command without what was given to it: 'consentpack audit import'."""
    words = ["consentpack"]
    here: click.Command | None = group
    for word in arguments:
        if isinstance(here, click.Group) and word in here.list_commands(click.Context(here)):
            words.append(word)
            here = here.get_command(click.Context(here), word)
    return " ".join(words)


def told(error: BaseException, command: str, report: Path | None) -> str:
    """The message for the clinic."""
    kinds: dict[type[BaseException], str] = {
        MemoryError: "The computer has too little memory for it.",
        RecursionError: "Something in a file is set inside itself too often.",
    }
    why = kinds.get(type(error), "This is a fault in the program, and nothing you did wrong.")
    lines = [
        f"{command}: it could not go on. {why}",
        "  It may have stopped half-way: look whether what you asked for is there before you go on.",
    ]
    if report is None:
        again = f"consentpack --fault-report fault.txt {command.partition(' ')[2]}".rstrip()
        lines.append(f"  To report it, run it once more as `{again} …` and send fault.txt to whoever looks")
        lines.append(
            "  after the program for you. The file holds no words of yours and nothing of a patient."
        )
    else:
        lines.append(f"  {report} says where in the program it was, and nothing of a patient. Please send it")
        lines.append("  to whoever looks after the program for you.")
    return "\n".join(lines)


def write_report(path: Path, error: BaseException, command: str) -> None:
    """Where in the program a fault was, with kinds of errors and versions. Raises OSError."""
    lines = [
        f"consentpack {__version__}, Python {platform.python_version()}, {platform.system()}",
        f"command: {command}",
        f"exit code: {FAULT}",
        *_causes(error),
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _causes(error: BaseException) -> Iterator[str]:
    """Each error and what it came from, the last first; an error may come from itself."""
    seen: set[int] = set()
    found: BaseException | None = error
    while found is not None and id(found) not in seen:
        seen.add(id(found))
        yield f"{type(found).__module__}.{type(found).__qualname__}"
        yield from _places(found)
        found = found.__cause__ or found.__context__


def _places(error: BaseException) -> Iterator[str]:
    frames = [(frame.f_code, line) for frame, line in traceback.walk_tb(error.__traceback__)]
    left = len(frames) - _FIRST - _LAST
    kept = frames if left <= 0 else [*frames[:_FIRST], *frames[-_LAST:]]
    for code, line in kept:
        yield f"  {_short(Path(code.co_filename))}, line {line}, in {code.co_name}"
    if left > 0:
        yield f"  … and {left} more between them"


def _short(path: Path) -> str:
    """A program file below the package or its neighbours: the folders above may name a person."""
    for above in (_PACKAGE.parent, *(p for p in path.parents if p.name == "site-packages")):
        if path.is_relative_to(above):
            return path.relative_to(above).as_posix()
    return path.name
