"""One document in two languages, block by block: the patient's language beside the clinic's.

Both come from the same modules in the same order, so they have one shape; where they have not, one of
them has lost something, and no such edition is made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import assert_never

from consentpack.assemble.context import DRAFT
from consentpack.assemble.shape import common_sections, first_difference
from consentpack.catalogues import N_, Catalogue, name_in_both
from consentpack.errors import Problem, TranslationError
from consentpack.signs import signs_of
from consentpack.tree import (
    Body,
    Box,
    Cell,
    Choice,
    Content,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Run,
    Runs,
    Section,
    Table,
    bodies,
)

Part = Paragraph | Items | Pictograph
_EVEN = (50, 50)


def side_by_side(patients: Document, clinics: Document, catalogues: tuple[Catalogue, Catalogue]) -> Document:
    """A document of two columns. It is for reading: what is signed is the form itself.

    Raises TranslationError when the two have not the same parts in the same order.
    """
    if where := first_difference(patients, clinics):
        raise TranslationError(Problem(patients.kind, f"the two languages differ: {where}."))
    languages = (patients.language, clinics.language)
    made = _Columns(languages, (name_in_both(patients.language), name_in_both(clinics.language)))
    first, second = catalogues
    titles = [(patients.title, clinics.title)]
    titles += [(first.phrase(DRAFT), second.phrase(DRAFT))] if patients.draft else []
    lead = [
        Paragraph((Run(said, language=language),), scored=False)
        for message in LEAD
        for said, language in ((second.phrase(message), ""), (first.phrase(message), first.language))
    ]
    pairs = zip(common_sections(patients), common_sections(clinics), strict=True)
    return replace(
        clinics,
        kind=f"{patients.kind}-side-by-side",
        notice="",
        lead=(*lead, made.table(titles, patients.lead, clinics.lead, clinics.title)),
        sections=tuple(made.section(*pair) for pair in pairs),
        draft=patients.draft,
        # its days stand below each other here: what a phone asks of a diary would hide every row of it
        labels={name: said for name, said in clinics.labels.items() if name != "answers"},
    )


LEAD = (
    N_("This form says the same thing in two languages, side by side."),
    N_("Tell us if you think that one of them says something else."),
    N_("This is a copy to read. Please sign the form in your own language."),
)


@dataclass(frozen=True)
class _Columns:
    """The patient's language and the clinic's, one beside the other."""

    languages: tuple[str, str]
    names: tuple[str, str]

    def section(self, own: Section, other: Section) -> Section:
        headings = [(own.heading, other.heading)]
        return replace(other, nodes=(self.table(headings, own.nodes, other.nodes, other.heading),))

    def table(
        self, first: list[tuple[str, str]], own: Iterable[Node], other: Iterable[Node], summary: str
    ) -> Table:
        """A table with some words in bold first, then each pair of blocks."""
        pairs: list[tuple[Part, Part]] = [(_words(a, strong=True), _words(b, strong=True)) for a, b in first]
        first_language, second_language = self.languages
        pairs += zip(_parts(own, first_language), _parts(other, second_language), strict=True)
        return Table(
            self.names, tuple((_cell(a, first_language), _cell(b, "")) for a, b in pairs), _EVEN, summary
        )


def _cell(part: Part, language: str) -> Cell:
    if isinstance(part, Pictograph) or not language:
        return Cell((part,))
    if isinstance(part, Paragraph):
        return Cell((replace(part, runs=_named(part.runs, language)),))
    return Cell((replace(part, items=tuple(replace(i, runs=_named(i.runs, language)) for i in part.items)),))


def _named(runs: Runs, language: str) -> Runs:
    return tuple(replace(run, language=run.language or language) for run in runs)


def _parts(nodes: Iterable[Node], language: str) -> Iterator[Part]:
    """The blocks of some nodes, each of which becomes a row."""
    for node in nodes:
        if isinstance(node, Box):
            yield _words(node.title, strong=True)
        for body in bodies(node):
            yield from _body(body, signs_of(language).colon)


def _body(body: Body, colon: str) -> Iterator[Part]:
    """The rows of one block. `colon` is what the language puts between a label and its value."""
    match body:
        case Heading():
            yield Paragraph(tuple(replace(run, strong=True) for run in body.runs))
        case Paragraph() | Items():
            yield body
        case Choice():
            yield Paragraph(body.runs)
        case Fields():
            yield from (_words(body.title, strong=True),) if body.title else ()
            yield from (Paragraph(body.statement),) if body.statement else ()
            yield from (_words(line.label) for line in body.lines)
        case Facts():
            yield from (
                Paragraph((Run(label, strong=True), Run(f"{colon}{value}"))) for label, value in body.pairs
            )
        case Panel():
            for title, cells in body.groups:
                yield _words(title, strong=True)
                for cell in cells:
                    yield from map(_content, cell.content)
        case Table():
            for row in body.rows:
                for label, cell in zip(body.columns, row, strict=True):
                    yield from () if cell.head else (_words(label, strong=True),)
                    yield from map(_content, cell.content)
        case _:
            assert_never(body)


def _content(content: Content) -> Part:
    return Paragraph(content.runs) if isinstance(content, Choice) else content


def _words(text: str, *, strong: bool = False) -> Paragraph:
    return Paragraph((Run(text, strong),))
