"""What the groups of harms are called, wherever patients read of them."""

from __future__ import annotations

from consentpack.assemble.context import Context


def group_titles(ctx: Context) -> dict[str, str]:
    return {
        "expected": ctx.say("What we expect after treatment"),
        "possible": ctx.say("What may happen"),
        "serious": ctx.say("What may happen that is serious"),
    }
