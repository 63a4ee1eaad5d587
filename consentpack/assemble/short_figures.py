"""Figures in a few words, for the form: a number out of 100 and how far the true one may lie. The booklet
says each of them in whole sentences, with where it was counted and for how long.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from consentpack.assemble.context import Context, cell
from consentpack.assemble.figures import figure_cell, if_needed_too, pictographs, says_something
from consentpack.assemble.group_titles import group_titles
from consentpack.assemble.layers import FORM
from consentpack.catalogues import N_
from consentpack.match import GROUPS
from consentpack.model import Rate, RateAnswer, Seen
from consentpack.rates.counting import OWN
from consentpack.talk_back import outcome
from consentpack.tree import STUDIED, Cell, Content, Items, Node, Panel, Paragraph, Run, text_of
from consentpack.wording import OUT_OF, cannot_tell, in_sentence, natural, range_of

PICTURES = 6
"""Pictures of a group: one row of them, the most frequent. The others have their figure in words below."""
STUDY = "*"
"""Marks a figure that is not from the clinic's own patients."""


def told_short(ctx: Context, answer: RateAnswer, *, ranged: bool = True) -> str:
    """One outcome's figure inside a line: '67 in 100 (52 to 80)'; the range only where it is `ranged`."""
    number = answer.rate or answer.seen
    if number is None:
        return _study_count(ctx, answer) or ctx.say("no reliable figure")
    said = f"{_number(ctx, number)}{_mark(number)}"
    return f"{said} {_range(ctx, number)}" if ranged else said


def short_figure(ctx: Context, answer: RateAnswer) -> list[Paragraph]:
    """One outcome's figure in a cell, with the closer group that is worse, and the study beside a zero."""
    lines = [Paragraph((Run(told_short(ctx, answer), strong=True),), scored=False)]
    lines += _worse(ctx, answer)
    beside = answer.beside
    if beside and (answer.seen or (answer.rate and not answer.rate.events)):
        said = ctx.say("In a study: {figure}", figure=_number(ctx, beside))
        lines.append(Paragraph((Run(said),), STUDIED, scored=False))
    return lines


def figure_in_short(ctx: Context, *ids: str) -> Cell:
    """The figure of an outcome, and of those told in its row, as the form has them, each with its picture.

    In whom, for how long and how many nobody looked at stands in the paper behind. Where a number would
    mislead, what is said instead is said here too.
    """
    found: list[Content] = []
    for id in [id for id in ids if says_something(ctx.rates[id])] or ids[:1]:
        answer = ctx.rates[id]
        if len(ids) > 1:
            found.append(Paragraph(ctx.title(ctx.library.outcome(id), strong=True)))
        if _told_only_in_words(answer):
            found += figure_cell(ctx, id).content
            continue
        found += short_figure(ctx, answer)
        found += [*pictographs(ctx, answer.rate), *if_needed_too(ctx, answer)] if answer.rate else []
    return Cell(tuple(found))


def _told_only_in_words(answer: RateAnswer) -> bool:
    """Whether it has no number, and points elsewhere or tells of a study that gives no counts."""
    if answer.rate or answer.seen:
        return False
    uncounted = answer.told is not None and (answer.told.events is None or answer.told.n is None)
    return bool(answer.counted_in or answer.at_least) or uncounted


def none_is_not_never(ctx: Context, ids: Iterable[str]) -> list[str]:
    """Once for some figures in short, of which one is none or lacks."""
    numbers = [ctx.rates[id].rate or ctx.rates[id].seen for id in ids]
    if all(number and number.events for number in numbers):
        return []
    return [ctx.say("No figure, or none seen, does not mean that it cannot happen.")]


def _study_count(ctx: Context, answer: RateAnswer) -> str:
    """What a study saw in too few to be a rate."""
    told = answer.told
    if told is None or told.events is None or told.n is None:
        return ""
    return (
        ctx.say("{number} of {of}", number=ctx.words.number(told.events), of=ctx.words.number(told.n)) + STUDY
    )


def _number(ctx: Context, number: Rate | Seen) -> str:
    """'67 in 100', 'under 1 in 100', 'none in 168', '8 of 234'."""
    say, words = ctx.say, ctx.words
    if number.events == 0:
        return say("none in {of}", of=words.number(number.n))
    if isinstance(number, Seen) or number.events == number.n:
        return say("{number} of {of}", number=words.number(number.events), of=words.number(number.n))
    shown = natural(*number.ratio)
    values = {"number": words.number(shown.number), "of": words.number(OUT_OF)}
    if shown.below:
        return say("under {number} in {of}", **values)
    if shown.above:
        return say("over {number} in {of}", **values)
    return say("{number} in {of}", **values)


