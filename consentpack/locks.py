"""The one lock of a clinic folder: two commands never write in it at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from consentpack.errors import OutputError, Problem
from consentpack.files import FIXES, PRIVATE_FILE

WAIT_SECONDS = 60
"""How long a command waits for another that writes in the same clinic folder."""
SAY_AFTER_SECONDS = 2
LOCK = ".consentpack.lock"


def _on_stderr(message: str) -> None:
    print(f"… {message}", file=sys.stderr)


@contextmanager
def locked(folder: Path, *, say: Callable[[str], None] = _on_stderr) -> Iterator[None]:
    """Hold the lock of a clinic folder; not to be asked for again by who holds it.

    The system gives it back when a process is killed. `say` is told when somebody has to wait. Raises
    OutputError when it cannot be had.
    """
    from filelock import FileLock, Timeout  # noqa: PLC0415 - only commands that write need it

    lock = FileLock(folder / LOCK, mode=PRIVATE_FILE)
    try:
        try:
            lock.acquire(timeout=SAY_AFTER_SECONDS)
        except Timeout:
            say(f"waiting: another consentpack is writing in {folder}")
            lock.acquire(timeout=WAIT_SECONDS - SAY_AFTER_SECONDS)
    except Timeout:
        what = f"another consentpack has been writing here for {WAIT_SECONDS} seconds. Nothing was written."
        fix = "Wait until it is done, or end it, then do this again."
        raise OutputError(Problem(str(folder), what, fix)) from None
    except OSError as error:
        what = f"the folder cannot be written ({error.strerror})."
        raise OutputError(Problem(str(folder), what, FIXES.get(error.errno or 0, ""))) from None
    try:
        yield
    finally:
        lock.release()
