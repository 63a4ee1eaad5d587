"""What a published list is made of, and what its items look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from consentpack.library import Library
from consentpack.model import Clinic, Matches, Plan, RateAnswer, Score, Technique
from consentpack.tree import Document

Where = Literal["consent form", "aftercare sheet", "record", "all three"]


@dataclass(frozen=True)
class Published:
    """Whose list it is, and how far we have seen it."""

    body: str
    document: str
    year: str
    mark: Literal["S", "S2", "M"]
    """S: seen on the issuer's page; S2: in a secondary account; M: from memory, to be verified."""

    def __str__(self) -> str:
        return f"{self.body}, {self.document}, {self.year} [{self.mark}]"


@dataclass(frozen=True)
class Finding:
    """What one item found."""

    holds: bool
    why: str
    """What was found, or what lacks and where."""


FORM, SHEET, NOTES = "form", "aftercare", "record"
"""What the lists look into: what a patient decides by, what a patient looks after themselves by, what the
clinic keeps. The first two are several papers each, and an item is held by all of them together: the
form says that the booklet is part of it."""
ABOUT: Mapping[str, str] = {FORM: "planned", SHEET: "done"}


def _missing(kind: str) -> Document:
    return Document(kind, "", "", "patient", "", "", "", ())


@dataclass(frozen=True)
class Held:
    """One pack as it is judged: its documents, and what they were made from."""

    documents: Mapping[str, Document]
    """Kind -> document."""
    plan: Plan
    matches: Matches
    library: Library
    clinic: Clinic
    scores: tuple[Score, ...]
    rates: Mapping[str, RateAnswer]

    def of(self, kind: str) -> Document:
        """The papers of one kind as one; one with nothing in it where the pack has none, so that items
        fail."""
        papers = [each for each in self.documents.values() if self.belongs(each, kind)]
        if len(papers) < 2:
            return papers[0] if papers else _missing(kind)
        return replace(
            papers[0],
            lead=tuple(node for each in papers for node in each.lead),
            sections=tuple(section for each in papers for section in each.sections),
        )

    def belongs(self, document: Document, kind: str) -> bool:
        """Whether a document is one of the papers that a kind looks into."""
        if kind not in ABOUT:
            return document.kind == kind
        plan = self.library.documents.get(document.kind)
        about = plan.about if plan else "planned"
        return document.audience == "patient" and about == ABOUT[kind]

    def alone(self, *kinds: str) -> Held:
        """The same pack with some of its documents only, in the order of the pack."""
        some = {kind: document for kind, document in self.documents.items() if kind in kinds}
        one = replace(self, documents=some)
        vars(one)["written"] = self.written  # the library is the same, and long
        return one

    def meant(self, kind: str, where: Where) -> bool:
        """Whether a document is one of those that an item is looked for in."""
        looked = {"consent form": FORM, "aftercare sheet": SHEET, "record": NOTES}.get(where)
        return looked is None or self.belongs(self.documents[kind], looked)

    @property
    def patients(self) -> tuple[Document, ...]:
        """All that patients read."""
        return tuple(each for each in self.documents.values() if each.audience == "patient")

    @cached_property
    def written(self) -> Mapping[tuple[str, int], str]:
        """File and line -> the words that stand there, before translation and filling."""
        return {
            (module.file, item.line): item.text
            for _, module in self.library.modules()
            for blocks in module.sections.values()
            for block in blocks
            for item in block.items
        }

    @property
    def techniques(self) -> tuple[Technique, ...]:
        """All that is planned: treating first, then numbing."""
        found = (*self.matches.techniques, *self.matches.anaesthetics)
        return tuple(self.library.techniques[match.id] for match in found)

    @property
    def agreed(self) -> tuple[Technique, ...]:
        """Planned, and what may become necessary on the day."""
        more = (self.library.techniques[match.id] for match in self.matches.may_become_necessary)
        return (*self.techniques, *more)


Needs = Callable[[Held], Finding]
Unless = Callable[[Held], str]
"""Why an item does not apply to a pack; '' where it does."""


@dataclass(frozen=True)
class Item:
    """One item of a published list."""

    id: str
    says: str
    """In our own words, one line."""
    source: Published
    judged_by: Literal["machine", "person"]
    needs: Needs | None
    unless: Unless | None = None
    where: Where = "consent form"
    """The document of ours that holds it."""

    def __post_init__(self) -> None:
        if (self.judged_by == "machine") != (self.needs is not None):
            raise ValueError(f"{self.id}: judged by a {self.judged_by}, needs {self.needs}")


@dataclass(frozen=True)
class Checklist:
    """One published list."""

    id: str
    title: str
    items: tuple[Item, ...]


@dataclass(frozen=True)
class ListOf:
    """Makes the items of one source, so that a list reads as a table."""

    source: Published

    def machine(
        self,
        id: str,
        says: str,
        needs: Needs,
        *,
        unless: Unless | None = None,
        where: Where = "consent form",
    ) -> Item:
        """An item that can be found in the documents alone."""
        return Item(id, says, self.source, "machine", needs, unless, where)

    def person(self, id: str, says: str, *, unless: Unless | None = None) -> Item:
        """An item that only a person can judge. It is never passed."""
        return Item(id, says, self.source, "person", None, unless, "all three")


def lacking(missing: Iterable[str], *, where: str, what: str) -> Finding:
    """Holds when nothing is missing; else names all that is."""
    names = list(dict.fromkeys(missing))
    return Finding(not names, f"{where}: no {', '.join(names)}" if names else f"{where}: {what}")


def there(holds: object, *, where: str, what: str) -> Finding:
    """Holds when something is there."""
    return Finding(bool(holds), f"{where}: {what}" if holds else f"{where}: no {what}")
