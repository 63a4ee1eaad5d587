"""From the papers of a plan to its questions: what is told there can be asked, and nothing else.

An answer is found by tags and modules, never by words, so that each language has the same questions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from consentpack.library import Library
from consentpack.model import Module
from consentpack.talk_back import tags
from consentpack.talk_back.question import QUESTIONS, Place, Question
from consentpack.talk_back.spots import Spot, spots
from consentpack.tree import Document, Paragraph, Run

_TOLD = 2
"""Treatments that the answer says of several: the paper of questions is one side."""
_URGENT = ("at-once", "ambulance", "same-day")
"""Tiers of signs that are asked about: the clinic's own line first, which nobody knows from elsewhere."""


@dataclass(frozen=True)
class Asked:
    """What a plan calls for, in the order of its papers, and the papers themselves."""

    library: Library
    risks: tuple[str, ...]
    """What may be asked of harms: those that come only if more is needed last."""
    rated: frozenset[str]
    """Outcomes of which patients are told a number."""
    options: tuple[str, ...]
    warnings: tuple[str, ...]
    form: Document
    sheet: Document | None
    """What to do at home; None where there is no such paper."""


def questions(asked: Asked) -> tuple[Question, ...]:
    """The questions of a plan, in the order of QUESTIONS; what no paper answers is not asked."""
    serious = _serious(asked)
    found = {
        "what": _what(asked),
        "gain": _gain(asked),
        "harm": _harm(asked),
        "serious": serious,
        "choice": _choice(asked),
        "tonight": _tonight(asked, serious),
        "ring": _ring(asked),
    }
    return tuple(each for kind in QUESTIONS if (each := found[kind]))


# --- from the form --------------------------------------------------------------------------------


def _what(asked: Asked) -> Question | None:
    found = [spot for spot in spots(asked.form) if tags.is_planned(spot.paragraph.tag)]
    if not found:
        return None
    technique = found[0].paragraph.tag.removeprefix(tags.planned(""))
    module = asked.library.techniques.get(technique)
    answer = tuple(spot.paragraph for spot in found[:_TOLD])
    return _question("what", module, "techniques", answer, found[0], asked.form)


def _gain(asked: Asked) -> Question | None:
    """The first gain that the form names; one with a figure where there is one."""
    found = list(_told(asked.form, lambda id: id in asked.library.benefits))
    for spot, id in sorted(found, key=lambda each: each[1] not in asked.rated):
        return _question("gain", asked.library.benefits[id], "benefits", _with(spot), spot, asked.form)
    return None


def _harm(asked: Asked) -> Question | None:
    """What most people have; where nothing was counted, the first that the form names without a figure."""
    may_ask = _named_as(asked, serious=False)
    for spot, id in _told(asked.form, may_ask):
        return _about("harm", asked, id, _with(spot), spot)
    unfigured = next((id for id in asked.risks if may_ask(id) and id not in asked.rated), "")
    for spot in spots(asked.form):
        if unfigured and spot.paragraph.tag == tags.NO_FIGURE:
            label = replace(spot.paragraph, runs=spot.paragraph.runs[:1])  # not all the names behind it
            return _about("harm", asked, unfigured, (label,), spot)
    return None


def _serious(asked: Asked) -> Question | None:
    """A serious harm of what is planned: one with a figure where there is one."""
    may_ask = _named_as(asked, serious=True)
    rows = {id: spot for spot, id in _told(asked.form, may_ask) if spot.beside()}
    ranked = sorted((id for id in asked.risks if id in rows), key=lambda id: id not in asked.rated)
    if not ranked:
        return None
    spot = rows[ranked[0]]
    return _about("serious", asked, ranked[0], spot.beside(), spot)


def _named_as(asked: Asked, *, serious: bool) -> Callable[[str], bool]:
    """Whether an outcome is a harm of this sort. That it may not work is no harm to be asked about."""
    library = asked.library

    def wanted(id: str) -> bool:
        harm = library.risks.get(id) if id not in library.field.may_not_work else None
        return harm is not None and (harm.group == "serious") is serious and id in asked.risks

    return wanted


def _told(document: Document, wanted: Callable[[str], bool]) -> Iterator[tuple[Spot, str]]:
    """The paragraphs that name an outcome of a sort, in order."""
    for spot in spots(document):
        id = tags.outcome_of(spot.paragraph.tag)
        if id and wanted(id):
            yield spot, id


def _with(spot: Spot) -> tuple[Paragraph, ...]:
    return (spot.paragraph,)


def _about(kind: str, asked: Asked, id: str, answer: tuple[Paragraph, ...], spot: Spot) -> Question | None:
    module = asked.library.risks[id]
    return _question(kind, module, "risks", answer, spot, asked.form, about=module.title)


def _choice(asked: Asked) -> Question | None:
    """The first row of another choice; where none has a row, the line that names them."""
    for spot in spots(asked.form):
        if option := tags.choice_of(spot.paragraph.tag):
            answer = (spot.paragraph, *spot.beside())
            return _question("choice", asked.library.options[option], "options", answer, spot, asked.form)
    for spot in spots(asked.form):
        if asked.options and spot.paragraph.tag == tags.CHOICES:
            first = asked.library.options[asked.options[0]]
            return _question("choice", first, "options", _with(spot), spot, asked.form)
    return None


# --- from the sheet for home ----------------------------------------------------------------------


def _tonight(asked: Asked, serious: Question | None) -> Question | None:
    """A sign the plan has: for the clinic's own line, else of the serious harm that is asked about."""
    if asked.sheet is None:
        return None
    told: dict[str, list[Spot]] = {}
    for spot in spots(asked.sheet):
        told.setdefault(spot.paragraph.source.module, []).append(spot)
    for id in _signs(asked, serious):
        if id in told:
            head, *steps = told[id]
            # what stands above a sign says how fast to act, and is the first half of the answer
            fast = Paragraph((Run(head.column or head.heading),), scored=False)
            answer = (fast, *(step.paragraph for step in steps[:1]))
            warning = asked.library.warnings[id]
            found = _question("tonight", warning, "warnings", answer, head, asked.sheet, about=warning.short)
            return found
    return None


def _signs(asked: Asked, serious: Question | None) -> Iterable[str]:
    """Signs that ask for somebody, the first to be asked about first."""
    library = asked.library
    urgent = [id for tier in _URGENT for id in asked.warnings if library.warnings[id].tier == tier]
    ours = [id for id in urgent if library.warnings[id].tier == _URGENT[0]]
    harm = library.risks.get(serious.module.partition("/")[2]) if serious else None
    of_it = [id for id in urgent if harm and id in harm.signs]
    return dict.fromkeys((*ours, *of_it, *urgent))


def _ring(asked: Asked) -> Question | None:
    """Whom to ring at night: the number that nobody knows by heart."""
    if asked.sheet is None:
        return None
    for spot in spots(asked.sheet):
        if spot.paragraph.tag == tags.AT_NIGHT:
            module = asked.library.documents.get(asked.sheet.kind)
            return _question("ring", module, "documents", _with(spot), spot, asked.sheet)
    return None


def _question(
    kind: str,
    module: Module | None,
    folder: str,
    answer: Iterable[Paragraph],
    spot: Spot,
    paper: Document,
    *,
    about: str = "",
) -> Question | None:
    if module is None:
        return None
    place = Place(paper.kind, paper.title, spot.heading or paper.title)
    # the paper of the answer has been scored with it
    shown = tuple(replace(each, scored=False, tag="") for each in answer)
    return Question(kind, f"{folder}/{module.id}", module.digest, about, shown, place)
