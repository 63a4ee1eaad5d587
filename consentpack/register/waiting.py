"""Saying that one waits, and what else a register has to tell while it is opened.

A person who sees nothing for a minute ends the program, or starts it a second time.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

BUSY_SECONDS = 60
"""How long one waits for another to finish before one gives up."""
NOTICE_SECONDS = 1.5
"""How long one waits in silence."""

Tell = Callable[[str], None]


def _on_stderr(message: str) -> None:
    print(f"… {message}", file=sys.stderr, flush=True)


_listeners: list[Tell] = [_on_stderr]


def tell(message: str) -> None:
    """Say something that is no answer and no error."""
    _listeners[-1](message)


@contextmanager
def told_to(listener: Tell) -> Iterator[None]:
    """Have `listener` told instead of stderr."""
    _listeners.append(listener)
    try:
        yield
    finally:
        _listeners.remove(listener)


@contextmanager
def noticing() -> Iterator[None]:
    """While something waits for the database: say so if it takes long."""
    message = f"waiting: another program is using the register (for up to {BUSY_SECONDS} seconds)"
    timer = threading.Timer(NOTICE_SECONDS, tell, [message])
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
