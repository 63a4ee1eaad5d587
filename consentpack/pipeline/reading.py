"""Reading scores: of any file, and of the whole library in every language there is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from consentpack import shipped
from consentpack.advice import advise, layout_of, mended
from consentpack.approvals import key_of, load_approvals
from consentpack.catalogues import Catalogue, available, load
from consentpack.check import module_document
from consentpack.export.score_report import hardest_first, score_report
from consentpack.files import write_file
from consentpack.length import measure
from consentpack.library import Library
from consentpack.model import (
    Approval,
    DocumentPlan,
    Ease,
    Layout,
    Length,
    Module,
    ReadingRules,
    Remark,
    Score,
)
from consentpack.pipeline.place import Workplace, scorer_of
from consentpack.readability import FEWEST_WORDS, Piece, ease_of, has_ease, parts, scored_text, target_for
from consentpack.readers import read_file
from consentpack.tree import Document

SOURCE_TAG = "en-GB"


@dataclass(frozen=True)
class ReadFile:
    """A file of any make, or a document of a plan, scored, with what an editor would mend."""

    name: str
    document: Document
    score: Score
    remarks: tuple[Remark, ...]
    mended: float | None
    """The grade if every suggestion were taken."""
    length: Length
    """Without sides for a file from elsewhere: how it is printed is not ours to say."""
    ease: Ease | None = None
    """The score beside the grade; None for a language without one, and for too few words."""

    @property
    def layout(self) -> Layout:
        """What a program can see of its layout and use."""
        return layout_of(self.document)

    @property
    def text(self) -> str:
        """The very text that was scored."""
        nodes = (nodes for _, _, nodes in parts(self.document))
        return "\n".join(scored_text(some, self.document.language) for some in nodes)


@dataclass(frozen=True)
class ReportRow:
    """One module or document in one language."""

    folder: str
    id: str
    title: str
    language: str
    file: str
    score: Score
    remarks: tuple[Remark, ...]
    approved_grade: float | None
    """The grade of the text that was last approved; None when none was."""
    length: Length
    """Without sides for a module, which is printed in documents alone."""
    ease: Ease | None = None
    """The score beside the grade; None for a language without one, and for too few words."""

    @property
    def over(self) -> tuple[str, ...]:
        """Ids of what misses the target. A module too short to score is no document, and misses none."""
        short = self.folder != "packs" and self.score.words < FEWEST_WORDS
        return () if short else self.score.over

    @property
    def too_long(self) -> tuple[str, ...]:
        """What of its length is over a limit."""
        return self.length.over

    @property
    def trend(self) -> float | None:
        """How far the grade has gone since the last approved text; above 0 is harder."""
        if self.approved_grade is None or self.score.grade is None:
            return None
        return self.score.grade - self.approved_grade


def score_file(
    path: Path, library: Library, rules: ReadingRules, *, language: str = SOURCE_TAG, advice: bool = True
) -> ReadFile:
    """Score a text the clinic already has; with `advice`, say what an editor would mend.

    Raises ReadError when the file cannot be read.
    """
    scorer = scorer_of(library)
    document = read_file(path, shown=str(path), language=language)
    pieces = scorer.pieces(document)
    score = scorer.score(document, target_for("", language, rules, library.targets), pieces=pieces)
    # a file that names itself nowhere is called as it lies there, and nobody reads that in it
    words = replace(document, title="") if document.title == path.stem else document
    return _read(document.kind, document, score, measure(words), library, advice=advice, pieces=pieces)


def score_plans(place: Workplace, paths: Iterable[Path], *, advice: bool = True) -> list[ReadFile]:
    """The documents of some plans that have to be easy to read, scored and measured. No file is kept."""
    from consentpack.pipeline.packs import judge_plan  # noqa: PLC0415 - it brings register and Word

    return [
        _read(name, document, score, judged.measures.of(document.kind), place.library, advice=advice)
        for judged in (judge_plan(place, path, large_print=True) for path in paths)
        for document, score in judged.scored()
        if (name := f"{judged.plan.reference} {document.kind}")
    ]


def read_document(document: Document, score: Score, library: Library, length: Length) -> ReadFile:
    """A document that was scored and measured, with what an editor would mend."""
    return _read(document.kind, document, score, length, library, advice=True)


def _read(
    name: str,
    document: Document,
    score: Score,
    length: Length,
    library: Library,
    *,
    advice: bool,
    pieces: list[Piece] | None = None,
) -> ReadFile:
    remarks = remarks_on(document, library) if advice else []
    better = mended(remarks, document, scorer_of(library)) if advice else None
    return ReadFile(name, document, score, tuple(remarks), better, length, _ease(document, library, pieces))


def _ease(document: Document, library: Library, pieces: list[Piece] | None = None) -> Ease | None:
    """`pieces` are the document's own, where somebody has them already."""
    if not has_ease(document.language):
        return None
    found = scorer_of(library).pieces(document) if pieces is None else pieces
    return ease_of(found, library.ease, library.terms)


