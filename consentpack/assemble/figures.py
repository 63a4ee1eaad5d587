"""Figures as table cells: the same words wherever a patient meets a figure."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.model import IfNeeded, Rate, RateAnswer, Seen, Told
from consentpack.tree import PHRASED, STUDIED, Cell, Paragraph, Pictograph, Run
from consentpack.wording import OUT_OF, in_sentence, natural

LEAST_SHOWN = 100
"""A pictograph shows 1 in this many and more. Of 100 marks less than one is no honest picture, and
larger grids change how people see a risk (IMI-PROTECT, on icon arrays): words alone say it better."""


def figure_cell(ctx: Context, *ids: str) -> Cell:
    """What is known of an outcome, and of others that are told in its row, each under its own name."""
    known = [id for id in ids if says_something(ctx.rates[id])]
    if not known:
        unknown = ctx.para("We do not have a reliable figure.", strong=True)
        harm = ids[0] in ctx.library.risks
        return cell(unknown, *([ctx.para("That does not mean it cannot happen.")] if harm else []))
    found: list[Paragraph | Pictograph] = []
    for id in known:
        if len(ids) > 1:
            found.append(Paragraph(ctx.title(ctx.library.outcome(id), strong=True)))
        found += _figure(ctx, id, ctx.rates[id]) if ctx.rates[id].rate else _counts(ctx, ctx.rates[id])
    return cell(*found)


def says_something(answer: RateAnswer) -> bool:
    return bool(answer.rate or answer.seen or answer.told or answer.counted_in or answer.at_least)


def _counts(ctx: Context, answer: RateAnswer) -> list[Paragraph]:
    """What is told where no share may be quoted: what we saw, and what a study saw."""
    if answer.counted_in or answer.at_least:
        return [_pointer(ctx, answer)]
    found = _seen(ctx, answer, answer.seen) if answer.seen else []
    if answer.beside:
        found.append(_elsewhere(ctx, answer.beside))
    if answer.told and not answer.seen:
        found.append(ctx.para("We do not have a reliable figure.", strong=True))
    return found + (_told(ctx, answer.told) if answer.told else [])


def _pointer(ctx: Context, answer: RateAnswer) -> Paragraph:
    """Where to look instead, where a number would say that a kind of something is seen more than it."""
    other = in_sentence(ctx.title_text(ctx.library.outcome(answer.counted_in or answer.at_least)))
    if answer.counted_in:
        return ctx.para("We count this in the figure for: {outcome}.", outcome=other)
    return ctx.para("It is seen at least as much as one kind of it: {outcome}.", outcome=other)


def _seen(ctx: Context, answer: RateAnswer, seen: Seen) -> list[Paragraph]:
    """Own counts as they are, how far the true number may lie, and where they are from."""
    words = ctx.words
    said = [
        Paragraph((Run(words.sentence(words.seen(seen)), strong=True),), PHRASED),
        Paragraph((Run(words.around_seen(seen)),), PHRASED),
        Paragraph((Run(_origin(ctx, answer, seen)),), PHRASED),
    ]
    return [*said, *_none_had(ctx, answer, seen.events), *_closer_is_worse(ctx, answer)]


def _none_had(ctx: Context, answer: RateAnswer, events: int) -> list[Paragraph]:
    """What a count of none does not say of a harm; and that more were counted than the closest."""
    if answer.outcome not in ctx.library.risks:
        return []
    none = []
    if answer.pooled:
        none.append(ctx.say("None was seen in those most like yours, so we counted more of our treatments."))
    if not events:
        none.append(ctx.say("That does not mean it cannot happen."))
        none.append(ctx.say("One clinic may be too small to see it."))
    return [Paragraph((Run(ctx.words.sentences(*none)),), PHRASED)] if none else []


def _told(ctx: Context, told: Told) -> list[Paragraph]:
    """A harm that a study saw, which is no rate: what was seen, in whom, and over what time."""
    from_study = _study(ctx, told.who, told.watched_days)
    return [
        Paragraph((Run(ctx.words.told(told)),), STUDIED),
        Paragraph((Run(from_study),), STUDIED),
    ]


def _study(ctx: Context, who: str, watched_days: int | None) -> str:
    """In whom a study was, and for how long it looked."""
    where = ctx.say(
        "This is from a study, not our clinic. It was in {who}.", who=ctx.catalogue.block(who).text
    )
    return ctx.words.sentences(where, ctx.words.watched_in_study(watched_days))


def _figure(ctx: Context, id: str, answer: RateAnswer) -> list[Paragraph | Pictograph]:
    """The figure of one outcome, its other side, its range, and where from."""
    rate, words = answer.rate, ctx.words
    assert rate is not None
    around = words.sentences(words.other_frame(rate), words.honest_range(rate))
    source = STUDIED if rate.level == "published" else PHRASED
    paragraphs: list[Paragraph | Pictograph] = [
        Paragraph((Run(words.sentence(words.headline(rate)), strong=True),), source),
        *pictographs(ctx, rate),
        Paragraph((Run(around),), source),
        Paragraph((Run(_origin(ctx, answer, rate)),), source),
    ]
    if rate.level != "published":
        paragraphs += _none_had(ctx, answer, rate.events)
    if answer.beside and named_beside(answer):
        paragraphs.append(_elsewhere(ctx, answer.beside))
    return [*paragraphs, *if_needed_too(ctx, answer), *_closer_is_worse(ctx, answer)]


def if_needed_too(ctx: Context, answer: RateAnswer) -> list[Paragraph]:
    """A line for each step that may become necessary and makes a difference an exact test can see; the record
    has all."""
    rate = answer.rate
    return [_if_needed(ctx, n) for n in answer.if_needed if rate and _makes_a_difference(ctx, n, rate)]


def _makes_a_difference(ctx: Context, needed: IfNeeded, rate: Rate) -> bool:
    """Whether a step changes the figure: for the better only where every method says so, for the worse
    where one does."""
    more = needed.rate.proportion > rate.proportion
    worse = more == (rate.outcome in ctx.library.risks)
    return needed.verdict in ("higher", "lower") or (worse and needed.verdict == "mixed")


def _closer_is_worse(ctx: Context, answer: RateAnswer) -> list[Paragraph]:
    """The count of treatments more like the patient's, where it is worse than what stands above it."""
    found = answer.own_worse
    harm = answer.outcome in ctx.library.risks
    return [Paragraph((Run(ctx.words.so_far(found, harm=harm)),), PHRASED)] if found else []


