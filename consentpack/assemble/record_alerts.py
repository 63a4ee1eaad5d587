"""What the clinician is told of the figures before the talk: what is worse, and what is no share."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context
from consentpack.model import Rate, RateAnswer, Worse
from consentpack.rates.compare import difference, disagreement, ratio
from consentpack.wording import percent


def figure_notes(ctx: Context) -> Iterable[str]:
    """Notes on the figures of a plan, the worst first."""
    for notes in (_worse_notes, _counts_notes, _beside_notes):
        for answer in ctx.rates.values():
            yield from notes(ctx, answer)


def side_by_side(events_a: int, n_a: int, events_b: int, n_b: int) -> str:
    """Difference and ratio of two groups with their 95% intervals, and whether the methods disagree."""
    four = events_a, n_a, events_b, n_b
    apart, times = difference(*four), ratio(*four)
    said = (
        f"{100 * apart.value:+.0f} in every 100 ({100 * apart.low:+.0f} to {100 * apart.high:+.0f}, Newcombe)"
    )
    if times:
        said += f"; ratio {times[0]:.2f} ({times[1].low:.2f} to {times[1].high:.2f}, Katz)"
    apart_by = disagreement(*four)
    return f"{said}; {apart_by}" if apart_by else said


def _worse_notes(ctx: Context, answer: RateAnswer) -> Iterable[str]:
    """The closest own group that is worse than what is printed, else than any wider one."""
    worse = [each for each in answer.worse if each.found]
    found = next((each for each in worse if each.printed), next(iter(worse), None))
    if found is None:
        return
    counts = found.counts
    yield ctx.say(
        "{outcome}: your closer group ({events} of {n}, {level}) is worse than {than} ({others}) by an exact "
        "test: {apart}. {told}",
        outcome=ctx.library.outcome(answer.outcome).title,
        events=counts.events,
        n=counts.watched,
        level=found.level,
        than=_than(ctx, found),
        others=f"{found.others[0]} of {found.others[1]}",
        apart=side_by_side(counts.events, counts.watched, *found.others),
        told=ctx.say("The patient is told.") if found.printed else ctx.say("The patient is not told."),
    )


def _than(ctx: Context, found: Worse) -> str:
    if found.than == "published":
        return ctx.say("the published figure")
    return ctx.say("the others of the wider group, {level}", level=found.than)


def _counts_notes(ctx: Context, answer: RateAnswer) -> Iterable[str]:
    """That the patient reads counts, because they are too open for a share."""
    if answer.seen:
        yield ctx.say(
            "{outcome}: the patient reads your count, {events} of {n}, and no share of 100: {why}.",
            outcome=ctx.library.outcome(answer.outcome).title,
            events=answer.seen.events,
            n=answer.seen.n,
            why=answer.seen.why,
        )


def _beside_notes(ctx: Context, answer: RateAnswer) -> Iterable[str]:
    """An own figure that is worse than the published one, also where only some methods say so."""
    rate, beside = answer.rate, answer.beside
    if not rate or not beside or not lies_worse(ctx, rate, beside):
        return
    values = {
        "outcome": ctx.library.outcome(answer.outcome).title,
        "own": percent(rate),
        "published": percent(beside),
        "verdict": "higher" if rate.proportion > beside.proportion else "lower",
    }
    if answer.verdict in ("higher", "lower"):
        said = "{outcome}: your figure ({own}) is {verdict} than the published one ({published})."
        yield ctx.say(said, **values)
    elif answer.verdict == "mixed":
        said = (
            "{outcome}: your figure ({own}) may be {verdict} than the published one ({published}); the "
            "methods disagree: {apart}."
        )
        apart = side_by_side(*rate.tested, beside.events, beside.n)
        yield ctx.say(said, apart=apart, **values)


def lies_worse(ctx: Context, rate: Rate, beside: Rate) -> bool:
    """Whether an own figure lies on the bad side of another: more of a harm, less of a gain."""
    more = rate.proportion > beside.proportion
    return rate.proportion != beside.proportion and more == (rate.outcome in ctx.library.risks)
