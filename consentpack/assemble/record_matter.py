"""The few figures that matter most, on the first pages of the record. All of them stand in the annex."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context, cell
from consentpack.assemble.record_alerts import lies_worse
from consentpack.model import Level, RateAnswer
from consentpack.tree import Cell, Node, Table
from consentpack.wording import natural, range_of

FEWEST, MOST = 5, 8
"""Rows: as many as can be kept in mind, and as fit beside the alerts on two pages."""
_OFTEN, _GAINS = 3, 2
"""The most frequent harms and the first gains that are always among them."""


def figures_that_matter(ctx: Context, *, most: int) -> list[Node]:
    """Gains, what is worse than elsewhere, the most frequent harms and those serious ones that were seen."""
    chosen = matter_most(ctx, most=most)
    if not chosen:
        return [ctx.para("No figure can be quoted for this plan: see the annex.")]
    columns = (
        ctx.say("Outcome"),
        ctx.say("In 100 (range)"),
        ctx.say("Counts"),
        ctx.say("From"),
    )
    said = ctx.say("The figures that matter most, as they are printed.")
    return [Table(columns, tuple(_row(ctx, each) for each in chosen), (45, 21, 17, 17), said)]


def matter_most(ctx: Context, *, most: int) -> list[RateAnswer]:
    """At most so many answers with a number, in the order of the annex."""
    told = [each for each in ctx.rates.values() if each.rate or each.seen]
    gains = [each for each in told if each.outcome in ctx.library.benefits]
    harms = [each for each in told if each.outcome in ctx.library.risks]
    often = sorted(harms, key=_share, reverse=True)
    serious = [each for each in harms if _is_serious(ctx, each)]
    ranked: Iterable[RateAnswer] = (
        *gains[:_GAINS],
        *(each for each in harms if _is_worse(ctx, each)),
        *often[:_OFTEN],
        *sorted((each for each in serious if _share(each)), key=_share, reverse=True),
        *serious,
        *often[_OFTEN:],
        *gains[_GAINS:],
    )
    chosen = list(dict.fromkeys(each.outcome for each in ranked))[:most]
    return [each for each in told if each.outcome in chosen]


def _share(answer: RateAnswer) -> float:
    if answer.rate:
        return answer.rate.proportion
    return answer.seen.events / answer.seen.n if answer.seen else 0.0


def _is_serious(ctx: Context, answer: RateAnswer) -> bool:
    return ctx.library.risks[answer.outcome].group == "serious"


def _is_worse(ctx: Context, answer: RateAnswer) -> bool:
    rate, beside = answer.rate, answer.beside
    apart = rate and beside and answer.verdict in ("higher", "lower") and lies_worse(ctx, rate, beside)
    return bool(apart) or any(each.found for each in answer.worse)


def _row(ctx: Context, answer: RateAnswer) -> tuple[Cell, ...]:
    found = answer.rate or answer.seen
    assert found is not None
    counts = f"{ctx.words.number(found.events)} of {ctx.words.number(found.n)}"
    title = ctx.library.outcome(answer.outcome).title
    return cell(title, head=True), cell(_printed(answer)), cell(counts), cell(_from(ctx, answer))


def _printed(answer: RateAnswer) -> str:
    """The figure as the patient reads it, on the same denominator and as wide."""
    rate = answer.rate
    if rate is None:
        return "count only"
    low, high = range_of(rate)
    shown = natural(*rate.ratio)
    number = (
        f"over {shown.number}" if shown.above else f"under {shown.number}" if shown.below else shown.number
    )
    return f"{'none' if not rate.events else number} ({low} to {high})"


def _from(ctx: Context, answer: RateAnswer) -> str:
    """How close the comparison is, in two or three words; the annex has them whole."""
    found = answer.rate or answer.seen
    assert found is not None
    if found.level == "published":
        return ctx.say("published")
    short: dict[Level, str] = {
        "closest": ctx.say("same group"),
        "same-techniques": ctx.say("same steps"),
        "lead-technique": ctx.say("leading step"),
    }
    return short[found.level]
