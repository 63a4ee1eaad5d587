"""Headings of sections that the program looks for by name, and the word of a mark."""

from __future__ import annotations

ANSWERS = "When you can"
"""The section of aftercare topics whose points become the table of when one may do what."""
NOTES = "Notes on the sheet"
"""Of aftercare topics: what stands below that table on the short sheet, each with a mark '[sheet name]'."""
CARD = "On the card"
"""Of aftercare topics: questions to tick at each of `check_hours`."""
IN_SHORT = "On the sheet"
"""Of warnings: all its signs in as few words as can be, for the short sheet. Without it, its title."""
ALWAYS = "always"
"""The word of a mark '[sheet always]': what no shortening takes off the short sheet."""
