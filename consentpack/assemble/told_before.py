"""What has changed since an older version was given, for whoever has that one at home."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.short_figures import told_short
from consentpack.tree import Cell, Node, Paragraph, Table


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


def told_now(ctx: Context) -> list[Node]:
    """Each figure that has changed, then and now."""
    before = ctx.plan.told_before
    rows = tuple(_row(ctx, id, then) for id, then in (before.figures if before else ()))
    if not rows:
        return []
    columns = (ctx.say("What it is"), ctx.say("What we told you"), ctx.say("What we say now"))
    return [Table(columns, rows, (40, 30, 30), ctx.say("What has changed"))]


def _row(ctx: Context, id: str, then: str) -> tuple[Cell, ...]:
    now = told_short(ctx, ctx.rates[id]) if id in ctx.rates else ctx.say("nothing")
    title = Paragraph(ctx.title(ctx.library.outcome(id), strong=True))
    return (cell(title, head=True), cell(then or ctx.say("nothing")), cell(now))
