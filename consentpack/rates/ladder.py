"""The ladder of comparisons: the closest reliable figure is the one that is quoted.

Same techniques together at the same site and skin group; same techniques together; the leading
technique in any combination; a published figure; none. Each rung that is passed over leaves its
reason.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from consentpack.library import Library
from consentpack.model import (
    Clinic,
    Counts,
    Level,
    Match,
    Matches,
    Plan,
    Rate,
    RateAnswer,
    Rejected,
)
from consentpack.rates.intervals import wilson
from consentpack.rates.published import is_worse, published_rate
from consentpack.rates.reliability import quotable
from consentpack.register import Comparison, Tally, Window

OWN = "own audit"
_TREATING = ("release", "adjunct")

AuditSource = Callable[[Comparison, Window, Mapping[str, int]], Tally]
"""Gives the counts of one comparison; the register behind it stays out of sight."""


@dataclass
class _Ladder:
    plan: Plan
    library: Library
    clinic: Clinic
    audit: AuditSource | None
    watch_days: Mapping[str, int]
    tallies: dict[Comparison, Tally] = field(default_factory=dict)

    def tally(self, comparison: Comparison) -> Tally:
        """The counts of a comparison, asked for once."""
        if comparison not in self.tallies:
            assert self.audit is not None
            window = window_of(self.plan.prepared, self.clinic.window_months)
            self.tallies[comparison] = self.audit(comparison, window, self.watch_days)
        return self.tallies[comparison]


def window_of(day: date, months: int) -> Window:
    """The period that ends on `day` and begins `months` earlier."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    last_of_month = monthrange(year, month + 1)[1]
    return Window(date(year, month + 1, min(day.day, last_of_month)), day)


def answer_all(
    plan: Plan, library: Library, clinic: Clinic, matches: Matches, audit: AuditSource | None
) -> dict[str, RateAnswer]:
    """What is known of each matched risk and benefit: outcome id -> answer.

    `audit` is None when nothing has been imported yet.
    """
    wanted = (*matches.risks, *matches.benefits)
    watch_days = {match.id: library.outcome(match.id).watch_days for match in wanted}
    ladder = _Ladder(plan, library, clinic, audit, watch_days)
    return {match.id: _answer(ladder, match) for match in wanted}


def _answer(ladder: _Ladder, match: Match) -> RateAnswer:
    rejected: list[Rejected] = []
    own = _own(ladder, match, rejected)
    harm = match.id in ladder.library.risks
    printed = published_rate(
        ladder.library.published,
        outcome=match.id,
        techniques=match.techniques,
        factors=ladder.plan.factors,
        harm=harm,
    )
    technique = match.techniques[0]
    if own:
        rate, warnings = own
        return RateAnswer(match.id, technique, rate, tuple(rejected), printed, None, warnings)
    worse = _worse(rejected, printed, harm=harm)
    if not printed:
        rejected.append(Rejected("published", "no published figure that may be quoted"))
    return RateAnswer(match.id, technique, printed, tuple(rejected), None, worse)


def _own(ladder: _Ladder, match: Match, rejected: list[Rejected]) -> tuple[Rate, tuple[str, ...]] | None:
    if ladder.audit is None:
        rejected.append(Rejected("same-techniques", "no audit has been imported"))
        return None
    for level, comparison in comparisons(ladder.plan, ladder.library, ladder.clinic, match):
        tally = ladder.tally(comparison)
        counts = tally.counts[match.id]
        verdict = quotable(counts)
        if verdict.ok:
            rate = _rate(match, level, tally, counts, ladder)
            return rate, (verdict.warning,) if verdict.warning else ()
        rejected.append(Rejected(level, verdict.why, counts))
    return None


def comparisons(plan: Plan, library: Library, clinic: Clinic, match: Match) -> list[tuple[Level, Comparison]]:
    """The own comparisons for an outcome, from the closest to the most distant.

    What an anaesthetic brings is compared by anaesthetic, what a release or adjunct brings by those:
    bruising after a release should not be split by the way the area was numbed.
    """
    lead = match.techniques[0]
    kinds = ("anaesthetic",) if library.techniques[lead].kind == "anaesthetic" else _TREATING
    scope = frozenset(library.ids_of_kind(*kinds))
    planned = plan.planned if lead in plan.planned else (*plan.planned, lead)
    together = frozenset(planned) & scope
    found: list[tuple[Level, Comparison]] = []
    sites = _group(plan.site, clinic.site_groups)
    skin = _group(plan.skin_type, clinic.skin_groups)
    found.append(("same-site-and-skin", Comparison(together, scope, sites, skin)))
    found.append(("same-techniques", Comparison(together, scope)))
    found.append(("lead-technique", Comparison(frozenset({lead}), frozenset({lead}))))
    return found


def _group(member: str, groups: Mapping[str, str]) -> tuple[str, ...]:
    """All members of the group something is in; itself alone when it is in none."""
    name = groups.get(member)
    return tuple(sorted(m for m, g in groups.items() if g == name)) if name else (member,)


def _rate(match: Match, level: Level, tally: Tally, counts: Counts, ladder: _Ladder) -> Rate:
    return Rate(
        outcome=match.id,
        events=counts.events,
        n=counts.watched,
        interval=wilson(counts.events, counts.watched),
        level=level,
        unit="treatments",
        who="",
        source=OWN,
        first=tally.first,
        last=tally.last,
        follow_up=f"{ladder.watch_days[match.id]} days",
        counts=counts,
    )


def _worse(rejected: Iterable[Rejected], printed: Rate | None, *, harm: bool) -> Rejected | None:
    """The widest thin own figure that is worse than the printed one. Only harms can be worse."""
    if not printed or not harm:
        return None
    thin = [item for item in rejected if item.counts and is_worse(item.counts, printed)]
    return max(thin, key=lambda item: item.counts.watched if item.counts else 0, default=None)
