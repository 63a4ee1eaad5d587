"""The list of contents of a Word file: lines that lead to its parts, each with the page the part is on.

Word counts the pages of such a line anew only when it is told to; LibreOffice does so whenever it draws a
file. So the numbers that stand there are reckoned first (`length`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from consentpack.export import _ooxml as x
from consentpack.length import pages_of_bookmarks
from consentpack.tree import Document, Items, led_to

STYLE = "Contents"


@dataclass(frozen=True)
class Led:
    """Which parts of a document are led to, and on which page each is."""

    bookmarks: Mapping[str, str] = field(default_factory=dict)
    """Id of a section -> the name of its bookmark."""
    pages: Mapping[str, int] = field(default_factory=dict)
    """Name of a bookmark -> its page; empty until the pages have been counted."""

    def heading(self, words: str, section: str) -> str:
        """The words of a section's heading, with its bookmark where something leads to it."""
        name = self.bookmarks.get(section)
        return x.bookmarked(words, name, list(self.bookmarks).index(section)) if name else words

    def line(self, words: str, section: str) -> str:
        """One line of the contents: words, dots, page."""
        name = self.bookmarks[section]
        return words + x.tab() + x.page_of(name, str(self.pages.get(name, "")))

    def counted(self, word_file: bytes) -> Led:
        """The same with the pages of a file that was made without them."""
        return Led(self.bookmarks, pages_of_bookmarks(word_file))


def led_in(document: Document) -> Led:
    """What the words of a document lead to. Nothing, in most."""
    return Led({section: f"part_{number}" for number, section in enumerate(led_to(document), 1)})


def is_contents(items: Items) -> bool:
    """Whether each item is a name that leads to a part."""
    return all(len(item.runs) == 1 and item.runs[0].to for item in items.items)
