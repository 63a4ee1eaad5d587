"""What the marks of a cloze test say: how many words were right, with intervals; before and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import mean, stdev

from consentpack.model import Interval
from consentpack.rates.intervals import wilson
from consentpack.reader_test.marks import Sheet

ALONE, WITH_HELP = 60, 40
"""Words in 100 that are right: from 60 one reads a text alone, from 40 with help, below that it is too hard
(Doak, Doak and Root 1996; from memory). Bormuth (1968) put the lines at 57 and 44."""
FEW_READERS = 10
"""With fewer, the interval says more than the mean (our own choice)."""
HARDEST = 10
CONFIDENCE = 0.975


@dataclass(frozen=True)
class Counted:
    """What the readers of one text got right."""

    text: str
    readers: int
    gaps: int
    shares: tuple[float, ...]
    """Words in 100 that each reader got right."""
    mean: float
    interval: tuple[float, float] | None
    """Where the mean of all such readers lies, 95%, by Student's t; None for a single reader."""
    alone: int
    with_help: int
    too_hard: int
    alone_share: Interval
    """Of readers who read it alone: Wilson's interval."""
    hardest: tuple[tuple[int, str, int], ...]
    """Gaps that the fewest got right: number, word, how many did."""

    @property
    def few(self) -> bool:
        return self.readers < FEW_READERS


@dataclass(frozen=True)
class Difference:
    """The second text's mean less the first's, with a 95% interval."""

    first: str
    second: str
    value: float
    low: float
    high: float

    @property
    def verdict(self) -> str:
        if self.low > 0:
            return f"readers did better with {self.second}"
        return f"readers did worse with {self.second}" if self.high < 0 else "no difference was shown"


def count(sheet: Sheet) -> Counted | None:
    """The results of one text; None when nobody read it."""
    if not sheet.readers:
        return None
    shares = tuple(100 * sum(reader.right) / len(reader.right) for reader in sheet.readers)
    alone = sum(share >= ALONE for share in shares)
    too_hard = sum(share < WITH_HELP for share in shares)
    right = [sum(reader.right[i] for reader in sheet.readers) for i in range(len(sheet.words))]
    hardest = sorted(zip(range(1, len(right) + 1), sheet.words, right, strict=True), key=lambda each: each[2])
    return Counted(
        sheet.text,
        len(shares),
        len(sheet.words),
        shares,
        mean(shares),
        _interval(shares),
        alone,
        len(shares) - alone - too_hard,
        too_hard,
        wilson(alone, len(shares)),
        tuple(hardest[:HARDEST]),
    )


def _interval(shares: Sequence[float]) -> tuple[float, float] | None:
    if len(shares) < 2:
        return None
    half = _t(len(shares) - 1) * stdev(shares) / sqrt(len(shares))
    return max(0.0, mean(shares) - half), min(100.0, mean(shares) + half)


def difference(first: Counted, second: Counted) -> Difference | None:
    """Between two groups who read one text each (Welch 1947, Biometrika 34:28: spreads may differ).

    None where a group has fewer than two readers.
    """
    if min(first.readers, second.readers) < 2:
        return None
    a, b = (stdev(each.shares) ** 2 / each.readers for each in (first, second))
    value = second.mean - first.mean
    if a + b == 0:
        return Difference(first.text, second.text, value, value, value)
    freedom = (a + b) ** 2 / (a**2 / (first.readers - 1) + b**2 / (second.readers - 1))
    half = _t(freedom) * sqrt(a + b)
    return Difference(first.text, second.text, value, value - half, value + half)


def _t(freedom: float) -> float:
    """The 97.5% point of Student's t."""
    from scipy.special import stdtrit  # noqa: PLC0415 - slow to load

    return float(stdtrit(freedom, CONFIDENCE))