def short_figures(ctx: Context, rates: tuple[Rate, ...]) -> list[Cell]:
    """Figures side by side, each in a sentence or two: how many, and how far the true number may lie.

    All have a picture or none has: one without beside one with would look like none at all.
    """
    pictures = [pictographs(ctx, rate) for rate in rates]
    return [
        cell(
            Paragraph((Run(_in_short(ctx, rate)),)),
            *(picture if all(pictures) else ()),
        )
        for rate, picture in zip(rates, pictures, strict=True)
    ]


def _in_short(ctx: Context, rate: Rate) -> str:
    words = ctx.words
    return words.sentences(words.sentence(words.headline(rate)), words.honest_range(rate))


def pictographs(ctx: Context, rate: Rate) -> list[Pictograph]:
    """The figure once more as marks of 100; none where the words give no whole number of 100."""
    shown = natural(*rate.ratio)
    said_in_100 = 0 < rate.events < rate.n and not (shown.below or shown.above)
    if not said_in_100 or rate.proportion * LEAST_SHOWN < 1:
        return []
    return [Pictograph(shown.number, OUT_OF, _alt(ctx, rate, shown.number), ctx.catalogue.rtl)]


def _alt(ctx: Context, rate: Rate, number: int) -> str:
    """A picture in words for who cannot see it: what, how many, of how many, and over what time."""
    outcome = ctx.library.outcome(rate.outcome)
    values = {
        "marks": ctx.catalogue.phrases(
            "{number} of {of} marks is filled.",
            "{number} of {of} marks are filled.",
            number,
            of=ctx.words.number(OUT_OF),
        ),
        "outcome": ctx.title_text(outcome),
        "figure": in_sentence(ctx.words.headline(rate)),
    }
    if rate.level == "published":
        time = ctx.catalogue.block(rate.follow_up).text if rate.follow_up else ctx.say("not stated")
        return ctx.say("{marks} {outcome}: {figure}. Time in the study: {time}.", **values, time=time)
    if rate.over == "some time":
        return ctx.say("{marks} {outcome}: {figure}, at some time.", **values)
    time = ctx.words.over(outcome.watch_days, rate.over)
    return ctx.say("{marks} {outcome}: {figure}, watched for {time}.", **values, time=time)


def named_beside(answer: RateAnswer) -> bool:
    """Whether patients read of the study beside our own: none here says little about a harm that is seen
    in one of thousands, and counts say little by themselves."""
    return answer.rate.events == 0 if answer.rate else answer.seen is not None


def _elsewhere(ctx: Context, published: Rate) -> Paragraph:
    """A published figure beside an own one."""
    headline = ctx.words.headline(published)
    said = ctx.say(
        "A study elsewhere found: {figure}. It was in {who}.",
        figure=in_sentence(headline),
        who=ctx.catalogue.block(published.who).text,
    )
    return Paragraph((Run(said),), STUDIED)


def _if_needed(ctx: Context, needed: IfNeeded) -> Paragraph:
    """The figure with a technique that may become necessary."""
    title = ctx.title_text(ctx.library.techniques[needed.technique])
    headline = ctx.words.headline(needed.rate)
    return ctx.para(
        "If we need this on the day ({technique}): {figure}.",
        technique=in_sentence(title),
        figure=in_sentence(headline),
    )


def _origin(ctx: Context, answer: RateAnswer, rate: Rate | Seen) -> str:
    """Whose figure it is, in whom, and over what time."""
    say = ctx.say
    if isinstance(rate, Rate) and rate.level == "published":
        return _study(ctx, rate.who, rate.watched_days)
    days = ctx.library.outcome(rate.outcome).watch_days
    values = {"total": ctx.words.counted(rate.n), "time": ctx.words.over(days, rate.over)}
    if rate.over == "some time":
        return say(
            "From {total} here, at some time. We may not have watched each of them for {time}.", **values
        )
    # without its strata the closest figure is not from "the same kind of" patient, and must not say so
    if rate.level == "closest" and not answer.without:
        return say(ctx.library.field.sentences["closest"], **values)
    if rate.level in ("closest", "same-techniques"):
        return say("From {total} here like yours, watched for {time}.", **values)
    if answer.steps:
        titles = [in_sentence(ctx.title_text(ctx.library.techniques[id])) for id in answer.steps]
        return say(
            "From {total} here with these steps: {techniques}. They were watched for {time}.",
            techniques=ctx.words.series(titles),
            **values,
        )
    if answer.technique == ctx.plan.planned[0]:
        return say(
            "From {total} here with the same main step as yours, watched for {time}.",
            **values,
        )
    technique = ctx.title_text(ctx.library.techniques[answer.technique])
    return say(
        "From {total} here with this step: {technique}. They were watched for {time}.",
        technique=in_sentence(technique),
        **values,
    )