def _range(ctx: Context, number: Rate | Seen) -> str:
    """Where the true number most likely lies, out of 100; or that too few were looked at to tell."""
    if isinstance(number, Seen) and cannot_tell(number):
        return _too_few(ctx, number)
    low, high = range_of(number)
    values = {"low": ctx.words.number(low), "high": ctx.words.number(high)}
    if low == 0 and isinstance(number, Rate) and number.events:
        return ctx.say("(up to {high})", **values)
    if number.events == 0 or low == 0:
        return ctx.say("(up to {high} in {of})", **values, of=ctx.words.number(OUT_OF))
    if isinstance(number, Seen) or number.events == number.n:
        return ctx.say("({low} to {high} in {of})", **values, of=ctx.words.number(OUT_OF))
    return ctx.say("({low} to {high})", **values)


def _too_few(ctx: Context, seen: Seen) -> str:
    """Why the counts cannot tell: of how many more nobody knows, or that there are too few."""
    if not seen.unknown:
        return ctx.say("(too few to tell)")
    return ctx.catalogue.phrases("({number} more not known)", "({number} more not known)", seen.unknown)


def _mark(number: Rate | Seen) -> str:
    return STUDY if isinstance(number, Rate) and number.source != OWN else ""


def figures_panel(ctx: Context) -> list[Node]:
    """Every figure out of 100 as a picture, sorted, in groups; what is no picture as a line below."""
    moved = ctx.moved(FORM)
    groups = [(title, [id for id in ids if id not in moved]) for title, ids in figure_groups(ctx)]
    pictured = {title: [id for id in ids if _drawn(ctx, id)][:PICTURES] for title, ids in groups}
    drawn = tuple((title, tuple(_picture(ctx, id) for id in ids)) for title, ids in pictured.items() if ids)
    drawn_ids = [id for ids in pictured.values() for id in ids]
    lines = [id for title, ids in groups for id in ids if id not in pictured[title]]
    found: list[Node] = []
    if drawn:
        found = [how_to_read(ctx), Panel(drawn, ctx.say("Figures as pictures of 100 marks."))]
    found += [Items(worse)] if (worse := tuple(_closer_is_worse(ctx, drawn_ids))) else []
    if lines:
        found.append(ctx.para("Seen less often, or in too few for a picture:", strong=True))
        found.append(Items(tuple(_in_words(ctx, id) for id in lines)))
    gone = [id for _, ids in figure_groups(ctx) for id in ids if id in moved]
    if gone:
        names = [in_sentence(ctx.title_text(ctx.library.outcome(id))) for id in gone]
        found.append(named(ctx, ctx.say("What may also happen, with its figure in the booklet"), names))
    return [*found, *own_counts(ctx, [id for _, ids in groups for id in ids])]


def named(ctx: Context, label: str, names: Iterable[str]) -> Paragraph:
    """Names in a row under a label: no sentence to be read."""
    runs = Run(label, strong=True), Run(f"{ctx.words.colon}{ctx.words.sentence(ctx.words.series(names))}")
    return Paragraph(runs, scored=False)


def figure_groups(ctx: Context) -> list[tuple[str, list[str]]]:
    """Gains, then harms that are not serious by group, each with the most frequent first."""
    titles = group_titles(ctx)
    gains = [match.id for match in ctx.matches.benefits]
    harms = {
        group: [m.id for m in ctx.matches.risks if ctx.library.risks[m.id].group == group]
        for group in GROUPS
        if group != "serious"
    }
    groups = [(ctx.say("What you may gain"), gains), *((titles[group], ids) for group, ids in harms.items())]
    return [
        (title, sorted((id for id in ids if has_figure(ctx, id)), key=lambda id: -share_of(ctx, id)))
        for title, ids in groups
    ]


def has_figure(ctx: Context, id: str) -> bool:
    """Whether patients are told a number of it, a share or a count, of ours or of a study."""
    answer = ctx.rates[id]
    return bool(answer.rate or answer.seen or answer.told)


def share_of(ctx: Context, id: str) -> float:
    """How much of an outcome is seen, to set the most frequent first; -1 where no share of ours is known."""
    rate, seen = ctx.rates[id].rate, ctx.rates[id].seen
    if rate:
        return rate.proportion
    return seen.events / seen.n if seen else -1


def _drawn(ctx: Context, id: str) -> bool:
    rate = ctx.rates[id].rate
    return bool(rate and pictographs(ctx, rate))


