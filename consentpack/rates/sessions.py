"""One figure for each session, and what it means over a course of them."""

from __future__ import annotations


def at_least_once(share: float, sessions: int) -> float:
    """The chance of an outcome in at least one of several sessions, when each has the chance `share` and
    one session has nothing to do with the next.

    That last is hardly ever quite true of one person's body; whoever prints it must say so.
    """
    return 1 - (1 - share) ** sessions
