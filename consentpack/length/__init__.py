"""How long a document is, how long it may be, and what moves to the paper behind where one would be too long.

`words` counts; `word_file` (`styles`, `lines`, `letters`, `fonts`, `pages`) tells the sides of paper;
`targets` knows the limits; `measuring` puts them together; `check` says what is over.
"""

from consentpack.length.check import check, told
from consentpack.length.measuring import measure, what_counts
from consentpack.length.moving import Chosen, Priced, choose
from consentpack.length.pdf_pages import pages_in
from consentpack.length.targets import limits_of
from consentpack.length.word_file import pages_of_bookmarks, sides_of
from consentpack.length.words import count, words_in

__all__ = [
    "Chosen",
    "Priced",
    "check",
    "choose",
    "count",
    "limits_of",
    "measure",
    "pages_in",
    "pages_of_bookmarks",
    "sides_of",
    "told",
    "what_counts",
    "words_in",
]
