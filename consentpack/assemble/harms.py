"""What can go wrong: every harm in a row of its own with its figure, at length or, where the booklet has no
room, in short with the rest in the paper behind it.
"""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context, cell
from consentpack.assemble.figures import figure_cell
from consentpack.assemble.group_titles import group_titles
from consentpack.assemble.layers import BOOKLET, NOTICE, in_full, in_short, piece
from consentpack.assemble.short_figures import figure_in_short, none_is_not_never
from consentpack.assemble.signs_named import each_sign, signs_of
from consentpack.catalogues import N_
from consentpack.match import GROUPS
from consentpack.model import Match
from consentpack.tree import Cell, Heading, Items, Node, Paragraph, Run, Table
from consentpack.wording import in_sentence

SERIOUS = "serious"
NOTICED, LASTS = "What you may notice", "How long it lasts"


def risk_table(ctx: Context) -> list[Node]:
    """Every harm by group. The serious ones come last and at length; before them, once for all the others
    where these are at length too, whom to ring for which sign."""
    found: list[Node] = []
    for group in GROUPS:
        if group == SERIOUS:
            found += _whom_to_ring(ctx)
        if matches := rows_of_group(ctx, group):
            found += _opening(ctx, group, matches)
            found.append(_risks(ctx, group, matches))
    return found


def harms_in_full(ctx: Context) -> list[Node]:
    """The harms that the booklet tells in short, in the same groups."""
    found: list[Node] = []
    for group in GROUPS:
        matches = [match for match in rows_of_group(ctx, group) if match.id in ctx.moved(BOOKLET)]
        if matches:
            title = group_titles(ctx)[group]
            rows = tuple(_at_length(ctx, match) for match in matches)
            found += [Heading((Run(title),), 3), Table(_columns(ctx, short=False), rows, _WIDTHS, title)]
    return found


def rows_of_group(ctx: Context, group: str) -> list[Match]:
    """The harms of a group that have a row of their own."""
    matches = [m for m in ctx.matches.risks if ctx.library.risks[m.id].group == group]
    return [m for m in matches if not _told_elsewhere(ctx, m)]


def told_in_row(ctx: Context, match: Match) -> list[str]:
    """The outcomes that a harm's row tells of: its own, and those that patients cannot tell from it."""
    told = [each.id for each in ctx.matches.risks if ctx.library.risks[each.id].told_with == match.id]
    return [match.id, *told]


def both_rows(ctx: Context, match: Match) -> tuple[tuple[Cell, ...], tuple[Cell, ...]]:
    """A harm at length, and in short."""
    return _at_length(ctx, match), _in_short(ctx, match)


def _told_elsewhere(ctx: Context, match: Match) -> bool:
    """Whether patients read of it in another row: they cannot tell the two apart, the audit can."""
    return ctx.library.risks[match.id].told_with in {each.id for each in ctx.matches.risks}


def _opening(ctx: Context, group: str, matches: list[Match]) -> list[Node]:
    found: list[Node] = [Heading((Run(group_titles(ctx)[group]),), 3)]
    if group == SERIOUS:
        said = N_("We list each serious harm we know of, even when it is seen in very few people.")
        found.append(ctx.para(said))
    short = [match for match in matches if match.id in ctx.moved(BOOKLET)]
    if short:
        none = none_is_not_never(ctx, [id for match in short for id in told_in_row(ctx, match)])
        found.append(Paragraph((Run(ctx.words.sentences(*none, in_full(ctx))),)))
    return found


_WIDTHS = (57, 43)


def _columns(ctx: Context, *, short: bool) -> tuple[str, str]:
    what = ctx.say("What it is") if short else ctx.say("What it is, and what is done about it")
    return what, ctx.say("How many")


def _risks(ctx: Context, group: str, matches: list[Match]) -> Table:
    moved = ctx.moved(BOOKLET)
    rows = tuple(
        _in_short(ctx, match)
        if match.id in moved
        else _at_length(ctx, match)
        if group == SERIOUS or in_short(ctx)
        else _row(ctx, match)
        for match in matches
    )
    columns = _columns(ctx, short=any(match.id in moved for match in matches))
    return Table(columns, rows, _WIDTHS, group_titles(ctx)[group])


def _at_length(ctx: Context, match: Match) -> tuple[Cell, Cell]:
    """All there is, with whom to ring for which of its signs."""
    (what, figure), signs = _row(ctx, match), signs_of(ctx, ctx.library.risks[match.id])
    return Cell((*what.content, *signs), head=True), figure


def _in_short(ctx: Context, match: Match) -> tuple[Cell, Cell]:
    """What it is, what to look out for and what may last; how many, and how far the true number may lie."""
    notice = piece(NOTICE, match.id) not in ctx.moved(BOOKLET)
    labels = (*([NOTICED] if notice else []), LASTS)
    return _what(ctx, match, *labels), figure_in_short(ctx, *told_in_row(ctx, match))


def _row(ctx: Context, match: Match) -> tuple[Cell, Cell]:
    what = _what(ctx, match, NOTICED, LASTS, "What is done about it")
    return what, figure_cell(ctx, *told_in_row(ctx, match))


def _what(ctx: Context, match: Match, *labels: str) -> Cell:
    """A harm by name with some of its sections, and what is so for this plan."""
    risk = ctx.library.risks[match.id]
    said = [line for label in labels for line in ctx.lines(risk, label)]
    return cell(Paragraph(ctx.title(risk, strong=True)), *said, *_for_this_plan(ctx, match), head=True)


def _for_this_plan(ctx: Context, match: Match) -> Iterable[Paragraph]:
    """What makes it likelier for this patient, and whether it is only of what may become necessary."""
    raised = raised_by(ctx, match)
    if raised:
        names = ctx.words.listed([in_sentence(name) for name in raised])
        yield ctx.para("This may be more likely for you, because of: {factors}.", factors=names)
    if match.only_if_needed:
        technique = ctx.library.techniques[match.techniques[0]]
        name = ctx.title_text(technique)
        said = N_("This is only a risk if we need this on the day: {technique}.")
        yield ctx.para(said, technique=in_sentence(name))


def raised_by(ctx: Context, match: Match) -> list[str]:
    """The patient's circumstances that make a harm likelier, by name."""
    factors = (ctx.library.factors[each.id] for each in ctx.matches.factors)
    return [ctx.title_text(factor) for factor in factors if match.id in factor.raises]


def _whom_to_ring(ctx: Context) -> list[Node]:
    """For all harms that are not serious, once: one sign comes of many of them. Where some are told in short,
    each that is told at length has its own: a list of these alone would pass for a list of all."""
    if in_short(ctx):
        return []
    matches = [match for group in GROUPS if group != SERIOUS for match in rows_of_group(ctx, group)]
    lines = each_sign(ctx, [ctx.library.risks[match.id] for match in matches])
    return [Items(tuple(lines))] if lines else []
