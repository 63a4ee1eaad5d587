"""What has changed since an older version was given, for whoever has that one at home."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.short_figures import share_of, told_short
from consentpack.tree import Cell, Node, Paragraph, Table
from consentpack.wording import in_sentence


def told_then(ctx: Context) -> list[Node]:
    """Which version, and when it was given."""
    before = ctx.plan.told_before
    if before is None:
        return []
    said = ctx.para(
        "On {day} we gave you papers about this treatment, version {version}.",
        day=ctx.words.day(before.day),
        version=ctx.words.number(before.version),
    )
    if before.figures:
        return [said, ctx.para("We have counted again since. These figures are not what we told you then.")]
    return [said, ctx.para("We have changed some of our texts since.")]


MOST = 12
"""Rows of figures, so that the sheet stays one side of paper: serious harms, however many, then what most
people have. The others are named below, and stand in the new papers."""


def told_now(ctx: Context) -> list[Node]:
    """Each figure that has changed, then and now, as far as there is room."""
    before = ctx.plan.told_before
    figures = _ordered(ctx, before.figures if before else ())
    serious = sum(_is_serious(ctx, id) for id, _ in figures)
    shown, others = figures[: max(MOST, serious)], figures[max(MOST, serious) :]
    if not shown:
        return []
    columns = (ctx.say("What it is"), ctx.say("What we told you"), ctx.say("What we say now"))
    rows = tuple(_row(ctx, id, then) for id, then in shown)
    found: list[Node] = [Table(columns, rows, (40, 30, 30), ctx.say("What has changed"))]
    if others:
        named = ctx.words.series([in_sentence(ctx.title_text(ctx.library.outcome(id))) for id, _ in others])
        found.append(ctx.para("These figures have changed too: {outcomes}.", outcomes=named))
    return found


def _is_serious(ctx: Context, id: str) -> bool:
    return id in ctx.library.risks and ctx.library.risks[id].group == "serious"


def _ordered(ctx: Context, figures: tuple[tuple[str, str], ...]) -> list[tuple[str, str]]:
    """Serious harms first, then what most people have. What the library knows no more has no name."""
    known = [each for each in figures if each[0] in {*ctx.library.risks, *ctx.library.benefits}]
    return sorted(known, key=lambda each: (not _is_serious(ctx, each[0]), -_share(ctx, each[0])))


def _share(ctx: Context, id: str) -> float:
    return share_of(ctx, id) if id in ctx.rates else 0.0


def _row(ctx: Context, id: str, then: str) -> tuple[Cell, ...]:
    now = told_short(ctx, ctx.rates[id]) if id in ctx.rates else ctx.say("nothing")
    title = Paragraph(ctx.title(ctx.library.outcome(id), strong=True))
    return (cell(title, head=True), cell(then or ctx.say("nothing")), cell(now))
