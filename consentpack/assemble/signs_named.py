"""Warning signs named where they may come from. Each is told in one place; here stands who to ring."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context
from consentpack.library.schema import TIERS
from consentpack.model import Risk, Warning
from consentpack.tree import Paragraph, Run


def signs_of(ctx: Context, risk: Risk) -> list[Paragraph]:
    """One line for each tier of the signs that a risk names, the fastest first."""
    signs = [ctx.library.warnings[id] for id in risk.signs]
    return [_line(ctx, tier, found) for tier in TIERS if (found := [s for s in signs if s.tier == tier])]


def each_sign(ctx: Context, risks: Iterable[Risk]) -> list[Paragraph]:
    """One line for each sign that some risks name, once, the fastest first. In one sentence for a tier they
    would be too many to be told apart: each holds commas of its own."""
    signs = [ctx.library.warnings[id] for id in dict.fromkeys(id for risk in risks for id in risk.signs)]
    return [_line(ctx, tier, [sign]) for tier in TIERS for sign in signs if sign.tier == tier]


def _line(ctx: Context, tier: str, signs: list[Warning]) -> Paragraph:
    named = [ctx.catalogue.block(sign.short).text for sign in signs]
    for sign in signs:
        ctx.uses(sign)
    said = ctx.words.either(named)
    lines = {
        "ambulance": lambda: ctx.say(
            "Ring the ambulance on {number} if you have {signs}.",
            number=ctx.clinic.emergency_number,
            signs=said,
        ),
        "at-once": lambda: ctx.say("Ring us at once, day or night, if you have {signs}.", signs=said),
        "same-day": lambda: ctx.say("Ring us the same day if you have {signs}.", signs=said),
        "at-visit": lambda: ctx.say("Tell us at your next visit if you have {signs}.", signs=said),
    }
    return Paragraph((Run(lines[tier]()),))
