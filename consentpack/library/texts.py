"""The texts of a module that a patient reads, piece by piece, as they are printed and translated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.library.modules import blocks_of
from consentpack.model import DocumentPlan, Module
from consentpack.tree import Inline

CLINIC_ONLY_SECTIONS = ("For the clinician",)


@dataclass(frozen=True)
class Piece:
    """One text with its line in the module's file and what it is there."""

    text: str
    line: int
    what: str


def patient_texts(module: Module) -> Iterator[Piece]:
    """Everything of a module that is printed in the patient's language, in order; nothing of a document
    that the clinic alone reads."""
    if isinstance(module, DocumentPlan) and "patient" not in (module.audience, module.language):
        return
    title = "Title. Also stands inside sentences, then with a small first letter."
    yield Piece(module.title, module.title_line, title)
    if phrase := getattr(module, "phrase", ""):
        yield Piece(phrase, module.title_line, "Stands inside a sentence: “We plan to use …”.")
    if short := getattr(module, "short", ""):
        yield Piece(short, module.title_line, "A warning sign in a few words: “Ring us if you have …”.")
    if isinstance(module, DocumentPlan):
        yield from (Piece(part.heading, part.line, "Heading of a section.") for part in module.parts)
        sections = {"": blocks_of(module)}
    else:
        sections = {label: list(blocks) for label, blocks in module.sections.items()}
    for label, blocks in sections.items():
        for block in blocks if label not in CLINIC_ONLY_SECTIONS else ():
            if block.kind != "directive":
                what = f"{label}: {block.kind}" if label else block.kind
                yield from (Piece(i.text, i.line, f"{what}{_only(i, module)}") for i in block.items)


def _only(item: Inline, module: Module) -> str:
    """When a text is printed at all, for whoever translates it."""
    conditions = [condition for condition in (module.only, item.only) if condition]
    return f". Only when: {' and '.join(conditions)}" if conditions else ""
