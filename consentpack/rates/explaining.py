"""What people could say of what they were told, counted as outcomes are: with an interval, a rule for too
few, a drift watch, and before and after a text was changed.

What is counted as understood is what was said at once. What was said only after we explained again shows that
the paper and the first talk did not do it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from consentpack.model import Interval, Verdict, WatchRules
from consentpack.rates.compare import verdict
from consentpack.rates.intervals import wilson
from consentpack.rates.reliability import FEWEST, reliable
from consentpack.rates.watching import Followed, followed
from consentpack.register import TalkTold

GOAL = 0.80
"""Share that a text is to reach: what people got right with a test and feedback (Kesänen 2016, 21.6 of 27;
second hand), where those without had 57%."""
_SAID, _AGAIN = 2, 1

GROUPS: dict[str, Callable[[TalkTold], tuple[str, ...]]] = {
    "question": lambda told: (told.question,),
    "module": lambda told: (told.module, told.question),
    "language": lambda told: (told.language,),
    "clinician": lambda told: (told.clinician,),
}
"""How marks may be grouped -> the group of one mark. One text may be asked about in more than one way."""


@dataclass(frozen=True)
class Understood:
    """The marks of one group."""

    group: tuple[str, ...]
    said: int
    again: int
    not_yet: int
    sentence: str
    """The answer as it was when it was asked last."""

    @property
    def n(self) -> int:
        return self.said + self.again + self.not_yet

    @property
    def share(self) -> float:
        """Of those who were asked, those who said it at once."""
        return self.said / self.n

    @property
    def interval(self) -> Interval:
        return wilson(self.said, self.n)

    @property
    def why_not(self) -> str:
        """Why it may not be quoted, by the rule for all our figures; '' where it may."""
        if self.n < FEWEST:
            return f"too few to say: at least {FEWEST} are needed"
        return "" if reliable(self.said, self.n).ok else "too open to say"

    @property
    def below_goal(self) -> bool:
        """Whether so few said it that the text is to be looked at."""
        return not self.why_not and self.share < GOAL


def counted(told: Iterable[TalkTold], group: Callable[[TalkTold], tuple[str, ...]]) -> list[Understood]:
    """The marks of each group, in the order of the names; `told` in the order of days."""
    found: dict[tuple[str, ...], list[TalkTold]] = {}
    for each in told:
        found.setdefault(group(each), []).append(each)
    return [_understood(name, marks) for name, marks in sorted(found.items())]


def _understood(group: tuple[str, ...], marks: Sequence[TalkTold]) -> Understood:
    said, again = (sum(each.mark == mark for each in marks) for mark in (_SAID, _AGAIN))
    return Understood(group, said, again, len(marks) - said - again, marks[-1].sentence)


@dataclass(frozen=True)
class Changed:
    """One text before and after it was changed."""

    module: str
    question: str
    since: date
    """The first day on which the new text was asked about."""
    before: Understood
    after: Understood

    @property
    def verdict(self) -> Verdict:
        """What may be said of after beside before: 'lower' where fewer understand."""
        return verdict(self.after.said, self.after.n, self.before.said, self.before.n)

    @property
    def fell(self) -> bool:
        return self.verdict == "lower"


def changes(told: Iterable[TalkTold]) -> list[Changed]:
    """Each text that was asked about before and after its last change; `told` in the order of days."""
    found: dict[tuple[str, ...], list[TalkTold]] = {}
    for each in told:
        found.setdefault(GROUPS["module"](each), []).append(each)
    made = (_changed(group, marks) for group, marks in sorted(found.items()))
    return [each for each in made if each]


def _changed(group: tuple[str, ...], marks: Sequence[TalkTold]) -> Changed | None:
    now = marks[-1].digest
    older = [each for each in marks if each.digest != now]
    if not older:
        return None
    before = [each for each in older if each.digest == older[-1].digest]
    after = [each for each in marks if each.digest == now]
    module, question = group
    return Changed(module, question, after[0].day, _understood(group, before), _understood(group, after))


@dataclass(frozen=True)
class Drift:
    """One text over time: how many could not say it at once."""

    module: str
    question: str
    found: Followed


def drifts(told: Iterable[TalkTold], rules: WatchRules) -> tuple[list[Drift], list[str]]:
    """Each text over time by the clinic's rules for outcomes; those that have no baseline by name."""
    import numpy as np  # noqa: PLC0415 - takes a while to import

    series: dict[tuple[str, ...], list[TalkTold]] = {}
    for each in told:
        series.setdefault(GROUPS["module"](each), []).append(each)
    watched: list[Drift] = []
    without: list[str] = []
    for (module, question), marks in sorted(series.items()):
        days = np.array([each.day.toordinal() for each in marks], np.int64)
        missed = np.array([each.mark < _SAID for each in marks], bool)
        found = followed(days, missed, np.zeros(len(marks), np.int64), 1, rules)
        if isinstance(found, str):
            without.append(f"{module}, {question}")
        else:
            watched.append(Drift(module, question, found))
    return watched, without
