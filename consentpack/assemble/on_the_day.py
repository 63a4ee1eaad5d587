"""What happens on the day, with the steps that several techniques share said once."""

from __future__ import annotations

from consentpack.assemble.consent import ON_THE_DAY, fresh, technique_sections
from consentpack.assemble.context import Context
from consentpack.assemble.layers import BOOKLET, STEPS, TREATING, piece
from consentpack.catalogues import N_
from consentpack.model import Technique
from consentpack.tree import Heading, Items, Node, Paragraph, Run, text_of


def what_happens(ctx: Context) -> list[Node]:
    """Each planned technique. Steps that several of them share are said once: before, and after. Where the
    booklet has no room for them, they stand in the paper behind it."""
    if piece(STEPS, TREATING) not in ctx.moved(BOOKLET):
        return _what_happens(ctx, ("What it is",), ("How it feels", "Recovery"))
    labels = ("What it is", ON_THE_DAY, "How it feels", "Recovery")
    return technique_sections(ctx, ctx.matches.techniques, labels, steps=False)


def steps_in_full(ctx: Context) -> list[Node]:
    """The steps of the day, where the booklet had no room for them."""
    return _what_happens(ctx, (), ()) if piece(STEPS, TREATING) in ctx.moved(BOOKLET) else []


def _what_happens(ctx: Context, before: tuple[str, ...], after: tuple[str, ...]) -> list[Node]:
    """The steps of each technique, with some of its sections before and after them."""
    techniques = ctx.techniques(ctx.matches.techniques)
    if len(techniques) < 2:
        return technique_sections(ctx, ctx.matches.techniques, (*before, ON_THE_DAY, *after))
    steps = [_steps(ctx, technique) for technique in techniques]
    opening, closing = shared_steps([[text_of(step.runs) for step in listed] for listed in steps])
    shared = {*opening, *closing}
    first = {text_of(step.runs): step for listed in reversed(steps) for step in listed}
    found = _shared(ctx, N_("At the start of your visit"), [first[text] for text in opening])
    said: set[str] = set()
    for technique, listed in zip(techniques, steps, strict=True):
        own = tuple(step for step in listed if text_of(step.runs) not in shared)
        here = [body for label in before for body in fresh(ctx.section(technique, label), said)]
        here += [Items(own, numbered=True)] if own else []
        here += [body for label in after for body in fresh(ctx.section(technique, label), said)]
        found += [ctx.heading(technique), *here] if here else []
    return [*found, *_shared(ctx, N_("At the end of your visit"), [first[text] for text in closing])]


def _steps(ctx: Context, technique: Technique) -> list[Paragraph]:
    """The steps of a technique's day, in order."""
    bodies = ctx.section(technique, ON_THE_DAY)
    return [step for body in bodies for step in (body.items if isinstance(body, Items) else ())]


START, END = 5, 3
"""Steps at the start and the end of a list that may be steps of the visit: who you are and which
place, cleaning and numbing; pressing, looking and going home."""


def shared_steps(lists: list[list[str]]) -> tuple[list[str], list[str]]:
    """Steps of the visit and not of one technique: what several lists have near their start, or end."""
    every = list(dict.fromkeys(step for listed in lists for step in listed))
    having = {step: [listed for listed in lists if step in listed] for step in every}
    often = [step for step in every if len(having[step]) > 1]
    opening = [s for s in often if all(_near_start(s, listed) for listed in having[s])]
    return opening, [s for s in often if all(_near_end(s, listed) for listed in having[s])]


def _near_start(step: str, listed: list[str]) -> bool:
    return listed.index(step) < min(START, len(listed) / 2)


def _near_end(step: str, listed: list[str]) -> bool:
    return listed.index(step) >= max(len(listed) - END, len(listed) / 2)


def _shared(ctx: Context, title: str, steps: list[Paragraph]) -> list[Node]:
    if not steps:
        return []
    return [Heading((Run(ctx.say(title)),), 3), Items(tuple(steps), numbered=True)]
