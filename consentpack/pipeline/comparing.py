"""Two texts side by side as one: what was taken out and what was put in, word by word."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

Mark = Literal["", "in", "out"]
_PIECES = re.compile(r"\s+|[^\s]+")
AROUND = 2
"""Lines shown before and after a change: its heading, and the empty line below that."""
MOST_LINES = 3_000
"""Of a text that is compared word by word; a module has some fifty, and time grows with the square."""


@dataclass(frozen=True)
class Words:
    """Words of two texts: of both, or only of the later ('in') or the earlier one ('out')."""

    text: str
    mark: Mark = ""


Row = tuple[Words, ...]
"""One line or some lines that belong together; empty where lines that are the same were left out."""


def compared(before: Sequence[str], now: Sequence[str]) -> tuple[Row, ...]:
    """What was changed between two texts, given as lines, with the lines around it. Empty: nothing."""
    if max(len(before), len(now)) > MOST_LINES:
        return (*_whole(before, "out"), *_whole(now, "in"))
    rows: list[Row] = []
    matcher = SequenceMatcher(None, before, now, autojunk=False)
    for number, group in enumerate(matcher.get_grouped_opcodes(AROUND)):
        rows += [()] if number else []
        for kind, a, b, c, d in group:
            rows += _rows(kind, before[a:b], now[c:d])
    return tuple(rows)


def _rows(kind: str, before: Sequence[str], now: Sequence[str]) -> Iterator[Row]:
    if kind == "equal":
        yield from _whole(now, "")
    elif kind == "replace":
        yield tuple(_by_word("\n".join(before), "\n".join(now)))
    else:
        yield from (*_whole(before, "out"), *_whole(now, "in"))


def _whole(lines: Sequence[str], mark: Mark) -> list[Row]:
    return [(Words(line, mark),) for line in lines]


def _by_word(before: str, now: str) -> Iterator[Words]:
    """Words of both and of one. A space between two changes is part of them: they read as one."""
    one, other = _PIECES.findall(before), _PIECES.findall(now)
    out = put_in = ""
    for kind, a, b, c, d in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        same = "".join(other[c:d]) if kind == "equal" else ""
        if same.strip() or (same and not (out or put_in)):
            yield from _changed(out, put_in)
            out = put_in = ""
            yield Words(same)
        else:
            out, put_in = out + "".join(one[a:b]), put_in + "".join(other[c:d])
    yield from _changed(out, put_in)


def _changed(out: str, put_in: str) -> Iterator[Words]:
    """What was taken out and put in; what both end with in common, such as a space, is in both."""
    end = out[len(out.rstrip()) :] if out and put_in else ""
    if end and put_in.endswith(end):
        out, put_in = out.removesuffix(end), put_in.removesuffix(end)
    else:
        end = ""
    yield from (Words(text, mark) for text, mark in ((out, _OUT), (put_in, _IN), (end, _SAME)) if text)


_OUT: Mark = "out"
_IN: Mark = "in"
_SAME: Mark = ""
