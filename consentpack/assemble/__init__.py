"""From what matches, with figures and words, to finished documents."""

from consentpack.assemble.context import Context, make_context
from consentpack.assemble.document import assemble

__all__ = ["Context", "assemble", "make_context"]
