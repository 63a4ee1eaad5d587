"""What was sent when the desk had locked: kept for the browser that sent it, and offered again.

In memory alone, one for a browser, a few in all, and not for ever. It is offered to whoever unlocks the desk
in the very browser that had sent it: the desk knows browsers, not persons.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

from flask import Request

MOST_BYTES = 256 * 1024
"""Of one that is kept: a long text of the library and room beside it."""
MOST = 8
"""Browsers for which something is kept. The oldest goes for a new one."""
SECONDS = 8 * 60 * 60
"""A working day; then it is gone."""
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True)
class HeldBack:
    """A form that was sent and not taken."""

    address: str
    """With what stands after its '?'."""
    fields: tuple[tuple[str, str], ...]
    files: tuple[str, ...]
    """Names of files that were chosen with it. They are not kept, and have to be chosen again."""
    at: float


@dataclass
class HeldBacks:
    """The last of each browser, by its cookie."""

    clock: Callable[[], float] = time.monotonic
    _kept: dict[str, HeldBack] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def keep(self, cookie: str, request: Request) -> bool:
        """Whether it is a form that could be kept."""
        if (request.content_length or MOST_BYTES + 1) > MOST_BYTES or request.mimetype not in _FORMS:
            return False
        fields = tuple((name, value) for name, value in request.form.items(multi=True))
        files = tuple(each.filename for each in request.files.values() if each.filename)
        address = request.full_path if request.query_string else request.path
        with self._lock:
            self._kept.pop(cookie, None)
            while len(self._kept) >= MOST:
                del self._kept[next(iter(self._kept))]
            self._kept[cookie] = HeldBack(address, fields, files, self.clock())
        return True

    def move(self, old: str, new: str) -> bool:
        """To the cookie that a browser has now; whether there was something."""
        found = self.of(old)
        with self._lock:
            self._kept.pop(old, None)
            if found:
                self._kept[new] = found
        return found is not None

    def of(self, cookie: str) -> HeldBack | None:
        """What is kept for a browser."""
        with self._lock:
            found = self._kept.get(cookie)
            if found and self.clock() - found.at > SECONDS:
                del self._kept[cookie]
                return None
            return found

    def drop(self, cookie: str) -> None:
        with self._lock:
            self._kept.pop(cookie, None)
