"""Counting for one plan: which treatments are compared, and the figure they give."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from consentpack.library import Library
from consentpack.model import Clinic, Counts, Estimate, Level, Match, Over, Plan, Rate, Rejected
from consentpack.rates.intervals import wilson
from consentpack.rates.outside import told_counts
from consentpack.rates.over_time import estimate
from consentpack.rates.reliability import quotable
from consentpack.register import Comparison, Tally, Window

OWN = "own audit"
OWN_RUNGS = 3
"""Own comparisons from close to distant; `Counting.comparisons` gives one for each."""

AuditSource = Callable[[Comparison, Window, Mapping[str, int]], Tally]
"""Gives the counts of one comparison; the register behind it stays out of sight."""


def window_of(day: date, months: int) -> Window:
    """The period that ends on `day` and begins `months` earlier."""
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    last_of_month = monthrange(year, month + 1)[1]
    return Window(date(year, month + 1, min(day.day, last_of_month)), day)


@dataclass(frozen=True)
class Base:
    """Outcomes that patients read together, and how they are counted together."""

    outcomes: tuple[str, ...]
    leads: tuple[str, ...]
    """The techniques that bring them: the widest comparison is of treatments with all of these."""
    joint: tuple[str, ...] = ()
    """Those that only treatments count for in which all of them are known."""
    parts: tuple[tuple[str, str], ...] = ()
    """(part, whole) among them."""
    gains: bool = False
    """Whether they are gains and their opposite: no share of one then stands beside another's base."""

    def of(self, plain: Comparison) -> Comparison:
        """A comparison in which the outcomes are counted together."""
        return replace(plain, joint=self.joint, parts=self.parts)

    def rungs(self, counting: Counting) -> list[Comparison]:
        """The comparisons of all of them from close to distant."""
        return [self.of(plain) for _, plain in counting.ladder(self.leads)]


