"""A person at the desk: clicks, types and presses keys in a real browser, and counts what that takes.

Times are those of the keystroke-level model (Card, Moran and Newell 1980; from memory): 0.28 s a key for
somebody who types as most people do, 1.1 s to point, 0.2 s to press and let go, 0.4 s to move a hand between
keys and mouse, 1.35 s to think before each step. The machine's own time is added as it is measured.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from desk.at_browser import AtBrowser

KEY, POINT, PRESS, HOME, THINK = 0.28, 1.1, 0.2, 0.4, 1.35


@dataclass
class Hand(AtBrowser):
    actions: list[str] = field(default_factory=list)
    """What was done, one for each thing a person sets out to do."""
    seconds: float = 0.0

    def click(self, css: str) -> None:
        with self._took(f"click {css}", POINT + PRESS + HOME):
            super().click(css)

    def follow(self, words: str) -> None:
        with self._took(f"follow {words}", POINT + PRESS + HOME):
            super().follow(words)

    def type(self, css: str, words: str) -> None:
        """Point at a field, put in some words."""
        with self._took(f"type into {css}", POINT + PRESS + HOME + KEY * len(words)):
            self.find(css).send_keys(words)

    def day(self, css: str, day: Any) -> None:
        """Into a browser's own field for days, in the order in which this one asks."""
        self.type(css, day.strftime("%m%d%Y"))

    @contextmanager
    def _took(self, what: str, seconds: float) -> Iterator[None]:
        begun = time.monotonic()
        yield
        self.seconds += THINK + seconds + time.monotonic() - begun
        self.actions.append(what)
