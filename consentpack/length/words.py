"""The words of a document, all of them: what a reader has to get through, scored or not."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack.model import SectionLength
from consentpack.readability import prepare, root, words_of
from consentpack.tree import Document, Node, texts

SIGNS_A_WORD = 1.6
"""Chinese signs of a word, where no spaces tell words apart: read aloud, texts of the same content had 255
signs and 158 words a minute (Trauzettel-Klosinski and Dietz 2012, doi:10.1167/iovs.11-8284; the figures from
memory). By it this library's texts have 1.01 words in Chinese for each in English."""
_SIGN = re.compile("[\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff]")


def count(text: str, language: str = "en") -> float:
    """Words of some text, as `readability` parts them: a telephone number, a link or a date is one word.

    Chinese signs count as `SIGNS_A_WORD` of them a word, which is why it need not be a whole number.
    """
    signs = len(_SIGN.findall(text))
    rest = _SIGN.sub(" ", text) if signs else text
    return len(words_of(prepare(rest, root(language)))) + signs / SIGNS_A_WORD


def words_in(document: Document) -> tuple[SectionLength, ...]:
    """The words of title, notice and what leads, then of each section.

    Not counted is what runs along every page, what stands for a picture, and lines to write on with their
    labels: they are filled in, not read.
    """
    counted: dict[str, float] = {}
    """Many cells say the same; it is forgotten with the document."""

    def words(*texts: str) -> int:
        for text in texts:
            if text not in counted:
                counted[text] = count(text, document.language)
        return round(sum(counted[text] for text in texts))

    opening = SectionLength("", "", words(document.title, document.notice, *_all(document.lead)))
    sections = (
        SectionLength(each.id, each.heading, words(each.heading, *_all(each.nodes)))
        for each in document.sections
    )
    return (opening, *sections)


def _all(nodes: tuple[Node, ...]) -> Iterator[str]:
    return (words for node in nodes for words in texts(node))
