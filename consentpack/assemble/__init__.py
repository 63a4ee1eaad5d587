"""From what matches, with figures and words, to finished documents."""

from consentpack.assemble.context import Context, make_context
from consentpack.assemble.document import assemble
from consentpack.assemble.shape import first_difference, shape_of
from consentpack.assemble.side_by_side import side_by_side

__all__ = ["Context", "assemble", "first_difference", "make_context", "shape_of", "side_by_side"]
