"""How long a document is, and what moves to the booklet where a form would be too long."""

from consentpack.length.moving import Chosen, Priced, choose

__all__ = ["Chosen", "Priced", "choose"]
