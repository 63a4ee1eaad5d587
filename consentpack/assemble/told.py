"""Every figure of a pack in the few words of the form, for whoever compares packs later."""

from __future__ import annotations

from consentpack.assemble.context import make_context
from consentpack.assemble.inputs import Inputs
from consentpack.assemble.short_figures import told_short


def told_figures(inputs: Inputs) -> dict[str, tuple[str, str]]:
    """Outcome -> its name and its figure as the form tells it, in the language of the inputs."""
    ctx = make_context(inputs)
    return {
        id: (ctx.title_text(ctx.library.outcome(id)), told_short(ctx, answer))
        for id, answer in inputs.rates.items()
    }
