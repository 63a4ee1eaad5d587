"""Scores of a document and its sections, and what explains them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from consentpack.model import HardWord, Measured, ReadingTarget, Score, SectionScore, Sentence, Term
from consentpack.readability import formulas
from consentpack.readability.counts import Counts, sentence_counts, total, words_counts
from consentpack.readability.measures import Measure, measures_for
from consentpack.readability.plain_terms import PlainTerms
from consentpack.readability.prepare import prepare, split, words_of
from consentpack.readability.syllables import Syllables
from consentpack.readability.textstats_own import forget, textstat_grade, textstat_value
from consentpack.signs import root
from consentpack.tree import (
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Node,
    Paragraph,
    Table,
    bodies,
    paragraphs,
    text_of,
)

FEWEST_WORDS = 30
"""Below this a grade says little (Flesch worked on samples of 100 words); below 30 it
is noise, and the words count in the document's grade alone."""
USUAL_SPREAD = 5.0
"""Formulas differ by up to five grades on one text (Wang 2013, doi:10.1016/j.sapharm.2012.05.009);
more than that says that one of them was misled."""
FIRST_GRADE = 1.0
SMOG_ABOVE = 2.5
"""SMOG reads two to three grades above Flesch-Kincaid, because it predicts full understanding; that is
no disagreement."""
HARD_SYLLABLES = 3
SHORTEST_NAMED = 6
"""Words. The grade of a shorter sentence says little, so none is held up as the hardest."""


@dataclass(frozen=True)
class Piece:
    """One prepared sentence with its counts and its place."""

    text: str
    source: str
    part: str
    """Id of the section."""
    counts: Counts
    words: tuple[str, ...] = ()


class Scorer:
    """Scores documents with one lexicon. Keeps single words between documents, never a text.

    `lexicon` maps words to syllables; `terms` are the glossary's, for the grade without them.
    """

    def __init__(self, lexicon: Mapping[str, int], terms: Iterable[Term] = ()) -> None:
        self.syllables = Syllables(lexicon)
        self._plain = PlainTerms(terms)

    # --- text ------------------------------------------------------------------------------

    def pieces(self, document: Document) -> list[Piece]:
        """Every scored sentence of a document, in reading order."""
        language = root(document.language)
        return [
            self.piece(sentence, language, source=str(paragraph.source), part=id)
            for id, _, nodes in parts(document)
            for paragraph in scored_paragraphs(nodes)
            for sentence in split(prepare(text_of(paragraph.runs), language))
        ]

    def piece(self, sentence: str, language: str = "en", *, source: str = "", part: str = "") -> Piece:
        """One prepared sentence, counted."""
        words = words_of(sentence)
        return Piece(sentence, source, part, words_counts(words, self.syllables, language), tuple(words))

    def counts(self, text: str, language: str = "en") -> Counts:
        """Counts of text as it was written."""
        return self.counts_of(prepare(text, root(language)), language)

    def counts_of(self, prepared: str, language: str = "en") -> Counts:
        """Counts of prepared text."""
        return total(sentence_counts(s, self.syllables, root(language)) for s in split(prepared))

    # --- scores ----------------------------------------------------------------------------

    def score(
        self, document: Document, target: ReadingTarget | None, *, pieces: list[Piece] | None = None
    ) -> Score:
        """The score of a document and of each of its sections against a target.

        `pieces` are its own, where somebody has them already.
        """
        try:
            return self._score(document, target, self.pieces(document) if pieces is None else pieces)
        finally:
            forget()

    def _score(self, document: Document, target: ReadingTarget | None, pieces: list[Piece]) -> Score:
        made = measures_for(document.language)
        by_part = {id: [p for p in pieces if p.part == id] for id, _, _ in parts(document)}
        whole = total(p.counts for p in pieces)
        sections = tuple(
            self._section(id, heading, by_part[id], document.language) for id, heading, _ in parts(document)
        )
        prepared = " ".join(piece.text for piece in pieces)
        own = textstat_grade(prepared) if self._english(document) and whole.words else None
        measures = tuple(_measured(each, whole, prepared) for each in made)
        return Score(
            document.kind,
            whole.words,
            whole.sentences,
            _deciding(whole, document.language, own),
            target if made else None,
            sections,
            measure=made[0].name if made else "",
            language=document.language,
            corrected=formulas.flesch_kincaid(whole) if own is not None else None,
            textstat=own,
            plain_terms=self._plain_terms(document, pieces),
            measures=measures,
            spread=_spread(measures),
            sentence_length=whole.words / whole.sentences if whole.sentences else 0.0,
            long_words=100 * whole.long_words / whole.words if whole.words else 0.0,
            left_out=left_out(document),
        )

    def grade(self, prepared: str, language: str = "en") -> float:
        """The deciding value of prepared text, however short; 0.0 for no text."""
        counts = self.counts_of(prepared, language)
        own = textstat_grade(prepared) if root(language) == "en" and counts.words else None
        forget()
        found = _value(counts, language, own)
        return 0.0 if found is None else found

    def _section(self, id: str, heading: str, pieces: list[Piece], language: str) -> SectionScore:
        counts = total(p.counts for p in pieces)
        english = root(language) == "en" and counts.words >= FEWEST_WORDS
        own = textstat_grade(" ".join(p.text for p in pieces)) if english else None
        return SectionScore(id, heading, counts.words, counts.sentences, _deciding(counts, language, own))

    def _english(self, document: Document) -> bool:
        return root(document.language) == "en"

    def _plain_terms(self, document: Document, pieces: list[Piece]) -> float | None:
        if not self._english(document):
            return None
        changed = [self._plain.in_(piece.text) for piece in pieces]
        counts = total(
            piece.counts if new == piece.text else self.counts_of(new)
            for piece, new in zip(pieces, changed, strict=True)
        )
        return formulas.flesch_kincaid(counts) if counts.words >= FEWEST_WORDS else None

    # --- explanation -----------------------------------------------------------------------

    def worst_sentences(self, document: Document, count: int = 5, section: str = "") -> list[Sentence]:
        """The hardest sentences once each, with their file and line, length and hard words.

        `section` limits them to one section's id; '' looks at the whole document.
        """
        found: dict[str, Sentence] = {}
        for piece in self.pieces(document):
            if section in ("", piece.part) and piece.counts.words >= SHORTEST_NAMED:
                found.setdefault(piece.text, self._sentence(piece, document.language))
        high_is_hard = not (made := measures_for(document.language)) or made[0].high_is_hard
        sign = -1 if high_is_hard else 1
        return sorted(found.values(), key=lambda each: sign * each.grade)[:count]

    def value(self, piece: Piece, language: str = "en") -> float:
        """The deciding value of one sentence; its words where the language has no measure."""
        value = _value(piece.counts, language, None)
        return float(piece.counts.words) if value is None else value

    def _sentence(self, piece: Piece, language: str) -> Sentence:
        return Sentence(
            piece.text,
            piece.source,
            self.value(piece, language),
            piece.counts.words,
            self.hard_words(piece.text) if root(language) == "en" else (),
        )

    def hard_words(self, sentence: str) -> tuple[HardWord, ...]:
        """Words of three or more syllables, the hardest first."""
        counted = {w: self.syllables.of(w).corrected for w in words_of(sentence)}
        hard = (HardWord(w, n) for w, n in counted.items() if n >= HARD_SYLLABLES)
        return tuple(sorted(hard, key=lambda each: -each.syllables))


