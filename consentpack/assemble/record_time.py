"""Over what time a figure was counted, and what was seen outside it, for the clinician's record."""

from __future__ import annotations

from collections.abc import Iterator

from consentpack.assemble.context import Context
from consentpack.model import Counts, Estimate, Rate, Seen


def over_time(ctx: Context, told: Rate | Seen) -> list[str]:
    """The lines of the record about time, for a figure or counts of the clinic's own."""
    said = {
        "at least": ctx.say(
            "No day is known for some that were seen: they may have come after the watching time"
        ),
        "some time": ctx.say(
            "Not within a known time: not all were watched to the end, or nobody wrote it down"
        ),
    }
    lines = [said[told.over]] if told.over in said else []
    lines += _by_days(ctx, told.risk) if told.risk else []
    return [*lines, *(_outside(ctx, told.counts) if told.counts else ())]


def _by_days(ctx: Context, risk: Estimate) -> Iterator[str]:
    low, high = 100 * risk.interval.low, 100 * risk.interval.high
    yield ctx.say(
        "By the days it was first noticed: {share:.1f}% by the end of the watching time (95% {low:.1f} to "
        "{high:.1f}%); product limit, {events} seen in {n} watched unequally, as sure as {effective:.0f} "
        "watched to the end",
        share=100 * float(risk.share),
        low=low,
        high=high,
        events=risk.events,
        n=risk.n,
        effective=risk.effective,
    )
    if risk.again:
        yield ctx.say("{again} were treated again first, which ended their watch", again=risk.again)


def _outside(ctx: Context, counts: Counts) -> Iterator[str]:
    """What was seen in treatments that were not, or not yet, watched to the end."""
    if not counts.outside_events:
        return
    values = {"events": counts.outside_events, "n": counts.outside}
    if counts.counted_in:
        yield ctx.say(
            "Counted in: {events} seen in {n} that were not, or not yet, watched to the end; without them "
            "the figure would hide them",
            **values,
        )
    else:
        yield ctx.say(
            "Not counted: {events} seen in {n} that were not, or not yet, watched to the end", **values
        )
