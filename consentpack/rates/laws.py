"""How many of some treatments have an outcome by chance: all with one risk, or each with its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from numpy.typing import NDArray

Mix = tuple[tuple[int, float], ...]
"""Numbers of treatments, and the chance of the outcome in each of them."""


class Law(Protocol):
    """The distribution of a count."""

    def at_least(self, events: int) -> float: ...
    def at_most(self, events: int) -> float: ...

    def chance_past(self, tail: float) -> float:
        """The chance of a count so high that it, or more, has a chance under `tail`."""


@dataclass(frozen=True)
class Binomial:
    """All with one risk."""

    n: int
    p: float

    def at_least(self, events: int) -> float:
        from scipy.special import bdtrc  # noqa: PLC0415 - a quarter of a second to import

        return float(bdtrc(events - 1, self.n, self.p))

    def at_most(self, events: int) -> float:
        from scipy.special import bdtr  # noqa: PLC0415

        return float(bdtr(events, self.n, self.p))

    def chance_past(self, tail: float) -> float:
        from scipy.special import bdtrik  # noqa: PLC0415

        if self.p in (0, 1):
            return 0.0
        first = max(0, int(bdtrik(1 - tail, self.n, self.p)) - 1)
        while (found := self.at_least(first)) >= tail:
            first += 1
        return found


def said_chance(chance: float) -> str:
    """A chance in words, never as 0 or 100 in 100: it is neither."""
    if chance < 0.01:
        return "less than 1 in 100"
    return "more than 99 in 100" if chance > 0.99 else f"{100 * chance:.0f} in 100"


_FAR = 12
"""Standard deviations from the mean beyond which no chance is kept; it is under 1e-30."""


@dataclass(frozen=True)
class Sum:
    """Each with its own risk: the sum of binomials that have nothing to do with each other."""

    first: int
    """The lowest count that has a chance to speak of."""
    chances: NDArray[Any]
    """Of each count from there on."""
    mean: float

    def at_least(self, events: int) -> float:
        return float(self.chances[max(0, events - self.first) :].sum())

    def at_most(self, events: int) -> float:
        return float(self.chances[: max(0, events - self.first + 1)].sum())

    def chance_past(self, tail: float) -> float:
        import numpy as np  # noqa: PLC0415 - takes a while to import

        above = np.cumsum(self.chances[::-1])
        under = above[above < tail]
        return float(under[-1]) if under.size else 0.0


def sum_of(mix: Mix) -> Sum:
    """The distribution of the count of events in treatments of several risks."""
    import numpy as np  # noqa: PLC0415
    from scipy.special import gammaln, xlog1py, xlogy  # noqa: PLC0415

    first, chances = 0, np.ones(1)
    for n, p in mix:
        middle, reach = n * p, _FAR * (n * p * (1 - p)) ** 0.5 + _FAR * 3
        low, high = max(0, int(middle - reach)), min(n, int(middle + reach) + 1)
        k = np.arange(low, high + 1)
        ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
        chances = np.convolve(chances, np.exp(ways + xlogy(k, p) + xlog1py(n - k, -p)))
        first += low
    return Sum(first, chances, sum(n * p for n, p in mix))
