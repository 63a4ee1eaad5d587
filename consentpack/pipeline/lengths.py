"""How long the documents of a pack are: of the very Word files it would hold, or of their PDFs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from consentpack.export import EXPORTERS, Paper
from consentpack.export.look import Look
from consentpack.export.pdf import export_pdf
from consentpack.length import limits_of, measure, pages_in, sides_of, what_counts
from consentpack.model import Length, Limits
from consentpack.pipeline.prepare import Prepared
from consentpack.tree import Document

_USUAL, _LARGE = "docx", "large-print"


@dataclass(frozen=True)
class WordFile:
    """A Word file that was made to be measured. It need not be made again if its document stays as it is."""

    document: Document
    content: bytes


@dataclass(frozen=True)
class Measures:
    """How long documents are, and the Word files by which that was found, by format and kind."""

    lengths: tuple[Length, ...] = ()
    files: Mapping[tuple[str, str], WordFile] = field(default_factory=dict)

    def __or__(self, other: Measures) -> Measures:
        return Measures((*self.lengths, *other.lengths), {**self.files, **other.files})

    def of(self, kind: str) -> Length:
        """How long the document of a kind is."""
        return next(each for each in self.lengths if each.kind == kind)


def measures_of(prepared: Prepared, documents: Iterable[Document], marks: tuple[str, ...]) -> Measures:
    """How long each document is; in large print too where that was asked for.

    `marks` are those of a draft: their line on every page takes room. Where PDFs are wanted, sides that are
    limited are those of a PDF.
    """
    found = Measures()
    for document in documents:
        found |= _measured(prepared, replace(document, draft=marks))
    return _as_drawn(found) if prepared.wanted.pdf else found


def limits_for(prepared: Prepared, kind: str, *, language: str) -> Limits:
    """How long a kind of document may be, for this plan and in a language."""
    return limits_of(
        kind,
        language=language,
        plan=prepared.plan,
        clinic=prepared.place.clinic,
        library=prepared.place.library,
    )


def sides_in(prepared: Prepared, document: Document) -> int:
    """Sides of paper of a document as a draft, counted without drawing it."""
    paper = Paper(prepared.plan.prepared, Look(prepared.place.clinic.brand))
    marked = replace(document, draft=("",))
    return sides_of(EXPORTERS[_USUAL].export(marked, paper)).sides


def _measured(prepared: Prepared, document: Document) -> Measures:
    place, names = prepared.place, [_USUAL, *({_LARGE} & prepared.wanted.formats)]
    limits = limits_for(prepared, document.kind, language=document.language)
    counted, paper = what_counts(document, limits), Paper(prepared.plan.prepared, Look(place.clinic.brand))
    made = {name: EXPORTERS[name].export(counted, paper) for name in names}
    length = measure(document, limits, word_file=made[_USUAL], large=made.get(_LARGE))
    return Measures((length,), {(name, document.kind): WordFile(counted, made[name]) for name in names})


def _as_drawn(found: Measures) -> Measures:
    """The same with sides that are limited as they are drawn. One start of LibreOffice draws all."""
    limited = {each.kind for each in found.lengths if each.limits.sides or each.limits.large_print_sides}
    files = {f"{kind}.{name}.docx": f.content for (name, kind), f in found.files.items() if kind in limited}
    if not files:
        return found
    pages = {name: pages_in(data) for name, data in export_pdf(files).items()}
    return replace(found, lengths=tuple(_with_pages(length, pages) for length in found.lengths))


def _with_pages(length: Length, pages: Mapping[str, int]) -> Length:
    """A length with the pages that were drawn, where they could be counted."""
    usual, large = (pages.get(f"{length.kind}.{name}.pdf", 0) for name in (_USUAL, _LARGE))
    if not usual:
        return length
    large = large or (length.large_print_sides or 0)
    return replace(length, sides=usual, filled=None, large_print_sides=large or None, drawn=True)
