"""How hard a document is to read: textstat's grade of the very words that are exported.

What is handed to textstat is prepared, because it takes every full stop for the end of a sentence
and every line break for none. The prepared text can be shown, so that anybody can repeat the number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from consentpack.errors import Problem, ReadabilityError
from consentpack.model import Score, SectionScore, Sentence
from consentpack.tree import Document, Node, Paragraph, paragraphs, text_of

MEASURED_LANGUAGE = "en"
"""The Flesch-Kincaid constants are for English; in another language they would be a made-up number."""
FEWEST_WORDS = 30
"""Below this a grade says little (Flesch worked on samples of 100 words); below 30 it
is noise, and the words count in the document's grade alone."""

_ABBREVIATIONS = re.compile(
    r"\b(?:e\.g|i\.e|a\.m|p\.m|etc|Dr|Mr|Mrs|Ms|Prof|St|No|vs|approx|min|max)\.(?=\W|$)"
)
_PHONE = re.compile(r"\+?\d[\d ]{6,}\d")
_INNER_STOP = re.compile(r"(?<=\w)[.:](?=\w)")
_GLUE = re.compile(r"[–—/\-]")
_SENTENCE = re.compile(r"(?<=[.!?])\s+")


def prepare(text: str) -> str:
    """Text as it is scored: one sentence per full stop, no words glued together, ends with a stop.

    A telephone number counts as one word; decimal points, times and abbreviations end no sentence.
    """
    text = _PHONE.sub("number", text)
    text = _ABBREVIATIONS.sub(lambda found: found.group().replace(".", ""), text)
    text = _INNER_STOP.sub("", text)
    text = _GLUE.sub(" ", text).replace("…", ".")
    text = " ".join(text.split()).rstrip(" :;,")
    return text if not text or text[-1] in ".!?" or text[-2:] in (".”", "?”") else f"{text}."


def scored_paragraphs(nodes: Iterable[Node]) -> Iterator[Paragraph]:
    """Running words a patient reads. Headings, labels, contacts and references are left out."""
    for node in nodes:
        for paragraph in paragraphs(node):
            if paragraph.scored and paragraph.runs:
                yield paragraph


def scored_text(nodes: Iterable[Node]) -> str:
    """The text handed to textstat for some nodes."""
    prepared = (prepare(text_of(paragraph.runs)) for paragraph in scored_paragraphs(nodes))
    return " ".join(filter(None, prepared))


def parts(document: Document) -> list[tuple[str, str, tuple[Node, ...]]]:
    """Id, heading and nodes of what is scored: what leads ('opening'), then each section."""
    found = [(section.id, section.heading, section.nodes) for section in document.sections]
    return [("opening", document.title, document.lead), *found] if document.lead else found


def score(document: Document, target: float) -> Score:
    """The grade of a document and of each of its sections.

    Raises ReadabilityError for a language the measure was not made for.
    """
    language = document.language.split("-")[0].lower()
    if language != MEASURED_LANGUAGE:
        what = f"there is no Flesch-Kincaid grade for the language '{document.language}'."
        raise ReadabilityError(Problem(document.kind, what))
    texts = [(id, heading, scored_text(nodes)) for id, heading, nodes in parts(document)]
    sections = tuple(_section(id, heading, text) for id, heading, text in texts)
    whole = _section("", document.title, " ".join(filter(None, (text for _, _, text in texts))))
    return Score(document.kind, whole.words, whole.sentences, whole.grade, target, sections)


def _section(id: str, heading: str, text: str) -> SectionScore:
    import textstat  # noqa: PLC0415 - the dictionary takes half a second

    words = textstat.lexicon_count(text) if text else 0
    sentences = textstat.sentence_count(text) if text else 0
    grade = grade_of(text) if words >= FEWEST_WORDS else None
    return SectionScore(id, heading, words, sentences, grade)


def grade_of(prepared: str) -> float:
    """textstat's own Flesch-Kincaid grade of prepared English text (Kincaid et al. 1975)."""
    import textstat  # noqa: PLC0415

    return float(textstat.flesch_kincaid_grade(prepared))


def worst_sentences(document: Document, count: int = 5, section: str = "") -> list[Sentence]:
    """The hardest sentences, each with the file and line it was written in.

    `section` limits them to one section's id; '' looks at the whole document.
    """
    found: dict[str, Sentence] = {}
    for id, _, nodes in parts(document):
        if section in ("", id):
            for paragraph in scored_paragraphs(nodes):
                for sentence in _sentences(paragraph):
                    found.setdefault(sentence.text, sentence)
    return sorted(found.values(), key=lambda each: -each.grade)[:count]


def _sentences(paragraph: Paragraph) -> Iterator[Sentence]:
    for text in _SENTENCE.split(prepare(text_of(paragraph.runs))):
        words = len(text.split())
        if words > 2:
            yield Sentence(text, str(paragraph.source), grade_of(text), words)


def check(document: Document, result: Score) -> list[Problem]:
    """What keeps a document over its target: each part, with its worst sentences. Empty if met."""
    problems = []
    names = {each.id: each for each in result.sections}
    for id in result.over:
        part = f"{document.kind}, “{names[id].heading}”" if id else document.kind
        grade = names[id].grade if id else result.grade
        if grade is None:
            what = "there are too few words to score."
        else:
            what = f"the reading grade is {grade:.1f}; the target is {result.target:g}."
        worst = worst_sentences(document, 3, id)
        fix = "\n  ".join(f"{s.source}: grade {s.grade:.1f}: {s.text}" for s in worst)
        problems.append(Problem(part, what, fix))
    return problems
