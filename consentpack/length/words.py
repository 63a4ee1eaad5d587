"""The words of a document, all of them: what a reader has to get through, scored or not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import assert_never

from consentpack.readability import prepare, root, words_of
from consentpack.tree import (
    Box,
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Paragraph,
    Pictograph,
    Section,
    Table,
    contents,
    text_of,
)

SIGNS_A_WORD = 1.6
"""Chinese signs of a word, where no spaces tell words apart: read aloud, texts of the same content had 255 signs
and 158 words a minute (Trauzettel-Klosinski and Dietz 2012, doi:10.1167/iovs.11-8284; figures from memory)."""
_SIGN = re.compile("[\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff]")


def count(text: str, language: str = "en") -> float:
    """Words of some text, as `readability` parts them: a telephone number, a link or a date is one word.

    Chinese signs count as `SIGNS_A_WORD` of them a word, which is why it need not be a whole number.
    """
    signs = len(_SIGN.findall(text))
    rest = _SIGN.sub(" ", text) if signs else text
    return len(words_of(prepare(rest, root(language)))) + signs / SIGNS_A_WORD


def words_in(document: Document) -> dict[str, int]:
    """Id of each section -> its words, with its heading; '' -> title, notice and what leads.

    Not counted is what runs along every page, what stands for a picture, and lines to write on.
    """
    language = document.language
    opening = [document.title, document.notice, *_all(document.lead)]
    found = {"": _sum(opening, language)}
    for section in document.sections:
        # the clinic's own document may have two sections of one heading
        found[section.id] = found.get(section.id, 0) + _of_section(section, language)
    return found


def words_before_annex(document: Document) -> int:
    """Words of what stands before the annex; of all, where there is none."""
    opening = [document.title, document.notice, *_all(document.lead)]
    main = (section for section in document.sections if not section.annex)
    return _sum(opening, document.language) + sum(_of_section(each, document.language) for each in main)


def _of_section(section: Section, language: str) -> int:
    return _sum([section.heading, *_all(section.nodes)], language)


def _sum(texts: list[str], language: str) -> int:
    return round(sum(count(text, language) for text in texts))


def _all(nodes: tuple[Node, ...]) -> Iterator[str]:
    for node in nodes:
        yield from _texts(node)


def _texts(node: Node) -> Iterator[str]:
    """Each piece of text of a node, in reading order."""
    match node:
        case Box():
            yield node.title
            yield from _all(node.body)
        case Heading() | Paragraph() | Choice():
            yield text_of(node.runs)
        case Items():
            yield from (text_of(item.runs) for item in node.items)
        case Table():
            yield from node.columns
            for content in contents(node):
                if not isinstance(content, Pictograph):
                    yield from _texts(content)
        case Fields():
            yield from (node.title, text_of(node.statement), *(line.label for line in node.lines))
        case Facts():
            for label, value in node.pairs:
                yield from (label, value)
        case _:
            assert_never(node)
