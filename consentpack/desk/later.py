"""What takes long is counted beside the pages, once for each state of what it is counted from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Event, Lock, Thread
from typing import Generic, TypeVar

T = TypeVar("T")


@dataclass
class _Run(Generic[T]):
    done: Event = field(default_factory=Event)
    seen: object = None
    """What it was counted from."""
    found: T | None = None
    failed: Exception | None = None


class Later(Generic[T]):
    """The last result, or the one that is being made."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._run: _Run[T] | None = None

    def get(self, seen: Callable[[], object], make: Callable[[], T], *, wait: float) -> T | None:
        """What `make` gives, if it is there within `wait` seconds; else None: ask again later.

        It is made anew when `seen` gives another value than it gave before. Raises what `make` raised.
        """
        run = self._current(seen, make)
        if not run.done.wait(wait):
            return None
        if run.failed:
            raise run.failed
        return run.found

    def _current(self, seen: Callable[[], object], make: Callable[[], T]) -> _Run[T]:
        with self._lock:
            run = self._run
            if run is None or (run.done.is_set() and (run.failed or run.seen != seen())):
                run = self._run = _Run[T]()
                # a desk that is stopped must not wait for it
                Thread(target=_made, args=(run, seen, make), daemon=True).start()
            return run


def _made(run: _Run[T], seen: Callable[[], object], make: Callable[[], T]) -> None:
    """What is changed meanwhile shows when it is asked for: it was seen before."""
    try:
        run.seen = seen()
        run.found = make()
    except Exception as error:  # it is raised again where somebody asks
        run.failed = error
    finally:
        run.done.set()