def _picture(ctx: Context, id: str) -> Cell:
    """A picture under its name, with its figure and its range below."""
    rate = ctx.rates[id].rate
    assert rate is not None
    name = Paragraph(ctx.title(ctx.library.outcome(id)), scored=False)
    lines = [
        Paragraph((Run(f"{_number(ctx, rate)}{_mark(rate)}", strong=True),), scored=False),
        Paragraph((Run(_range(ctx, rate)),), scored=False),
        *_if_needed(ctx, id),
    ]
    return cell(name, *pictographs(ctx, rate), *lines)


def _if_needed(ctx: Context, id: str) -> list[Paragraph]:
    """That a harm comes only with what may become necessary on the day, as in the serious ones' rows."""
    only = any(match.only_if_needed for match in ctx.matches.risks if match.id == id)
    return [ctx.para("Only if we need more on the day.")] if only else []


def _closer_is_worse(ctx: Context, ids: list[str]) -> Iterator[Paragraph]:
    """Where a picture shows less than a closer group has seen: the count of it, which never waits."""
    for id in ids:
        for said in _worse(ctx, ctx.rates[id]):
            title = Run(f"{ctx.title_text(ctx.library.outcome(id))}{ctx.words.colon}", strong=True)
            yield Paragraph((title, *said.runs))


def _in_words(ctx: Context, id: str) -> Paragraph:
    """A line of what is no picture: its name, its figure, and the closer group that is worse."""
    title = Run(ctx.title_text(ctx.library.outcome(id)), strong=True)
    more = [text_of(each.runs) for each in (*_if_needed(ctx, id), *_worse(ctx, ctx.rates[id]))]
    said = ctx.words.sentences(told_short(ctx, ctx.rates[id]), *more)
    return Paragraph((title, Run(f"{ctx.words.colon}{said}")), scored=False, tag=outcome(id))


def _worse(ctx: Context, answer: RateAnswer) -> list[Paragraph]:
    """The closer group that is worse: its count never waits for the booklet."""
    found, harm = answer.own_worse, answer.outcome in ctx.library.risks
    return [Paragraph((Run(ctx.words.so_far(found, harm=harm)),))] if found else []


def how_to_read(ctx: Context) -> Paragraph:
    return ctx.para(
        "Of 100 marks, the filled ones stand for those who had it. In brackets: the likely numbers if we "
        "counted many more. We cannot tell what will happen to you."
    )


def own_counts(ctx: Context, ids: Iterable[str]) -> list[Node]:
    """How many of our own treatments were counted, done when and watched how long."""
    own = [n for id in ids if (n := ctx.rates[id].rate or ctx.rates[id].seen) and not _mark(n)]
    dated = [number for number in own if number.first and number.last]
    return [_counted_here(ctx, dated)] if dated else []


def starred(ctx: Context, ids: Iterable[str]) -> list[Node]:
    """What a star means, where a figure of these has one."""
    found = any(STUDY in told_short(ctx, ctx.rates[id]) for id in ids)
    return [ctx.para("A star (*) marks a figure from a study elsewhere.")] if found else []


def _counted_here(ctx: Context, dated: list[Rate | Seen]) -> Paragraph:
    """In how many and when; for how long they were watched only where that is known of each."""
    least, most = (pick(number.n for number in dated) for pick in (min, max))
    message = N_("Counted here from {first} to {last}: {total}.")
    if least < most:
        message = N_("Counted here from {first} to {last}: {total} for some figures, {most} for others.")
    counted = ctx.say(
        message,
        total=ctx.words.counted(least),
        most=ctx.words.number(most),
        first=ctx.words.day(min(number.first for number in dated if number.first)),
        last=ctx.words.day(max(number.last for number in dated if number.last)),
    )
    known = all(number.over != "some time" for number in dated)
    return Paragraph((Run(ctx.words.sentences(counted, _watched_for(ctx, dated) if known else "")),))


def _watched_for(ctx: Context, dated: list[Rate | Seen]) -> str:
    days = [ctx.library.outcome(number.outcome).watch_days for number in dated]
    least = min(dated, key=lambda number: ctx.library.outcome(number.outcome).watch_days)
    # of those who were watched for longer too, nobody knows whether it came within the time
    short = ctx.words.over(min(days), "at least" if least.over == "at least" else "watching time")
    if min(days) == max(days):
        return ctx.say("They were watched for {time}.", time=short)
    long = ctx.words.watching(max(days))
    return ctx.say("Watched for {short} to {long}.", short=short, long=long)


def is_worse(ctx: Context, id: str) -> bool:
    """Whether a figure is worse than the published one, or than a closer group of our own."""
    return bool(ctx.rates[id].worse) or ctx.rates[id].verdict == "higher"
