"""What every command shares at its edge: errors as text and exit code, progress, the clinic."""

from __future__ import annotations

import errno
import functools
import getpass
import json
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from consentpack.cli.fault import command_of, told, write_report
from consentpack.errors import (
    FAULT,
    PIPE_CLOSED,
    STOPPED,
    ClinicError,
    ConsentpackError,
    ConsentRuleError,
    ContentError,
    LengthError,
    OutputError,
    PlanError,
    Problem,
    ReadabilityError,
    RegisterError,
    SuitabilityError,
    TranslationError,
)

if TYPE_CHECKING:
    from consentpack.pipeline import Workplace

_F = TypeVar("_F", bound=Callable[..., Any])


def guarded(command: _F) -> _F:
    """Show a ConsentpackError as its problems, each in its own lines, and exit with its code."""

    @functools.wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except ConsentpackError as error:
            sys.exit(_shown(error))

    return run  # type: ignore[return-value]


def _shown(error: ConsentpackError) -> int:
    for problem in error.problems:
        click.echo(str(problem), err=True)
    if len(error.problems) > 1:
        click.echo(f"{len(error.problems)} problems. Nothing was written.", err=True)
    return error.exit_code


class NobodyReads(Exception):
    """A broken pipe under a name of our own: click would make an exit code of 1 of it."""


class Edge:
    """The last handler of all: whatever happens inside, a clinic sees a sentence and an exit code.

    A traceback may show a line of the audit to whoever stands behind the screen, and tells a clinic
    nothing. What a programmer needs goes to a file, and only when it is asked for.
    """

    def __init__(self, group: click.Group, arguments: Sequence[str]) -> None:
        self._group, self._arguments = group, arguments
        self.report: Path | None = None
        """Where details of a fault go; None for nowhere."""
        self.clinic_dir: Path | None = None
        """The clinic folder that was named before the command."""

    def run(self, call: Callable[[], Any]) -> int:
        """What `call` does, and the exit code of how it went."""
        _print_anything()
        try:
            try:
                return _ended(call())
            except SystemExit as end:
                return _ended(end.code)
            except BaseException as error:
                return self._code_of(error)
        except BrokenPipeError:  # nobody is left to be told why
            return _pipe_closed()
        except OSError as error:  # the message itself could not be written
            with suppress(OSError):
                os.write(2, f"The answer cannot be written ({error.strerror}).\n".encode("ascii", "replace"))
            _leave_quietly()
            return OutputError.exit_code

    def _code_of(self, error: BaseException) -> int:
        """Say what went wrong, by its kind."""
        if isinstance(error, click.exceptions.Exit):
            return error.exit_code
        if isinstance(error, click.ClickException):
            error.show()
            return error.exit_code
        if isinstance(error, KeyboardInterrupt | click.Abort):
            click.echo("Stopped.", err=True)
            return STOPPED
        if isinstance(error, ConsentpackError):
            return _shown(error)
        if isinstance(error, BrokenPipeError | NobodyReads):
            return _pipe_closed()
        if isinstance(error, OSError) and error.errno in _OF_THE_DISK:
            if not error.filename:  # it was the answer itself, and Python would try once more
                _leave_quietly()
            return _shown(OutputError(_disk(error)))
        command = command_of(self._group, self._arguments)
        click.echo(told(error, command, self.report), err=True)
        if self.report:
            _kept(self.report, error, command)
        return FAULT


_OF_THE_DISK = {
    errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.ENOENT,
    errno.ENOTDIR, errno.EISDIR, errno.EEXIST, errno.ENAMETOOLONG, errno.EMFILE, errno.ELOOP, errno.EIO,
    errno.EBUSY, errno.ENOTEMPTY,
}  # fmt: skip
"""Errors of files and disks that a clinic can mend, and no fault of the program."""


def _disk(error: OSError) -> Problem:
    where = str(error.filename) if error.filename else "the answer"
    what = f"this cannot be read or written ({error.strerror})."
    fix = "Look at the room left on the disk, at who may write in the folder, and at what stands there."
    return Problem(where, what, fix)


def _kept(report: Path, error: BaseException, command: str) -> None:
    try:
        write_report(report, error, command)
    except OSError as why:
        click.echo(f"{report}: the report cannot be written ({why.strerror}).", err=True)


def _ended(code: Any) -> int:
    """An exit code, once all that was to be printed has left: a full disk must not end as 'all went well'."""
    sys.stdout.flush()
    if isinstance(code, str):
        click.echo(code, err=True)
    return code if isinstance(code, int) else int(isinstance(code, str))


def _print_anything() -> None:
    """Letters that the terminal does not have are shown by their number; they must not end a command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _pipe_closed() -> int:
    _leave_quietly()
    return PIPE_CLOSED


def _leave_quietly() -> None:
    """Python would try once more to print what is left, and end with a traceback."""
    with suppress(OSError, ValueError):
        out = sys.stdout.fileno()
        os.dup2(os.open(os.devnull, os.O_WRONLY), out)


def progress(message: str) -> None:
    """A stage, on stderr, so that stdout holds only the answer."""
    click.echo(f"… {message}", err=True)


def counted(number: int, one: str, many: str) -> str:
    """A number with its noun: '1 module', '2 modules'."""
    return f"{number} {one if number == 1 else many}"


WORST_FIRST = (
    ContentError, ClinicError, OutputError, RegisterError, PlanError, SuitabilityError, ConsentRuleError,
    TranslationError, ReadabilityError, LengthError,
)  # fmt: skip
"""Of several errors the one whose code a command ends with: first what touches more than one pack, last what
only has to be made easier or shorter."""


def worst(codes: Iterable[int]) -> int:
    """The exit code of the worst of several errors."""
    order = [kind.exit_code for kind in WORST_FIRST]
    return min(codes, key=lambda code: order.index(code) if code in order else -1)


def print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def user_name() -> str:
    """Who is at the computer; a number where the system has no name for it (in a container)."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return f"user {os.getuid()}" if hasattr(os, "getuid") else "unknown user"


def _of_either_place(ctx: click.Context, _param: click.Parameter, here: Path | None) -> Path | None:
    """The clinic folder, named after the command or before it; two different ones are a slip."""
    edge = ctx.find_object(Edge)
    before = edge.clinic_dir if edge else None
    if before and here and before != here:
        raise click.UsageError(f"--clinic is there twice: {before} and {here}.")
    return here or before


clinic_option = click.option(
    "--clinic",
    "clinic_dir",
    type=click.Path(path_type=Path),
    default=None,
    callback=_of_either_place,
    help="The clinic folder. Without it: the one you are in.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for a program.")


by_option = click.option(
    "--by", default=user_name, show_default="your user name", help="Who does this, for the log."
)
today_option = click.option(
    "--today",
    type=click.DateTime(formats=["%Y-%m-%d"]),
    default=lambda: datetime.now().date().isoformat(),
    show_default="today",
    help="Count as of this day.",
)


def start_of(clinic_dir: Path | None) -> Path:
    return clinic_dir or Path.cwd()


def opened(clinic_dir: Path | None) -> Workplace:
    """The clinic folder, without the modules that have a mistake, which are named: what uses none of them
    goes on."""
    from consentpack.pipeline import open_workplace  # noqa: PLC0415 - keeps --help fast

    place = open_workplace(start_of(clinic_dir), whole=False)
    if place.library.set_aside:
        click.echo(f"Set aside, as they have mistakes: {', '.join(place.library.set_aside)}.", err=True)
        click.echo("  All else can be used. `consentpack library check` says more.", err=True)
    return place
