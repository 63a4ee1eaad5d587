"""What in a clinic needs somebody: each with whatever it is about, which is where it is mended."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

NOW, SOON, ORDER = 0, 1, 2
"""Papers or figures may be wrong now; somebody waits, or soon will; to be kept in order."""
About = Literal["text", "texts", "approvals", "plan", "audit", "due", "rates", "language", "backup"]


@dataclass(frozen=True)
class Need:
    """One thing that needs somebody."""

    urgency: int
    """NOW, SOON or ORDER."""
    about: About
    id: str
    """What it is about: 'risks/bruising', a plan's reference, a language; '' for the whole of it."""
    what: str
    """A whole sentence."""


def in_order(needs: Iterable[Need]) -> tuple[Need, ...]:
    """The worst first; what is about one kind of thing stands together."""
    return tuple(sorted(needs, key=lambda need: (need.urgency, need.about, need.id)))
