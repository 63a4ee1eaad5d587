"""The parts of the record about figures: what was quoted, what stood beside it, what was passed over."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.record_alerts import side_by_side
from consentpack.assemble.record_shrunken import shrunken_lines
from consentpack.assemble.record_time import over_time
from consentpack.model import Counts, Level, Rate, RateAnswer, Rejected, Seen
from consentpack.rates import Comparing
from consentpack.rates.reliability import loss_warns
from consentpack.rates.sessions import at_least_once
from consentpack.tree import Cell, Node, Table
from consentpack.wording import frequency_band, percent, percent_range


def record_figures(ctx: Context) -> list[Node]:
    columns = (
        ctx.say("Outcome"),
        ctx.say("Quoted to the patient, with follow-up"),
        ctx.say("Published, beside it"),
    )
    rows = tuple(_figure_row(ctx, answer) for answer in ctx.rates.values())
    said = ctx.say("Each figure with its counts, interval, period, closeness and source.")
    return [Table(columns, rows, (20, 50, 30), said)]


def _figure_row(ctx: Context, answer: RateAnswer) -> tuple[Cell, ...]:
    outcome = ctx.library.outcome(answer.outcome)
    watched = ctx.say("watched {days} days", days=outcome.watch_days)
    name = cell(f"{outcome.title} ({outcome.clinical})", watched, head=True)
    if answer.rate is None:
        said = (*_without_rate(ctx, answer), *shrunken_lines(ctx, answer.outcome))
        return name, cell(*said), cell(*_beside(ctx, answer))
    rate = answer.rate
    pooled = _pooled(ctx, pooled=answer.pooled)
    quoted = [*_rate_lines(ctx, rate), *pooled, *over_time(ctx, rate), *_follow_up(ctx, rate.counts)]
    quoted += [*_more_lines(ctx, answer), *shrunken_lines(ctx, answer.outcome)]
    return name, cell(*quoted), cell(*_beside(ctx, answer))


def _without_rate(ctx: Context, answer: RateAnswer) -> list[str]:
    """What the patient reads where no share is quoted: counts, what a study saw, or that there is none."""
    if other := answer.counted_in or answer.at_least:
        return [ctx.say("No number: the patient is pointed to {outcome}.", outcome=other)]
    if answer.seen is None:
        return [ctx.say("No reliable figure."), *_told(ctx, answer)]
    return [*_seen_lines(ctx, answer.seen, pooled=answer.pooled), *_told(ctx, answer)]


def _seen_lines(ctx: Context, seen: Seen, *, pooled: bool) -> list[str]:
    figure = f"{ctx.words.number(seen.events)} of {ctx.words.number(seen.n)} treatments"
    low, high = 100 * seen.interval.low, 100 * seen.interval.high
    said = ctx.say("Told as counts, not as a share: {figure}", figure=figure)
    period = f"{ctx.words.day(seen.first)} – {ctx.words.day(seen.last)}"
    lines = [
        f"{said} (95% interval {low:.1f} to {high:.1f}%)",
        f"{_closeness(ctx, seen.level)}; {period}. {ctx.say('Source: own audit, per treatment session')}.",
    ]
    return [*lines, *_pooled(ctx, pooled=pooled), *over_time(ctx, seen), *_follow_up(ctx, seen.counts)]


def _pooled(ctx: Context, *, pooled: bool) -> list[str]:
    return [ctx.say("None in a closer group, so it was counted as widely as is fair")] if pooled else []


def _told(ctx: Context, answer: RateAnswer) -> list[str]:
    """What patients read instead of a rate, with its source."""
    told = answer.told
    if told is None:
        return []
    share = f"{told.percent:.3g}% of {told.unit}"
    figure = share if told.n is None else f"{told.events} of {told.n} {told.unit}"
    said = ctx.say("Told as what a study saw, not as a rate: {figure}", figure=figure)
    return [said, f"{told.source}: in {told.who}; {told.follow_up}. {told.caveat}."]


def _beside(ctx: Context, answer: RateAnswer) -> list[str]:
    """The published figure, and how the clinic's own stands to it."""
    if answer.beside is None:
        return ["–"]
    if answer.rate is None:
        return _rate_lines(ctx, answer.beside)
    said = {
        "higher": ctx.say("The clinic’s own is higher (two-sided exact test, difference and ratio, 5%)"),
        "lower": ctx.say("The clinic’s own is lower (two-sided exact test, difference and ratio, 5%)"),
        "mixed": ctx.say("The methods disagree, so neither is called better"),
        "agrees": ctx.say("They agree to within 5 in 100"),
        "cannot tell": ctx.say("Too few to tell them apart; that is not agreement"),
    }
    lines = [*_rate_lines(ctx, answer.beside), said[answer.verdict or "cannot tell"]]
    own, other = answer.rate, answer.beside
    return [*lines, side_by_side(*own.tested, other.events, other.n)]


