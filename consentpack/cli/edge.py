"""What every command shares at its edge: errors as text and exit code, progress, the clinic."""

from __future__ import annotations

import functools
import getpass
import json
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from consentpack.errors import ConsentpackError

_F = TypeVar("_F", bound=Callable[..., Any])


def guarded(command: _F) -> _F:
    """Show a ConsentpackError as its problems, each in its own lines, and exit with its code."""

    @functools.wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except ConsentpackError as error:
            for problem in error.problems:
                click.echo(str(problem), err=True)
            if len(error.problems) > 1:
                click.echo(f"{len(error.problems)} problems. Nothing was written.", err=True)
            sys.exit(error.exit_code)

    return run  # type: ignore[return-value]


def progress(message: str) -> None:
    """A stage, on stderr, so that stdout holds only the answer."""
    click.echo(f"… {message}", err=True)


def counted(number: int, one: str, many: str) -> str:
    """A number with its noun: '1 module', '2 modules'."""
    return f"{number} {one if number == 1 else many}"


def print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


clinic_option = click.option(
    "--clinic",
    "clinic_dir",
    type=click.Path(path_type=Path),
    default=None,
    help="The clinic folder. Without it: the one you are in.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for a program.")


by_option = click.option(
    "--by", default=getpass.getuser, show_default="your user name", help="Who does this, for the log."
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
