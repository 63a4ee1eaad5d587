"""What each paper of limited length may leave to the one behind it, in the order in which it should be read.

The rules that hold for all of them, with what moves first, are those of `length.moving`. What stays whatever
the room: all that is serious, what is worse than published, gains, doing nothing, and what is newer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from consentpack.assemble.choices import both_lines
from consentpack.assemble.consent import ON_THE_DAY, told_of
from consentpack.assemble.context import Context
from consentpack.assemble.form import LINED_CHOICES
from consentpack.assemble.harms import NOTICED, SERIOUS, both_rows, raised_by, rows_of_group, told_in_row
from consentpack.assemble.layers import (
    BOOKLET,
    FIGURES,
    FORM,
    HOW_SURE,
    NOTICE,
    NUMBING,
    SOURCES,
    STEPS,
    TREATING,
    WHAT_IT_IS,
    piece,
)
from consentpack.assemble.short_figures import figure_groups, is_worse, share_of
from consentpack.assemble.sources import studies
from consentpack.length.moving import Priced
from consentpack.length.words import count
from consentpack.match import GROUPS
from consentpack.model import Match, Option
from consentpack.tree import Cell, Node, Pictograph, texts


def form(ctx: Context) -> tuple[Priced, ...]:
    """What the form may leave to the booklet.

    Figures that stand in no group of the serious harms, the most frequent first; then other choices with a
    line. Doing nothing never moves, nor a gain: a form that told harms alone would push too.
    """
    gains = {match.id for match in ctx.matches.benefits}
    told = [id for _, ids in figure_groups(ctx) for id in ids if id not in gains]
    told.sort(key=lambda id: -share_of(ctx, id))
    figures = [
        Priced(id, _A_FIGURE, worse_than_published=is_worse(ctx, id), order=place)
        for place, id in enumerate(told)
    ]
    lined = (ctx.library.options[match.id] for match in ctx.matches.options[:LINED_CHOICES])
    may_move = [o.id for o in lined if not o.no_treatment and o.id not in told]
    choices = [Priced(id, _A_CHOICE, order=len(told)) for id in may_move]
    return (*figures, *choices)


_A_FIGURE, _A_CHOICE = 9, 30
"""Words of a figure with its range beyond its name, which stays; and of a choice's line."""


def booklet(ctx: Context) -> tuple[Priced, ...]:
    """What the booklet may leave to the paper behind it.

    What moves first stands last. That is: the studies; how much is known of what is not newer; the other
    choices, of which it keeps what they are; the steps of numbing and of the day; harms, of which it keeps
    the figure, what one may notice and what may last. Where all of that is not enough: what other choices
    are, then what one may notice of a harm. Of harms, those that fewer people have move before the others,
    and last those that this patient's own circumstances make likelier.
    """
    harms = _harms(ctx)
    found = (
        *(_notice(ctx, match) for match in harms),
        *(_what_a_choice_is(ctx, option) for option in _choices(ctx)),
        *(_harm(ctx, match) for match in harms),
        *_steps(ctx),
        *(_choice(ctx, option) for option in _choices(ctx)),
        *_how_sure(ctx),
        Priced(piece(SOURCES, FIGURES), _words(ctx, studies(ctx))),
    )
    return tuple(replace(each, order=place) for place, each in enumerate(found))


def _harms(ctx: Context) -> list[Match]:
    matches = [match for group in GROUPS for match in rows_of_group(ctx, group)]
    return sorted(matches, key=lambda match: (not raised_by(ctx, match), -share_of(ctx, match.id)))


def _harm(ctx: Context, match: Match) -> Priced:
    at_length, short = (_in_cells(ctx, row) for row in both_rows(ctx, match))
    return replace(_stays(ctx, match), words=max(0, at_length - short))


def _notice(ctx: Context, match: Match) -> Priced:
    words = _words(ctx, ctx.lines(ctx.library.risks[match.id], NOTICED))
    return replace(_stays(ctx, match), id=piece(NOTICE, match.id), words=words)


def _stays(ctx: Context, match: Match) -> Priced:
    """Whether a harm must stay whole: that is so for its row, with all that is told there."""
    worse = any(is_worse(ctx, id) for id in told_in_row(ctx, match))
    serious = ctx.library.risks[match.id].group == SERIOUS
    return Priced(match.id, 0, serious=serious, worse_than_published=worse)


def _choices(ctx: Context) -> list[Option]:
    """Other choices but doing nothing, and but those that the form has no room for: their line is here."""
    options = [ctx.library.options[match.id] for match in ctx.matches.options]
    return [each for each in options if not each.no_treatment and each.id not in ctx.moved(FORM)]


def _choice(ctx: Context, option: Option) -> Priced:
    weighed, line = both_lines(ctx, option)
    return Priced(option.id, max(0, _in_cells(ctx, weighed) - _words(ctx, [line])))


def _what_a_choice_is(ctx: Context, option: Option) -> Priced:
    return Priced(piece(WHAT_IT_IS, option.id), _words(ctx, ctx.lines(option, "What it is")))


def _steps(ctx: Context) -> Iterable[Priced]:
    for what, matches in ((TREATING, ctx.matches.techniques), (NUMBING, ctx.matches.anaesthetics)):
        steps = [body for each in ctx.techniques(matches) for body in ctx.section(each, ON_THE_DAY)]
        if steps:
            yield Priced(piece(STEPS, what), _words(ctx, steps))


def _how_sure(ctx: Context) -> Iterable[Priced]:
    for technique in (*told_of(ctx), *ctx.techniques(ctx.matches.established)):
        words = _words(ctx, ctx.lines(technique, "How sure we are"))
        yield Priced(piece(HOW_SURE, technique.id), words)


def _in_cells(ctx: Context, row: Iterable[Cell]) -> int:
    return _words(ctx, [c for cell in row for c in cell.content if not isinstance(c, Pictograph)])


def _words(ctx: Context, nodes: Iterable[Node]) -> int:
    said = (text for node in nodes for text in texts(node))
    return round(sum(count(text, ctx.catalogue.language) for text in said))


MOVABLE: Mapping[str, Callable[[Context], tuple[Priced, ...]]] = {FORM: form, BOOKLET: booklet}
"""A document that is held to a length -> what it may leave to the one behind it, in this order: what the form
leaves is known before the booklet is asked."""
