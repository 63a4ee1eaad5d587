"""Figures as table cells: the same words wherever a patient meets a figure."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.model import RateAnswer
from consentpack.tree import Cell, Paragraph, Run


def figure_cell(ctx: Context, id: str) -> Cell:
    """What is known of one outcome: the figure, its other side, its range, and where from."""
    answer = ctx.rates[id]
    if answer.rate is None:
        return cell(
            ctx.para("We do not have a reliable figure.", strong=True),
            ctx.para("That does not mean it cannot happen."),
        )
    rate, words = answer.rate, ctx.words
    around = " ".join(filter(None, (words.other_frame(rate), words.honest_range(rate))))
    paragraphs = [
        Paragraph((Run(f"{words.headline(rate)}.", strong=True),)),
        Paragraph((Run(around),)),
        Paragraph((Run(_origin(ctx, answer)),)),
    ]
    if answer.own_worse and answer.own_worse.counts:
        paragraphs.append(Paragraph((Run(words.so_far(answer.own_worse.counts)),)))
    return cell(*paragraphs)


def _origin(ctx: Context, answer: RateAnswer) -> str:
    """Whose figure it is, in whom, and over what time."""
    rate = answer.rate
    assert rate is not None
    if rate.level == "published":
        return ctx.say("This is from a study, not our clinic. It was in {who}.", who=rate.who)
    number = ctx.words.number(rate.n)
    time = ctx.words.watching(ctx.library.outcome(rate.outcome).watch_days)
    if rate.level == "same-site-and-skin":
        return ctx.say(
            "From {number} treatments here like yours, in the same kind of place and skin. We "
            "looked for {time}.",
            number=number,
            time=time,
        )
    if rate.level == "same-techniques":
        return ctx.say(
            "From {number} treatments here like yours, in any place on the face. We looked for "
            "{time}.",
            number=number,
            time=time,
        )
    technique = ctx.title_text(ctx.library.techniques[answer.technique])
    return ctx.say(
        "From {number} treatments here that used this: {technique}. We looked for {time}.",
        number=number,
        technique=technique[0].lower() + technique[1:],
        time=time,
    )
