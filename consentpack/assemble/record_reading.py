"""The readability results in the clinician's record."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context, cell
from consentpack.assemble.inputs import Judgement
from consentpack.assemble.layers import (
    BEHIND,
    BOOKLET,
    FIGURES,
    FORM,
    HOW_SURE,
    MORE,
    NOTICE,
    NUMBING,
    SOURCES,
    STEPS,
    TREATING,
    WHAT_IT_IS,
)
from consentpack.model import SLOW, USUAL, Length, Score
from consentpack.tree import Cell, Items, Node, Paragraph, Run, Table
from consentpack.wording import in_sentence


def record_readability(ctx: Context, judged: Judgement) -> list[Node]:
    columns = (
        ctx.say("Document"),
        ctx.say("Grade"),
        ctx.say("Target"),
        ctx.say("Hardest part"),
        ctx.say("Result"),
    )
    rows = tuple(_score_row(ctx, score) for score in judged.scores)
    note = ctx.say(
        "Measured on the very words that are printed. In English the harder of two counts decides: ours, "
        "with clinical words corrected, and textstat’s own."
    )
    notes = [note, *(line for score in judged.scores for line in _measures(ctx, score))]
    return [
        Table(columns, rows, (20, 12, 20, 30, 18), ctx.say("Readability results.")),
        Items(tuple(Paragraph((Run(line),)) for line in notes)),
        *_lengths(ctx, judged.lengths),
        *_moved(ctx),
    ]


def _moved(ctx: Context) -> list[Node]:
    """What patients are told at length in a paper behind alone: whoever holds the talk has to know it."""
    return [Paragraph((Run(_left(ctx, kind)),)) for kind in ctx.inputs.moved]


def _left(ctx: Context, kind: str) -> str:
    """What one paper leaves to the one behind it, by name."""
    names = sorted(named_as(ctx, id) for id in ctx.moved(kind))
    values = {"paper": _PAPERS[kind], "behind": _PAPERS[BEHIND[kind]]}
    if not names:
        return ctx.say("Nothing had to move from {paper} to {behind}.", **values)
    said = "Moved from {paper} to {behind}, for want of room: {names}."
    return ctx.say(said, **values, names="; ".join(names))


def named_as(ctx: Context, id: str) -> str:
    """What may move, by its title."""
    library = ctx.library
    what, _, of = id.rpartition(":")
    if what in (STEPS, SOURCES):
        return _PIECES[what, of]
    modules = (
        library.techniques if what == HOW_SURE else {**library.risks, **library.benefits, **library.options}
    )
    title = ctx.title_text(modules[of])
    return f"{_PIECES[what, '']}{in_sentence(title)}" if what else title


_PIECES = {
    (STEPS, TREATING): "steps of the day",
    (STEPS, NUMBING): "steps of numbing",
    (SOURCES, FIGURES): "studies that figures are from",
    (HOW_SURE, ""): "how much is known of ",
    (NOTICE, ""): "what one may notice of ",
    (WHAT_IT_IS, ""): "what this choice is: ",
}
_PAPERS = {FORM: "the form", BOOKLET: "the booklet", MORE: "“More about your treatment”"}


def _lengths(ctx: Context, lengths: Iterable[Length]) -> list[Node]:
    """How long each document is for who reads it, beside what it may have."""
    rows = tuple(
        (
            cell(each.kind, head=True),
            cell(_beside(ctx, each.words, each.limits.words)),
            cell("–" if each.sides is None else _beside(ctx, each.sides, each.limits.sides)),
            cell(" – ".join(f"{minutes:.0f}" for minutes in each.minutes)),
            cell(ctx.say("over the target") if each.over else ctx.say("met") if each.limited else "–"),
        )
        for each in lengths
    )
    if not rows:
        return []
    columns = (
        ctx.say("Document"),
        ctx.say("Words"),
        ctx.say("Sides of paper"),
        ctx.say("Minutes"),
        ctx.say("Result"),
    )
    note = ctx.say(
        "Minutes: read in silence at {usual} words a minute, and at {slow}.", usual=str(USUAL), slow=str(SLOW)
    )
    return [
        Table(columns, rows, (20, 20, 22, 18, 20), ctx.say("How long the documents are.")),
        Paragraph((Run(note),)),
    ]


def _beside(ctx: Context, number: int, limit: int) -> str:
    if not limit:
        return f"{number}"
    return ctx.say("{number} of {limit} allowed", number=str(number), limit=str(limit))


def _score_row(ctx: Context, score: Score) -> tuple[Cell, ...]:
    target, graded = score.target, [s for s in score.sections if s.grade is not None]
    if target is None:
        limit, hard, result = "–", "–", ctx.say("no measure was made for this language")
    else:
        pick = max if target.high_is_hard else min
        worst = pick(graded, key=lambda s: s.grade or 0, default=None)
        limit = ctx.say("{limit} ({who})", limit=f"{target.limit:g}", who=target.who)
        hard = f"{worst.heading} ({worst.grade:.1f})" if worst else "–"
        result = ctx.say("over the target") if score.over else ctx.say("met")
    grade = "–" if score.grade is None else f"{score.grade:.1f}"
    return (cell(score.kind, head=True), cell(grade), cell(limit), cell(hard), cell(result))


def _measures(ctx: Context, score: Score) -> Iterable[str]:
    """Every measure that could be taken, the two counts, and the grade without its terms."""
    values = [f"{m.name} {m.value:.1f}" for m in score.measures if m.value is not None]
    if values:
        yield f"{score.kind}: {', '.join(values)}."
    if score.textstat is not None and score.plain_terms is not None:
        said = "{kind}: textstat’s own grade {own}; with clinical terms in plain words {plain}."
        own, plain = f"{score.textstat:.1f}", f"{score.plain_terms:.1f}"
        yield ctx.say(said, kind=score.kind, own=own, plain=plain)
    said = "{kind}: {length} words a sentence; {long} in every 100 words have more than six letters."
    length, long = f"{score.sentence_length:.1f}", f"{score.long_words:.0f}"
    yield ctx.say(said, kind=score.kind, length=length, long=long)
    yield from (f"{score.kind}: {warning}" for warning in score.spread)
