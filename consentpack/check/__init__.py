"""Checks of the library beyond reading it."""

from consentpack.check.lint import check_library
from consentpack.check.rare_words import check_rare_words
from consentpack.check.sample import module_document

__all__ = ["check_library", "check_rare_words", "module_document"]