def remarks_on(document: Document, library: Library) -> list[Remark]:
    """What an editor would mend in a document, by the library's glossary and house style."""
    scorer = scorer_of(library)
    return advise(document, scorer, terms=library.terms, spoken=library.syllables, style=library.style)


def library_report(
    library: Library,
    place: Workplace | None = None,
    *,
    ids: Iterable[str] = (),
    languages: Iterable[str] = (),
    plans: Iterable[Path] = (),
) -> list[ReportRow]:
    """Every module (or those of `ids`) in every language (or those of `languages`), and the patient documents
    of `plans`, the hardest first."""
    rules = place.clinic.reading if place else ReadingRules()
    approvals = load_approvals(place.folder) if place else ()
    wanted, rows = set(ids), []
    for catalogue in _catalogues(place, list(languages)):
        for folder, module in _patients(library):
            if not wanted or {module.id, f"{folder}/{module.id}"} & wanted:
                rows.append(_row(folder, module, library, rules, catalogue, approvals))
    if place:
        rows += [row for path in plans for row in _pack_rows(place, path)]
    return sorted(rows, key=hardest_first)


def _patients(library: Library) -> Iterator[tuple[str, Module]]:
    """The modules that a patient reads, or has read to them."""
    for folder, module in library.modules():
        if not (isinstance(module, DocumentPlan) and module.audience == "clinician" and not module.scored):
            yield folder, module


def _row(
    folder: str,
    module: Module,
    library: Library,
    rules: ReadingRules,
    catalogue: Catalogue,
    approvals: Iterable[Approval],
) -> ReportRow:
    tag = catalogue.language

    def translate(text: str) -> str:
        return catalogue.block(text).text

    document = module_document(folder, module, library, language=tag, translate=translate)
    pieces = scorer_of(library).pieces(document)
    target = target_for("", tag, rules, library.targets)
    score = scorer_of(library).score(document, target, pieces=pieces)
    key = key_of(module.file)
    before = [a.grade for a in approvals if a.module == key and a.language.split("-")[0] == tag.split("-")[0]]
    remarks = tuple(remarks_on(document, library))
    title, last = translate(module.title), before[-1] if before else None
    length, beside = measure(document), _ease(document, library, pieces)
    return ReportRow(folder, module.id, title, tag, module.file, score, remarks, last, length, beside)


def _pack_rows(place: Workplace, path: Path) -> Iterator[ReportRow]:
    from consentpack.pipeline.packs import judge_plan  # noqa: PLC0415 - it brings register and Word

    judged = judge_plan(place, path, large_print=True)
    for document, score in judged.scored():
        remarks = tuple(remarks_on(document, place.library))
        id = f"{judged.plan.reference} {document.kind}"
        length = judged.measures.of(document.kind)
        title, tag = document.title, document.language
        beside = _ease(document, place.library)
        yield ReportRow("packs", id, title, tag, str(path), score, remarks, None, length, beside)


def _catalogues(place: Workplace | None, languages: list[str]) -> Iterator[Catalogue]:
    """The language of the content, and every other there is a catalogue for."""
    folders = place.locales if place else (shipped.locales(),)
    own = place.clinic.language if place else SOURCE_TAG
    tags = [own if own.startswith("en") else SOURCE_TAG]
    tags += available(folders)
    for tag in languages or tags:
        yield load(tag, folders, where="--language")


def write_score_report(rows: list[ReportRow], path: Path) -> None:
    """Write the report as one HTML file. Raises OutputError when it cannot be written."""
    write_file(path, score_report(rows, title="How hard our texts are to read"))
