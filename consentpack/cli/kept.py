"""Saying what was done, after it was done: when that fails, the work must not look undone."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from consentpack.errors import KeptError, Problem


@contextmanager
def kept(what: str, shown_by: str = "consentpack audit history") -> Iterator[None]:
    """Around a report. Raises KeptError when nobody can be told: `what` is done all the same."""
    try:
        yield
        sys.stdout.flush()
    except OSError as error:
        _silence()
        told = f"{what}, but that cannot be shown here ({error.strerror})."
        raise KeptError(Problem("register", told, f"Do not do it again: `{shown_by}` shows it.")) from None


def _silence() -> None:
    """Python would fail once more at the end, for what is still to be written."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return