def scored_paragraphs(nodes: Iterable[Node]) -> Iterator[Paragraph]:
    """Running words a patient reads. Headings, labels, contacts and references are left out."""
    for node in nodes:
        for paragraph in paragraphs(node):
            if paragraph.scored and paragraph.runs:
                yield paragraph


def scored_text(nodes: Iterable[Node], language: str = "en") -> str:
    """The text handed to textstat for some nodes."""
    prepared = (prepare(text_of(p.runs), root(language)) for p in scored_paragraphs(nodes))
    return " ".join(filter(None, prepared))


def parts(document: Document) -> list[tuple[str, str, tuple[Node, ...]]]:
    """Id, heading and nodes of what is scored: what leads ('opening'), then each section."""
    found = [(section.id, section.heading, section.nodes) for section in document.sections]
    return [("opening", document.title, document.lead), *found] if document.lead else found


def left_out(document: Document) -> dict[str, int]:
    """What is not scored, by kind: a number that leaves something out should say so."""
    found: Counter[str] = Counter(headings=len(document.sections))
    for _, _, nodes in parts(document):
        for node in nodes:
            for body in bodies(node):
                found["headings"] += isinstance(body, Heading)
                found["table headings"] += len(body.columns) if isinstance(body, Table) else 0
                found["labelled facts"] += len(body.pairs) if isinstance(body, Facts) else 0
                found["lines to fill in"] += len(body.lines) if isinstance(body, Fields) else 0
            found["names, contacts and references"] += sum(
                not p.scored for p in paragraphs(node) if not isinstance(node, Choice)
            )
    return {kind: number for kind, number in found.items() if number}


def _deciding(counts: Counts, language: str, own: float | None) -> float | None:
    """The value that is judged; None when there is too little text or no measure."""
    return _value(counts, language, own) if counts.words >= FEWEST_WORDS else None


def _value(counts: Counts, language: str, own: float | None) -> float | None:
    """The first measure of a language; in English the harder of ours and textstat's own."""
    made = measures_for(language)
    value = made[0].of(counts) if made else None
    return value if value is None or own is None else max(value, own)


def _measured(measure: Measure, counts: Counts, prepared: str) -> Measured:
    value = measure.of(counts) if counts.words >= FEWEST_WORDS else None
    why = ""
    if value is None:
        fewest = measure.fewest_sentences
        few = f"it needs {fewest} sentences; there are {counts.sentences}"
        why = few if counts.sentences < fewest else f"it needs {FEWEST_WORDS} words; there are {counts.words}"
    as_grade = measure.grade(counts) if measure.grade and value is not None else None
    own = textstat_value(measure.id, prepared) if value is not None and measure.language == "en" else None
    return Measured(measure.id, measure.name, value, why, as_grade, own)


def _spread(measures: tuple[Measured, ...]) -> tuple[str, ...]:
    """A warning where the measures that speak in grades disagree more than they usually do."""
    # Dale-Chall's lowest band says "grade 4 or below", which disagrees with nothing easy
    lowest = formulas.DALE_CHALL_LOWEST
    graded = [m for m in measures if m.as_grade is not None]
    graded = [m for m in graded if m.id != "dale-chall" or (m.as_grade or 0) > lowest]
    if len(graded) < 2:
        return ()
    low, high = min(graded, key=_level), max(graded, key=_level)
    apart = _level(high) - _level(low)
    if apart <= USUAL_SPREAD:
        return ()
    said = f"{low.name} says grade {low.as_grade:.0f}, {high.name} {high.as_grade:.0f}"
    return (f"the measures are {apart:.0f} grades apart ({said}); let a person read it.",)


def _level(measured: Measured) -> float:
    """A measure's grade, less what it usually lies above the others; no grade is below the first."""
    grade = (measured.as_grade or 0.0) - (SMOG_ABOVE if measured.id == "smog" else 0.0)
    return max(FIRST_GRADE, grade)
