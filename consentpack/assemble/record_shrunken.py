"""The closest group's own figure, and the same drawn towards the wider group, in the clinician's record."""

from __future__ import annotations

from consentpack.assemble.context import Context


def shrunken_lines(ctx: Context, outcome: str) -> list[str]:
    """One line beside the figure that is quoted; none where nobody was watched in the closest group."""
    found = ctx.inputs.shrunken.get(outcome)
    if found is None:
        return []
    events, n = found.wider
    values = {"own": f"{found.events} of {found.n} ({found.events / found.n:.1%})", "groups": found.groups}
    if found.value is None:
        said = "Closest group by itself: {own}; too few groups ({groups}) to draw it towards the wider one."
        return [ctx.say(said, **values)]
    said = ctx.say(
        "Closest group by itself: {own}; drawn towards all with the leading technique ({wider}, {groups} "
        "groups): {drawn}.",
        wider=f"{events} of {n}",
        drawn=f"{found.value:.1%}",
        **values,
    )
    if not found.own_weight:
        return [f"{said} {ctx.say('The groups differ by no more than chance.')}"]
    share = f"{found.own_weight:.0%}"
    return [f"{said} {ctx.say('{share} of that is from the group itself.', share=share)}"]
