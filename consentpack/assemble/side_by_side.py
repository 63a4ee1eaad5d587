"""One document in two languages, block by block: the patient's language beside the clinic's.

Both come from the same modules in the same order, so the two trees have the same shape; where they do
not, one of them has lost something, and no such edition is made.
"""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.tree import Node, Paragraph, Run


def side_by_side_lead(ctx: Context) -> list[Node]:
    return [
        Paragraph((Run(ctx.say("This form says the same thing in two languages, side by side.")),)),
        Paragraph((Run(ctx.say("Tell us if you think that one of them says something else.")),)),
    ]
