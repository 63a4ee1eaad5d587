"""From what matches, with figures and words, to finished documents."""

from consentpack.assemble.context import Context, make_context
from consentpack.assemble.document import Assembled, assemble, complete, with_questions
from consentpack.assemble.inputs import Inputs, Judgement, Printed
from consentpack.assemble.layers import BEHIND
from consentpack.assemble.movable import MOVABLE
from consentpack.assemble.shape import ABOUT_ITSELF, first_difference, shape_of
from consentpack.assemble.side_by_side import side_by_side
from consentpack.assemble.talk_back import asked_of
from consentpack.assemble.told import told_figures

__all__ = [
    "ABOUT_ITSELF",
    "BEHIND",
    "MOVABLE",
    "Assembled",
    "Context",
    "Inputs",
    "Judgement",
    "Printed",
    "asked_of",
    "assemble",
    "complete",
    "first_difference",
    "make_context",
    "shape_of",
    "side_by_side",
    "told_figures",
    "with_questions",
]
