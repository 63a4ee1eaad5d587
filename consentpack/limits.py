"""How much a text, a number or a file may hold, in one place.

Every limit lies far above what a clinic writes and far below what fills a computer's memory or an
afternoon. Where nothing else is named, a limit is our own policy: measured on this program, not taken
from outside.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib

MOST_BYTES = 50_000_000
"""Of any file handed in: a mistaken film or disk image must not fill the memory."""
MOST_TEXT = 1_000_000
"""Characters of one text to be scored, some 170,000 words: more than a long novel, and no form."""
MOST_SETTINGS = 2_000_000
"""Characters of one TOML file. Twenty years of approvals of a whole library are half of it."""
DEEPEST_TABLES = 40
"""Brackets open at once in TOML. What we read is three deep; Python's reader fails at some hundreds."""
LONGEST_NUMBER = 18
"""Digits. Longer numbers fit no column of a database and no sentence."""
LONGEST_CELL = 131_072
"""Characters of one cell of a table of the library: what Python's csv module takes unless told otherwise."""
LONGEST_REFERENCE = 100
"""Characters of a plan's reference: it names a folder, and a name on a disk has at most 255 bytes (the
usual limit of file systems, NAME_MAX of POSIX), of which a letter may take four and our mark nine."""
FIRST_YEAR, LAST_YEAR = 1900, 2199
"""Of any date we count from: months and days added or taken away must stay on the calendar."""
LONGEST_WINDOW = 1200
"""Months: a hundred years of audit."""
LARGEST_COUNT = 1_000_000
"""Of any whole number in a settings or content file."""
MARK = re.compile(r"[*_`\[\]<>&!\\]")
MOST_MARKS = 600
"""Signs of Markdown in one paragraph. The parser's time grows with their square; a paragraph of this
library has fewer than twenty."""
DEEPEST_MARKUP = 200
"""Elements of HTML open at once. Browsers stop at 512 (Chromium's and WebKit's parser; from memory)."""
MOST_UNPACKED = 100_000_000
"""Bytes of all parts of a zip file, pictures too. A small zip file can hold more than any memory."""
MOST_XML = 20_000_000
"""Bytes of one XML part. Parsed it takes up to fifty times as much memory when it is all tags."""
MOST_TAGS = 300_000
"""Beginnings and ends of elements in all XML parts. Our own longest form has some 20,000."""
MOST_PARTS = 2_000
"""Files inside a zip file."""
MOST_SAVED_BYTES = 100_000_000_000
"""Of all files of a clinic folder in a backup: ten thousand patients with photographs of ten megabytes."""
MOST_SAVED_FILES = 300_000
"""In a backup: twenty years of a thousand packs of fifteen files."""
MOST_LISTED = 200_000_000
"""Bytes of a backup's own list, which is read as a whole: some hundreds for each file."""
LONGEST_PHRASE = 20_000
"""Characters of one translated text; the longest of the library has some hundreds."""


class OverLimit(ValueError):
    """Something is larger, deeper or longer than we read. Says what, as the end of a sentence."""


class bounded_zip:
    """A zip file whose parts can be read without filling the memory.

    Raises OverLimit on opening when it holds too many parts or too much, and zipfile.BadZipFile when it
    is none. The sizes are those of the directory; Python never unpacks more of a part than is said there.
    """

    def __init__(self, data: bytes, *, unpacked: int = MOST_UNPACKED, parts: int = MOST_PARTS):
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
        except (ValueError, OverflowError, struct.error) as error:  # a directory that lies about its place
            raise zipfile.BadZipFile(str(error)) from None
        self.parts = self._zip.infolist()
        if len(self.parts) > parts:
            raise OverLimit(f"unpacked, it has more than {parts} parts")
        if sum(part.file_size for part in self.parts) > unpacked:
            raise OverLimit(f"unpacked, it has more than {unpacked // 1_000_000} million bytes")

    def __enter__(self) -> bounded_zip:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    @property
    def names(self) -> set[str]:
        return {part.filename for part in self.parts}

    @property
    def locked(self) -> bool:
        """Whether a part needs a password."""
        return any(part.flag_bits & 1 for part in self.parts)

    def read(self, name: str, *, most: int = MOST_XML) -> bytes:
        """One part's bytes. Raises OverLimit when there are more than `most`, BadZipFile when damaged."""
        if self._zip.getinfo(name).file_size > most:
            raise OverLimit(f"its part '{name}' has more than {most // 1_000_000} million bytes")
        try:
            return self._zip.read(name)
        except (ValueError, OverflowError, struct.error) as error:
            raise zipfile.BadZipFile(str(error)) from None

    def check_tags(self, *, most: int = MOST_TAGS) -> None:
        """Raise OverLimit when the XML parts hold more tags than any document written by people."""
        count = 0
        for part in self.parts:
            if part.filename.lower().endswith((".xml", ".rels", ".vml")):
                count += self.read(part.filename).count(b"<")
        if count > most:
            raise OverLimit(f"it has more than {most} tags")


DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError)
"""What reading a damaged zip file raises."""


def check_text(text: str, *, most: int = MOST_TEXT) -> None:
    """Raise OverLimit when a text is longer than any form."""
    if len(text) > most:
        raise OverLimit(f"it has more than {most} characters of text")
