"""One base for what patients read together: a gain and its opposite, a whole and its parts.

Such figures come from one comparison, or nobody can reconcile them: 67 in 100 of 46 treatments had the
gain, 20 in 100 of 166 had not as hoped. Our own reasoning; no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain

from consentpack.library import Library
from consentpack.model import Counts, Match
from consentpack.rates.counted import rest
from consentpack.rates.counting import Base, Counting
from consentpack.rates.reliability import FEWEST, followed_up, quotable
from consentpack.rates.worse import is_worse
from consentpack.register import Comparison


def bases(counting: Counting, wanted: Sequence[Match]) -> list[Base]:
    """The outcomes of a plan that are read together, of those that the register holds something of."""
    _count_all(counting, wanted)
    found = [_of_gains(counting, wanted), *_of_rows(counting, wanted)]
    return [base for base in found if base and len(base.outcomes) > 1]


def _count_all(counting: Counting, wanted: Sequence[Match]) -> None:
    """Count what may be read together in every comparison, and all outcomes in the closest, each
    comparison in one pass: with a large register each pass takes long."""
    together = {match.id for match in (*_gains(counting, wanted), *chain(*_rows(counting, wanted)))}
    asked: dict[Comparison, list[str]] = {}
    for match in wanted:
        for rung, (_, comparison) in enumerate(counting.ladder(match.techniques[:1])):
            if rung == 0 or match.id in together:
                asked.setdefault(comparison, []).append(match.id)
    for comparison, outcomes in asked.items():
        counting.count(comparison, outcomes)


def parts_among(library: Library, outcomes: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """(part, whole) of outcomes of which one is a kind of another."""
    there = set(outcomes)
    pairs = ((id, library.risks[id].part_of) for id in outcomes if id in library.risks)
    return tuple((part, whole) for part, whole in pairs if whole in there)


def place(counting: Counting, base: Base) -> int | None:
    """The rung from which all of a base are told: the closest of which all may be quoted, else the
    closest with enough treatments for all of them, else the widest where none of them could be quoted by
    itself either. None where there is none."""
    watched = [[counting.counts(id, each) for id in base.outcomes] for each in base.rungs(counting)]
    for good in (lambda each: quotable(each).ok, _enough):
        for at, counts in enumerate(watched):
            if all(map(good, counts)):
                return at
    widest = len(watched) - 1
    thin = all(each.due_watched for each in watched[widest]) and not _any_alone(counting, base)
    return widest if thin else None


def _any_alone(counting: Counting, base: Base) -> bool:
    plain = [each for _, each in counting.ladder(base.leads)]
    return any(quotable(counting.counts(id, each)).ok for id in base.outcomes for each in plain)


def without_thinnest(counting: Counting, base: Base) -> tuple[Base, str]:
    """A base without the outcome that the fewest treatments of its widest comparison were watched for."""
    widest = _plain(counting, base)
    thin = min(base.outcomes, key=lambda id: counting.counts(id, widest).watched)
    left = tuple(id for id in base.outcomes if id != thin)
    joint = tuple(id for id in base.joint if id != thin)
    return replace(base, outcomes=left, joint=joint, parts=parts_among(counting.library, left)), thin


def _enough(counts: Counts) -> bool:
    return counts.watched >= FEWEST and followed_up(counts).ok


def _plain(counting: Counting, base: Base) -> Comparison:
    """The widest comparison, in which each outcome is counted by itself."""
    return counting.ladder(base.leads)[-1][1]


def _gains(counting: Counting, wanted: Sequence[Match]) -> list[Match]:
    """The gains of what treats, and that it may not work; none where one of the two is lacking."""
    library = counting.library
    treating = [m for m in wanted if m.techniques[0] in library.treating and not m.only_if_needed]
    opposite = [m for m in treating if m.id in library.field.may_not_work]
    gains = [m for m in treating if m.id in library.benefits]
    return [*opposite, *gains] if gains and opposite else []


def _of_gains(counting: Counting, wanted: Sequence[Match]) -> Base | None:
    """Gains and their opposite, among treatments in which all are known."""
    base = _held(counting, _gains(counting, wanted))
    kinds = {id in counting.library.benefits for id in base.outcomes}
    if len(kinds) < len((True, False)):  # nobody wrote down one of the two
        return None
    joint = replace(base, joint=base.outcomes, gains=True)
    return joint if _fair(counting, joint) else replace(base, gains=True)


def _fair(counting: Counting, base: Base) -> bool:
    """Whether none of a base did worse in the treatments that are left out because another is not known."""
    widest, alone = base.rungs(counting)[-1], _plain(counting, base)
    for id in base.outcomes:
        kept, every = counting.counts(id, widest), counting.counts(id, alone)
        events, n = rest(every, kept)
        if n > 0 and events >= 0 and kept.watched:
            left_out = replace(every, events=events, watched=n)
            if is_worse(left_out, (kept.events, kept.watched), harm=id in counting.library.risks):
                return False
    return True


def _of_rows(counting: Counting, wanted: Sequence[Match]) -> Iterator[Base]:
    """Outcomes told in one row, and wholes with their parts."""
    for group in _rows(counting, wanted):
        base = _held(counting, group)
        yield replace(base, parts=parts_among(counting.library, base.outcomes))


def _rows(counting: Counting, wanted: Sequence[Match]) -> list[list[Match]]:
    library = counting.library
    groups: dict[str, list[Match]] = {}
    there = {m.id for m in wanted}
    for match in wanted:
        if match.id in library.risks and match.id not in library.field.may_not_work:
            groups.setdefault(_head(library, match.id, there), []).append(match)
    return [group for group in groups.values() if len(group) > 1]


def _head(library: Library, id: str, there: set[str]) -> str:
    """The outcome at the head of those that one is read together with."""
    seen = {id}
    while True:
        risk = library.risks[id]
        above = next((each for each in (risk.part_of, risk.told_with) if each in there - seen), "")
        if not above:
            return id
        seen.add(above)
        id = above


def _held(counting: Counting, group: Sequence[Match]) -> Base:
    """A base of those outcomes of which somebody has written something down."""
    if not group:
        return Base((), ())
    leads = tuple(dict.fromkeys(match.techniques[0] for match in group))
    widest = counting.ladder(leads)[-1][1]
    counting.count(widest, [match.id for match in group])
    held = [match for match in group if counting.counts(match.id, widest).watched]
    leads = tuple(dict.fromkeys(match.techniques[0] for match in held))
    return Base(tuple(match.id for match in held), leads)
