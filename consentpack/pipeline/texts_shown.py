"""A text of the library as its readers will have it, who uses it, and how its translations stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from consentpack import markdown
from consentpack.approvals import TABLES, load_approvals, tables
from consentpack.catalogues import Catalogue, name_in_both
from consentpack.errors import ConsentpackError, ContentError, Problem, did_you_mean
from consentpack.fill import Filler
from consentpack.library import Library
from consentpack.library.half_written import named
from consentpack.library.schema import PLACEHOLDERS
from consentpack.library.texts import CLINIC_ONLY_SECTIONS, patient_texts
from consentpack.model import ApprovalState, DocumentPlan, Module, Plan
from consentpack.pipeline.approved_texts import bound_text, lines_of
from consentpack.pipeline.clinic_languages import language_of, other_languages
from consentpack.pipeline.place import Workplace, plans_in
from consentpack.pipeline.sign_off import status_of
from consentpack.plans import load_plan
from consentpack.tree import Block, Runs
from consentpack.wording import Words


@dataclass(frozen=True)
class Line:
    """A paragraph, or a point of a list, with its values filled in."""

    runs: Runs
    only: str = ""
    """The condition under which it belongs; '' for always."""


@dataclass(frozen=True)
class Piece:
    """Lines of one kind that follow each other."""

    kind: str
    """'paragraph', 'bullets', 'numbered', 'heading', or 'directive' for what the program puts there."""
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Part:
    """A section of a module."""

    id: str
    """Its label in the file: by it a score names it."""
    heading: str
    pieces: tuple[Piece, ...]
    when: str = ""
    for_clinician: bool = False


def as_read(place: Workplace, module: Module, catalogue: Catalogue) -> tuple[Part, ...]:
    """A module in a language with this clinic's numbers. What only a plan knows stands in brackets."""
    filler = _filler(place, catalogue)
    return tuple(
        Part(
            label,
            catalogue.block(label).text if label else "",
            tuple(_piece(block, catalogue, filler) for block in blocks),
            module.when.get(label, ""),
            label in CLINIC_ONLY_SECTIONS,
        )
        for label, blocks in _labelled(module)
    )


def _labelled(module: Module) -> list[tuple[str, tuple[Block, ...]]]:
    if not isinstance(module, DocumentPlan):
        return list(module.sections.items())
    return [*([("", module.lead)] if module.lead else []), *((p.heading, p.blocks) for p in module.parts)]


def _piece(block: Block, catalogue: Catalogue, filler: Filler) -> Piece:
    def runs(text: str) -> Runs:
        words = text if block.kind == "directive" else catalogue.block(text).text
        return tuple(type(r)(filler.fill(r.text), r.strong, r.href) for r in markdown.runs(words))

    return Piece(block.kind, tuple(Line(runs(item.text), item.only) for item in block.items))


def _filler(place: Workplace, catalogue: Catalogue) -> Filler:
    clinic, library = place.clinic, place.library
    words = Words(catalogue, library.field.units)
    values: dict[str, dict[str, str]] = {}
    for name, meaning in PLACEHOLDERS.items():
        group, _, key = name.partition(".")
        known = str(getattr(clinic, key)) if group == "clinic" else f"[{meaning}]"
        values.setdefault(group, {})[key] = known
    values["care"] = {
        name: words.span(clinic.care.get(name, each.value), each.unit)
        for name, each in library.settings.items()
    }
    return Filler(values, {"rate": lambda id: f"[the figure for {library.outcomes[id].title.lower()}]"})


# --- who uses it ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Uses:
    """What names a module, and which plans lead to it."""

    by: tuple[tuple[str, Module], ...]
    plans: tuple[tuple[str, Path], ...]
    """Reference and file."""
    unread: tuple[str, ...]
    """Plans with a mistake: nobody can say what they use."""


def where_used(place: Workplace, folder: str, id: str) -> Uses:
    """Who names a module, and every plan whose papers may hold it."""
    here = (folder, id)
    by = [(f, m) for f, m in place.library.modules() if here in named(f, m) and (f, m.id) != here]
    plans, unread = [], []
    for path in plans_in(place.folder):
        try:
            plan = load_plan(path, place.library, place.clinic)
        except ConsentpackError:
            unread.append(path.name)
            continue
        if here in led_to(place.library, plan):
            plans.append((plan.reference, path))
    return Uses(tuple(by), tuple(plans), tuple(unread))


def led_to(library: Library, plan: Plan) -> set[tuple[str, str]]:
    """Folder and id of every module that a plan leads to, whether or not its conditions hold."""
    found = {("documents", id) for id in library.documents}
    found |= {("options", each.id) for each in library.options.values() if each.no_treatment}
    open_: list[tuple[str, str]] = [("factors", id) for id in plan.factors]
    open_ += [("techniques", id) for id in (*plan.planned, *plan.may_become_necessary)]
    while open_:
        folder, id = name = open_.pop()
        if name not in found and id in library.kind(folder):
            found.add(name)
            open_ += named(folder, library.kind(folder)[id])
    return found


# --- its translations -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Translation:
    """How a module stands in one language."""

    language: str
    name: str
    """The language in its own words and in English."""
    texts: int
    counts: Mapping[str, int]
    """'translated', 'needs review' and 'missing' -> how many of its texts."""
    state: ApprovalState | None
    """How it stands to its approvals; None for what needs no translation."""

    @property
    def behind(self) -> int:
        """Texts that may not be printed for a patient."""
        return self.texts - self.counts.get("translated", 0)


def translations_of(place: Workplace, module: Module, today: date) -> list[Translation]:
    """How a module stands in each language there is a translation for."""
    texts = [piece.text for piece in patient_texts(module)]
    approvals = load_approvals(place.folder)
    found = []
    for catalogue in other_languages(place):
        counts = Counter[str](catalogue.block(text).status for text in texts)
        rows = status_of(place, {module.file: module}, catalogue, approvals=approvals, today=today)
        state, tag = next((row.state for row in rows), None), catalogue.language
        found.append(Translation(tag, name_in_both(tag), len(texts), dict(counts), state))
    return found if texts else []


def table_lines(place: Workplace, id: str) -> list[str]:
    """A table that is approved like a module, line by line. Raises ContentError where there is none."""
    tables_there = tables(place.library, place.clinic)
    if (module := tables_there.get(f"{TABLES}{id}")) is None:
        raise ContentError(
            Problem(f"{TABLES}{id}", "there is no such table.", did_you_mean(id, tables_there))
        )
    catalogue = language_of(place, place.clinic.language)
    return lines_of(bound_text(place, module, catalogue), module, catalogue)