def _more_lines(ctx: Context, answer: RateAnswer) -> list[str]:
    """Course of sessions, steps together, and what a step that may become necessary changes."""
    rate, lines = answer.rate, []
    assert rate is not None
    if ctx.plan.sessions > 1 and rate.level != "published" and rate.events:
        over = at_least_once(rate.proportion, ctx.plan.sessions)
        lines.append(
            ctx.say(
                "At least once over {sessions} sessions: {chance:.0%}, if one session has nothing to "
                "do with the next",
                sessions=ctx.plan.sessions,
                chance=over,
            )
        )
    if answer.bounds:
        parts = ", ".join(f"{id} {percent(part)}" for id, part in answer.bounds.parts)
        low, high = answer.bounds.low, answer.bounds.high
        lines.append(
            ctx.say("All steps: from {low:.1%} to {high:.1%} ({parts})", low=low, high=high, parts=parts)
        )
    for needed in answer.if_needed:
        of = f"{needed.rate.events} of {needed.rate.n}"
        share = percent(needed.rate)
        lines.append(ctx.say("If {id} is needed: {of}, {share}", id=needed.technique, of=of, share=share))
    return lines


def _rate_lines(ctx: Context, rate: Rate) -> list[str]:
    of = f"{ctx.words.number(rate.events)} of {ctx.words.number(rate.n)} {rate.unit}"
    figure = f"{of}: {percent(rate)} (95% interval {percent_range(rate)})"
    if band := frequency_band(*rate.ratio):
        figure += ctx.say("; EU frequency band: {band}", band=band)
    closeness = _closeness(ctx, rate.level)
    if rate.level == "published":
        where = f"{rate.source}: in {rate.who}; {rate.follow_up}. {rate.caveat}."
        return [figure, f"{closeness}. {where}"]
    period = f"{ctx.words.day(rate.first)} – {ctx.words.day(rate.last)}" if rate.first and rate.last else ""
    return [figure, f"{closeness}; {period}. {ctx.say('Source: own audit, per treatment session')}."]


def _follow_up(ctx: Context, counts: Counts | None) -> list[str]:
    if not counts or counts.completeness is None:
        return []
    due = f"{counts.due_watched} of {counts.due} ({counts.completeness:.0%})"
    lines = [ctx.say("Followed up: {due} of the due treatments", due=due)]
    if counts.person_time is not None:
        lines[0] += ctx.say("; Clark’s C {share:.0%}", share=counts.person_time)
    if loss_warns(counts) and counts.best_and_worst:
        best, worst = counts.best_and_worst
        lines.append(
            ctx.say("If none or all of the lost had it: {best:.0%} to {worst:.0%}", best=best, worst=worst)
        )
    return lines


def _closeness(ctx: Context, level: Level) -> str:
    return {
        "closest": ctx.say("Same techniques together, same group of places and people"),
        "same-techniques": ctx.say("Same techniques together, any place and person"),
        "lead-technique": ctx.say("The leading technique, in any combination"),
        "published": ctx.say("Published figure"),
    }[level]


def record_beside(ctx: Context) -> list[Node]:
    """Newer beside established: difference per 100, and the ratio, which is for the record only."""
    if not ctx.beside:
        return [ctx.para("No newer technique has figures that can be set beside the established one’s.")]
    columns = (
        ctx.say("Outcome"),
        ctx.say("Newer"),
        ctx.say("Established"),
        ctx.say("Difference in every 100 (95% interval, Newcombe)"),
        ctx.say("Ratio (95%)"),
    )
    rows = tuple(_beside_row(ctx, each) for each in ctx.beside)
    said = ctx.say("Newer and established techniques side by side.")
    return [Table(columns, rows, (22, 18, 18, 24, 18), said)]


def _beside_row(ctx: Context, each: Comparing) -> tuple[Cell, ...]:
    first, second, found = each.first_counts, each.second_counts, each.difference()
    ratio = each.ratio()
    shown = f"{ratio[0]:.2f} ({ratio[1].low:.2f} to {ratio[1].high:.2f})" if ratio else "–"
    spread = f"{100 * found.value:+.0f} ({100 * found.low:+.0f} to {100 * found.high:+.0f})"
    return (
        cell(ctx.library.outcome(each.outcome).title, head=True),
        cell(f"{each.first}: {first.events} of {first.watched}"),
        cell(f"{each.second}: {second.events} of {second.watched}"),
        cell(spread),
        cell(shown, *([disagree] if (disagree := each.disagreement()) else [])),
    )


def record_rejected(ctx: Context) -> list[Node]:
    rows = []
    for answer in ctx.rates.values():
        if answer.rejected:
            lines = (_rejected_line(ctx, item) for item in answer.rejected)
            title = ctx.library.outcome(answer.outcome).title
            rows.append((cell(title, head=True), cell(*lines)))
    if not rows:
        return [ctx.para("Every figure is from the closest comparison.")]
    columns = (ctx.say("Outcome"), ctx.say("Comparison, and why it was not quoted"))
    said = ctx.say("Closer comparisons that could not be used.")
    return [Table(columns, tuple(rows), (25, 75), said)]


def _rejected_line(ctx: Context, item: Rejected) -> str:
    return f"{_closeness(ctx, item.level)}: {item.why}."
