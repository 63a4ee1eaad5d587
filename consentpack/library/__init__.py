"""The library: content files, ours and the clinic's own, read once and checked as a whole."""

from consentpack.library.loader import load_library
from consentpack.library.value import KINDS, Library

__all__ = ["KINDS", "Library", "load_library"]
