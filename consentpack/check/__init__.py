"""Checks of the library beyond reading it."""

from consentpack.check.lint import check_library
from consentpack.check.sample import module_document

__all__ = ["check_library", "module_document"]
