"""A card to keep at hand: when to look, what to look for, and a table to tick."""

from __future__ import annotations

from collections.abc import Iterator

from consentpack.assemble.context import Context, cell
from consentpack.library.labels import CARD
from consentpack.library.schema import PERIODS
from consentpack.model import Aftercare
from consentpack.tree import Body, Cell, Items, Node, Paragraph, Run, Table, text_of

BOX = "\u2610"
_DAY = 24
_TONIGHT = PERIODS[0]


def check_times(ctx: Context) -> list[Node]:
    """A row for each time at which one looks, a column for each question, a box for each answer."""
    found: list[Node] = []
    for topic in _topics(ctx):
        asked = [text_of(item.runs) for body in ctx.section(topic, CARD) for item in _points(body)]
        if not asked:
            continue
        share = 75 // len(asked)
        widths = (100 - share * len(asked), *(share for _ in asked))
        rows = tuple(
            (cell(_when(ctx, hour), head=True), *(_box() for _ in asked)) for hour in topic.check_hours
        )
        lead = ctx.para("Tick a box for each yes. A no is a sign: ring us.", strong=True)
        summary = ctx.say("When to look, with boxes to tick.")
        found += [lead, Table((ctx.say("When"), *asked), rows, widths, summary, grid=True)]
    return found


def check_how(ctx: Context) -> list[Node]:
    """How to look, in the sentences of the long text."""
    found: list[Node] = []
    for topic in _topics(ctx):
        for label in (f"{_TONIGHT}: do", f"{_TONIGHT}: avoid"):
            found += ctx.section(topic, label)
    return found


def _topics(ctx: Context) -> Iterator[Aftercare]:
    topics = (ctx.library.aftercare[match.id] for match in ctx.matches.aftercare)
    yield from (topic for topic in topics if topic.check_hours)


def _points(body: Body) -> tuple[Paragraph, ...]:
    return body.items if isinstance(body, Items) else ()


def _when(ctx: Context, hour: int) -> str:
    """Hours up to the first day, then days: 'Day 3'."""
    return ctx.words.span(hour, "hours") if hour <= _DAY else ctx.say("Day {number}", number=hour // _DAY)


def _box() -> Cell:
    return cell(Paragraph((Run(BOX),), scored=False))
