"""A test of a text with readers: sheets with gaps, the marks of each reader, and what they say.

The cloze procedure (Taylor 1953, Journalism Quarterly 30:415): every fifth word is a gap, and only the very
word that stood there is right. `cloze` a document -> gaps; `marks` a spreadsheet of readers -> their marks;
`counting` marks -> how many were right.
"""

from consentpack.reader_test.cloze import Cloze, Gap, cloze_of, key_text
from consentpack.reader_test.counting import Counted, Difference, count, difference
from consentpack.reader_test.marks import MARKED_AS, Reader, Sheet, read_marks, workbook

__all__ = [
    "MARKED_AS",
    "Cloze",
    "Counted",
    "Difference",
    "Gap",
    "Reader",
    "Sheet",
    "cloze_of",
    "count",
    "difference",
    "key_text",
    "read_marks",
    "workbook",
]