@dataclass
class Counting:
    """The audit as one plan looks at it."""

    plan: Plan
    library: Library
    clinic: Clinic
    audit: AuditSource | None
    """None when nothing has been imported yet."""
    watch_days: Mapping[str, int]
    bases: dict[str, Base] = field(default_factory=dict)
    """Outcome -> those it is read together with, which are counted in the same comparisons."""
    _known: dict[tuple[Comparison, str], tuple[Tally, Counts]] = field(default_factory=dict)

    def count(self, comparison: Comparison, outcomes: Iterable[str]) -> None:
        """Count some outcomes of a comparison in one pass, those that are not counted yet."""
        in_parts = (outcome for pair in comparison.parts for outcome in pair)
        wanted = dict.fromkeys((*outcomes, *comparison.joint, *in_parts))
        new = {o: self.watch_days[o] for o in wanted if (comparison, o) not in self._known}
        if new and (comparison.joint or comparison.parts):
            new = {o: self.watch_days[o] for o in wanted}  # conditions on one another: all in one pass
        if new:
            assert self.audit is not None
            window = window_of(self.plan.prepared, self.clinic.window_months)
            tally = self.audit(comparison, window, new)
            counts = told_counts(tally, self.library, new, comparison.parts)
            self._known |= {(comparison, o): (tally, counts[o]) for o in new}

    def figure(self, outcome: str, level: Level, comparison: Comparison) -> Rate | Rejected:
        """The figure of a comparison, or why it may not be quoted."""
        tally, counts = self.known(outcome, comparison)
        verdict = quotable(counts)
        if not verdict.ok:
            return Rejected(level, verdict.why, counts)
        return own_rate(tally, outcome, level, days=self.watch_days[outcome], counts=counts)

    def known(self, outcome: str, comparison: Comparison) -> tuple[Tally, Counts]:
        """The tally of a comparison and an outcome's counts in it; counted now if they were not yet."""
        self.count(comparison, (outcome,))
        return self._known[comparison, outcome]

    def counts(self, outcome: str, comparison: Comparison) -> Counts:
        return self.known(outcome, comparison)[1]

    def without(self, match: Match) -> tuple[str, ...]:
        """What the closest comparison was made without, as notes for the record."""
        strata = self.library.field.strata
        notes = [
            f"compared without {s.title}: the plan does not say it"
            for s in strata.values()
            if not self.plan.strata.get(s.id)
        ]
        tally, _ = self._known[self.comparisons(match)[0][1], match.id]
        titles = (strata[id].title if id in strata else id for id in tally.without)
        return (*notes, *(f"compared without {title}: the register holds none" for title in titles))

    def scope_of(self, technique: str) -> frozenset[str]:
        """The techniques that matter when this one is compared.

        What an anaesthetic brings is compared by anaesthetic, what a treatment brings by
        treatments: bruising after a release should not be split by the way the area was numbed.
        """
        library = self.library
        return frozenset(library.anaesthetics if technique in library.anaesthetics else library.treating)

    def together(self, lead: str) -> frozenset[str]:
        """The planned techniques that are compared together with a leading one, and itself."""
        return frozenset((*self.plan.planned, lead)) & self.scope_of(lead)

    def comparisons(self, match: Match) -> list[tuple[Level, Comparison]]:
        """The own comparisons for an outcome, from the closest to the most distant: the same ones for all
        outcomes that are read together."""
        base = self.bases.get(match.id)
        if base is None:
            return self.ladder(match.techniques[:1])
        return [(level, base.of(each)) for level, each in self.ladder(base.leads)]

    def ladder(self, leads: Sequence[str]) -> list[tuple[Level, Comparison]]:
        """The own comparisons by the techniques that bring the outcomes, from close to distant."""
        scope = frozenset().union(*map(self.scope_of, leads))
        together = frozenset((*self.plan.planned, *leads)) & scope
        sites = _group(self.plan.site, self.clinic.site_groups)
        groups = self.clinic.stratum_groups
        patient = self.plan.strata.items()
        strata = tuple((id, _group(value, groups.get(id, {}))) for id, value in patient if value)
        return [
            ("closest", Comparison(together, scope, sites, strata)),
            ("same-techniques", Comparison(together, scope)),
            ("lead-technique", Comparison(frozenset(leads), frozenset(leads))),
        ]


def own_rate(tally: Tally, outcome: str, level: Level, *, days: int, counts: Counts | None = None) -> Rate:
    """The figure of an outcome in a tally. Raises ValueError when nothing was watched.

    `days` is the outcome's watching time; `counts` are those that are told, where they are not the
    tally's own.
    """
    counts = counts or tally.counts[outcome]
    risk = None if counts.counted_in else estimate(counts.curve)
    return Rate(
        outcome=outcome,
        events=risk.events if risk else counts.events,
        n=risk.n if risk else counts.watched,
        interval=risk.interval if risk else wilson(counts.events, counts.watched),
        level=level,
        unit="treatments",
        who="",
        source=OWN,
        first=tally.first,
        last=tally.last,
        follow_up=f"{days} days",
        counts=counts,
        over=over(tally, counts, risk),
        risk=risk,
    )


def over(tally: Tally, counts: Counts, risk: Estimate | None = None) -> Over:
    """Over what time counts were made. Without days an event may be of long after the watching time."""
    if not tally.timed or counts.counted_in:
        return "some time"
    if risk:
        return "up to" if risk.n > risk.events + risk.to_the_end else "watching time"
    return "at least" if counts.events and not counts.curve else "watching time"


def without(technique: str, other: str) -> Comparison:
    """Every treatment that used a technique and not the other: two such groups share no treatment."""
    return Comparison(frozenset({technique}), frozenset({technique, other}))


def alone(technique: str) -> Comparison:
    """Every treatment that used a technique, whatever else was done."""
    return Comparison(frozenset({technique}), frozenset({technique}))


def _group(member: str, groups: Mapping[str, str]) -> tuple[str, ...]:
    """All members of the group something is in; itself alone when it is in none."""
    name = groups.get(member)
    return tuple(sorted(m for m, g in groups.items() if g == name)) if name else (member,)
