"""How the documents stand to published checklists, in the clinician's record."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.inputs import Judgement
from consentpack.model import STATUSES, ItemResult
from consentpack.tree import Cell, Items, Node, Paragraph, Run, Table


def record_checklists(ctx: Context, judged: Judgement) -> list[Node]:
    """One row for each list, then every failing item by name, then which document holds which items."""
    if not judged.checklists:
        return []
    lists = dict.fromkeys(each.checklist for each in judged.checklists)
    columns = (
        ctx.say("List"),
        ctx.say("Holds"),
        ctx.say("Fails"),
        ctx.say("Does not apply"),
        ctx.say("A person must judge"),
    )
    rows = tuple(_row([each for each in judged.checklists if each.checklist == id]) for id in lists)
    said = ctx.say("Published checklists, by how many items hold.")
    return [Table(columns, rows, (40, 12, 12, 16, 20), said), *_failing(ctx, judged), *_holders(ctx, judged)]


def _row(found: list[ItemResult]) -> tuple[Cell, ...]:
    counts = (sum(each.status == status for each in found) for status in STATUSES)
    return cell(found[0].title, head=True), *(cell(str(number)) for number in counts)


def _failing(ctx: Context, judged: Judgement) -> list[Node]:
    failing = [each for each in judged.checklists if each.status == "fails"]
    if not failing:
        return [ctx.para("Every item that applies and that a program can check holds.")]
    lines = (f"{each.title}, {each.item}: {each.says}. {each.why}." for each in failing)
    return [
        ctx.para("These items do not hold."),
        Items(tuple(Paragraph((Run(line),)) for line in lines)),
    ]


def _holders(ctx: Context, judged: Judgement) -> list[Node]:
    """Document -> the items it holds by itself, list by list; nothing where nobody has looked."""
    found: dict[str, dict[str, list[str]]] = {}
    for each in judged.checklists:
        if each.held_by:
            found.setdefault(each.held_by, {}).setdefault(each.title, []).append(each.item)
    if not found:
        return []
    rows = tuple(
        (cell(by, head=True), cell(*(f"{title}: {', '.join(items)}." for title, items in lists.items())))
        for by, lists in found.items()
    )
    columns = (ctx.say("Document"), ctx.say("Items it holds"))
    return [
        ctx.para("Each item that holds, by the first document that holds it alone."),
        Table(columns, rows, (18, 82), ctx.say("Which document holds which items.")),
    ]
