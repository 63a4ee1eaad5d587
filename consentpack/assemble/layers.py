"""The layers of what a patient is told: the form, the booklet behind it, and behind the booklet a paper with
all that has no room there. Which they are, and how a paper says where the rest stands.
"""

from __future__ import annotations

from collections.abc import Mapping

from consentpack.assemble.aftercare import contacts
from consentpack.assemble.context import Context
from consentpack.tree import Node, Paragraph, Run

FORM, BOOKLET, MORE = "form", "booklet", "more"
BEHIND: Mapping[str, str] = {FORM: BOOKLET, BOOKLET: MORE}
"""A document that is held to a length -> the one that says in full what it says in short."""


HOW_SURE, NOTICE, WHAT_IT_IS, STEPS, SOURCES = "how-sure", "notice", "what-it-is", "steps", "sources"
"""What may move beside harms and choices themselves, as `piece` names it: how much is known of a technique;
what one may notice of a harm that is told in short; what a choice is; the steps of the day; the studies."""
TREATING, NUMBING, FIGURES = "treating", "numbing", "figures"


def piece(what: str, id: str) -> str:
    """The id of something that may move and is no module: 'how-sure:nerve-block'."""
    return f"{what}:{id}"


def in_short(ctx: Context) -> bool:
    """Whether the booklet tells of some harm in short. Gains then have their figures as short as harms."""
    return any(match.id in ctx.moved(BOOKLET) for match in ctx.matches.risks)


def in_full(ctx: Context) -> str:
    """Where the rest stands of what the booklet says in short."""
    return ctx.say("This stands in full in “{title}”.", title=ctx.title_text(ctx.library.documents[MORE]))


def in_full_line(ctx: Context) -> Paragraph:
    """The same as a line of its own."""
    return Paragraph((Run(in_full(ctx)),))


def stands_in_full(ctx: Context) -> list[Node]:
    """The same line, where a part needs it."""
    return [in_full_line(ctx)]


def goes_with(ctx: Context) -> list[Node]:
    """What the paper behind the booklet is for, and whom to ring; nothing where nothing moved there, so that
    none is made."""
    if not ctx.moved(BOOKLET):
        return []
    return [
        ctx.para(
            "Your booklet says these things in short. Here they stand in full. You need not read all of it. "
            "Ask us about each thing that is not clear."
        ),
        *contacts(ctx),
    ]
