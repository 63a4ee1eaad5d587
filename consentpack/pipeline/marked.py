"""A scored text with its hard sentences marked where they stand, and its report as a page by itself."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from consentpack.accessibility import Finding, check_file
from consentpack.length import measure
from consentpack.library import Library
from consentpack.model import ReadingRules, Score, SectionScore, Sentence
from consentpack.pipeline.place import scorer_of
from consentpack.pipeline.reading import SOURCE_TAG, ReadFile, ReportRow, read_document, write_score_report
from consentpack.readability import Scorer, parts, prepare, root, scored_paragraphs, split, target_for
from consentpack.readers import READERS, read_file
from consentpack.tree import text_of

WORD_FILES = (".docx",)
"""Kinds of file that the rules of accessibility look at."""


def readable() -> tuple[str, ...]:
    """Endings of the files that can be scored."""
    return tuple(READERS)


@dataclass(frozen=True)
class MarkedSentence:
    """One sentence as it was scored, and whether it is over the target by itself."""

    text: str
    hard: Sentence | None
    """Its grade, length and long words, where it is over; None where it is not, or is too short to say."""


@dataclass(frozen=True)
class MarkedPart:
    """One part of a text with its grade."""

    score: SectionScore
    paragraphs: tuple[tuple[MarkedSentence, ...], ...]


def marked(read: ReadFile, library: Library) -> tuple[MarkedPart, ...]:
    """The very text that was scored, part by part, with each sentence that is over the target."""
    scorer, document = scorer_of(library), read.document
    hard = _hard(scorer, read)
    scores = {each.id: each for each in read.score.sections}
    return tuple(
        MarkedPart(
            scores[id],
            tuple(
                tuple(MarkedSentence(text, hard.get(text)) for text in sentences)
                for paragraph in scored_paragraphs(nodes)
                if (sentences := split(prepare(text_of(paragraph.runs), root(document.language))))
            ),
        )
        for id, _, nodes in parts(document)
    )


def _hard(scorer: Scorer, read: ReadFile) -> dict[str, Sentence]:
    """The sentences that are over the target by themselves."""
    target = read.score.target
    if target is None:
        return {}
    every = scorer.worst_sentences(read.document, read.score.sentences)
    return {each.text: each for each in every if not target.met(each.grade)}


@dataclass(frozen=True)
class Handed:
    """A file that was handed in: how it reads, and for a Word file how it can be used."""

    name: str
    read: ReadFile
    parts: tuple[MarkedPart, ...]
    findings: tuple[Finding, ...] | None
    """None for what is no Word file."""


def score_handed(
    name: str, content: bytes, library: Library, rules: ReadingRules, *, language: str = SOURCE_TAG
) -> Handed:
    """Score a file by its bytes; it lies on the disk only while it is read. Raises ReadError."""
    shown = Path(name.replace("\\", "/")).name or "file"
    with tempfile.TemporaryDirectory(prefix="consentpack-") as folder:
        path = Path(folder) / f"text{Path(shown).suffix.lower()}"
        path.write_bytes(content)
        document = read_file(path, shown=shown, language=language)
        findings = check_file(path, shown=shown) if path.suffix in WORD_FILES else None
    if document.title == path.stem:  # it names itself nowhere; the name it has here is no word of it
        document = replace(document, title="")
    target = target_for("", language, rules, library.targets)
    score = scorer_of(library).score(document, target)
    read = read_document(document, score, library, measure(document))
    return Handed(shown, read, marked(read, library), findings)


def report_page(handed: Handed) -> bytes:
    """The report of one text as an HTML file that needs nothing else."""
    with tempfile.TemporaryDirectory(prefix="consentpack-") as folder:
        path = Path(folder) / "report.html"
        write_score_report([_row(handed)], path)
        return path.read_bytes()


def _row(handed: Handed) -> ReportRow:
    read, name = handed.read, handed.name
    title = read.document.title or name
    return ReportRow(
        "file", name, title, read.document.language, name, read.score, read.remarks, None, read.length
    )


def by_rule(findings: tuple[Finding, ...]) -> Iterator[tuple[str, list[Finding]]]:
    """Findings under their rules, in the order of the rules."""
    rules = dict.fromkeys(finding.rule for finding in findings)
    return ((rule, [each for each in findings if each.rule == rule]) for rule in rules)


def hardest(score: Score) -> float:
    """The largest value of any part, to draw all of them on one scale."""
    values = [each.grade for each in score.sections if each.grade is not None]
    limit = score.target.limit if score.target else 0.0
    return max([*values, score.grade or 0.0, limit, 1.0])
