"""What of all a clinic's figures stands out: what somebody should look at first. No ranking of people."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, field

from consentpack.model import WatchRules
from consentpack.rates.cusum import Signal
from consentpack.rates.funnel import ALARM, Luck, Place, luck
from consentpack.rates.survey import Funnel, Line
from consentpack.rates.watching import ByChance, Unwatched, Watched, by_chance

Key = tuple[str, str, str]
"""Technique, outcome, and where it is drawn: 'figure', 'time', 'operator' or 'site'."""


@dataclass(frozen=True)
class Sheet:
    """All figures of a clinic on one day."""

    lines: list[Line]
    funnels: list[Funnel] = field(default_factory=list)
    watched: list[Watched] = field(default_factory=list)
    without: list[Unwatched] = field(default_factory=list)
    rules: WatchRules | None = None
    """None when the clinic has not said by which rules it watches; then nothing is watched over time."""
    harms: Container[str] = ()
    """Outcomes of which more is worse."""

    @property
    def share(self) -> float:
        """The limits beyond which a group stands out."""
        return self.rules.share if self.rules else ALARM

    @property
    def luck(self) -> Luck:
        return luck((place for funnel in self.funnels for place in funnel.places), self.share)

    @property
    def false_signals(self) -> ByChance | None:
        return by_chance(self.watched, self.rules.run_length) if self.rules else None

    def signals(self) -> list[tuple[Watched, Signal]]:
        """The last signal of each line, the newest first."""
        last = [(each, each.signals[-1]) for each in self.watched if each.signals]
        return sorted(last, key=lambda pair: pair[1].day, reverse=True)

    def above(self) -> list[tuple[Funnel, Place]]:
        """Groups in which a harm is seen more than in all together, in the order of the library."""
        return [(f, p) for f in self.funnels for p in f.places if p.above(self.share)]

    def below(self) -> list[tuple[Funnel, Place]]:
        """Groups in which it is seen less: well done, or not written down."""
        return [(f, p) for f in self.funnels for p in f.places if p.below(self.share)]

    def worse(self) -> list[Line]:
        """Own figures that are worse than the published ones."""
        return [line for line in self.lines if line.verdict == self._bad(line)]

    def _bad(self, line: Line) -> str:
        return "higher" if line.outcome in self.harms else "lower"

    def standing_out(self) -> frozenset[Key]:
        """Where something stands out."""
        found = {(each.technique, each.outcome, "time") for each, _ in self.signals()}
        found |= {(f.technique, f.outcome, f.grouping) for f, _ in (*self.above(), *self.below())}
        return frozenset(found | {(line.technique, line.outcome, "figure") for line in self.worse()})
