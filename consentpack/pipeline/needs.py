"""What in a clinic needs somebody: each with whatever it is about, which is where it is mended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

NOW, SOON, ORDER = 0, 1, 2
"""Papers or figures may be wrong now; somebody waits, or soon will; to be kept in order."""
HEADINGS: Mapping[int, tuple[str, str]] = {
    NOW: ("Now", "Papers or figures may be wrong until this is mended."),
    SOON: ("Soon", "Somebody waits for this, or soon will."),
    ORDER: ("To keep in order", ""),
}
"""How urgent it is -> its heading, and what that means."""
MOST_SHOWN = 7
"""Of each group but the first, before the rest is folded: a longer list is read by nobody (common practice,
no source). What is urgent is never folded."""
About = Literal["text", "texts", "plan", "rates", "audit", "due", "approvals", "language", "backup"]
"""What it may be about, what matters most first: a text that is wrong is in every paper."""


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
    """The worst first, then by what it is about; what is about one kind of thing stands together."""
    return tuple(sorted(needs, key=lambda need: (need.urgency, _ABOUT.index(need.about), need.id)))


_ABOUT = get_args(About)


@dataclass(frozen=True)
class Group:
    """What is as urgent."""

    heading: str
    hint: str
    shown: tuple[Need, ...]
    folded: tuple[Need, ...]
    """The rest, which somebody has to ask for."""


def grouped(needs: Iterable[Need]) -> tuple[Group, ...]:
    """What needs somebody by how urgent it is, in order; groups with nothing in them are left out."""
    found, groups = in_order(needs), []
    for urgency, words in HEADINGS.items():
        mine = tuple(need for need in found if need.urgency == urgency)
        most = len(mine) if urgency == NOW else MOST_SHOWN
        if mine:
            groups.append(Group(*words, mine[:most], mine[most:]))
    return tuple(groups)
