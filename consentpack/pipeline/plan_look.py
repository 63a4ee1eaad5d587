"""What a plan would tell, while it is still being chosen: figures, what speaks against it, length and grade.

Nothing is written, and no Word file is made for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from consentpack import readability
from consentpack.assemble import told_figures
from consentpack.consent_rules import broken
from consentpack.errors import ConsentpackError, Problem
from consentpack.export import look as looks
from consentpack.export.html import export_html
from consentpack.length import words_in
from consentpack.model import USUAL, Factor, Finding, RateAnswer, Score
from consentpack.pipeline.deciding import Decided, matched, seen_by
from consentpack.pipeline.drafting import called_for, draft_one, inputs_of
from consentpack.pipeline.lengths import limits_for
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.plan_answers import values_in
from consentpack.pipeline.plan_saving import laid_over
from consentpack.pipeline.prepare import Prepared, Wanted, prepared_from
from consentpack.pipeline.registers import counts_alone
from consentpack.plans import PlanText, keys_of
from consentpack.rates import answer_all, compare_newer
from consentpack.suitability import would_matter

FORM = "form"
NAME = "What you chose"
_LINE = re.compile(rf"^{NAME}, line \d+")
_STAND_INS = ("condition", "reason", "clinician_role")
"""What only words a patient reads depend on: a sample stands for it, until it is written."""


@dataclass(frozen=True)
class Figure:
    """What would be told of one outcome, and why it is that."""

    outcome: str
    name: str
    harm: bool
    told: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class Look:
    """What a plan would tell."""

    missing: tuple[str, ...] = ()
    """Questions without an answer that every plan must have."""
    problems: tuple[Problem, ...] = ()
    """What is wrong with what was chosen; then there are no figures."""
    findings: tuple[Finding, ...] = ()
    ask_first: tuple[Factor, ...] = ()
    """Circumstances nobody was asked about, with which a rule would speak."""
    against: tuple[Problem, ...] = ()
    """What does not keep to the clinic's rules of consent."""
    figures: tuple[Figure, ...] = ()
    words: int = 0
    """Of the form."""
    most_words: int = 0
    """That it may have; 0 for no limit."""
    score: Score | None = None
    documents: Mapping[str, str] = field(default_factory=dict)
    """Kind -> title of the papers there would be."""

    @property
    def minutes(self) -> int:
        """To read the form, at the usual speed."""
        return max(1, round(self.words / USUAL))


def look(place: Workplace, answers: Mapping[str, str], *, today: date) -> Look:
    """What the answers of a page would tell, as far as they go."""
    values = values_in(answers, place.library)
    keys = keys_of(place.library)
    missing = tuple(keys[key].meaning for key, spec in keys.items() if spec.required and not values.get(key))
    try:
        prepared = _prepared(place, values, today)
        decided = _decided(prepared)
        return replace(_looked(prepared, decided), missing=missing)
    except ConsentpackError as error:
        found = tuple(_as_chosen(each) for each in error.problems)
        return Look(missing, tuple(each for each in found if "is missing" not in each.what))


def preview(place: Workplace, answers: Mapping[str, str], kind: str, *, today: date) -> bytes:
    """A paper as it would be, as the page for a phone. Raises what making the pack raises, but for what does
    not go together; PlanError for answers that are no plan yet."""
    prepared = _prepared(place, values_in(answers, place.library), today)
    made = draft_one(prepared, _decided(prepared), kind)
    document = replace(made.document, draft=("This is a preview; nothing was made.",))
    return export_html(document, looks.Look(place.clinic.brand))


def _prepared(place: Workplace, values: Mapping[str, Any], today: date) -> Prepared:
    sample, given = place.library.field.sample, {k: v for k, v in values.items() if v is not None}
    stands_in: dict[str, Any] = {key: sample[key] for key in _STAND_INS if key in sample}
    stands_in |= {"reference": "–", "prepared": today, "sessions": 1, "clinician": "–"}
    stands_in |= {"experience": "–"}
    text = laid_over("", {**stands_in, **given})
    return prepared_from(place, PlanText(NAME, text.encode()), Wanted(today), name="plan")


def _decided(prepared: Prepared) -> Decided:
    """The figures of a plan without what only the record tells of them."""
    place, plan = prepared.place, prepared.plan
    seen = seen_by(plan, place.library, refuse=False)
    matches = matched(prepared, seen)
    with counts_alone(place) as audit:
        rates = answer_all(plan, place.library, place.clinic, matches, audit)
        beside = compare_newer(plan, place.library, place.clinic, matches, audit)
    return Decided(seen, matches, rates, beside, {}, {})


def _looked(prepared: Prepared, decided: Decided) -> Look:
    place, plan = prepared.place, prepared.plan
    form = draft_one(prepared, decided, FORM).document
    target = readability.target_for(FORM, form.language, place.clinic.reading, place.library.targets)
    return Look(
        findings=decided.seen.findings,
        ask_first=would_matter(decided.seen.not_asked, plan, place.library),
        against=tuple(_as_chosen(each) for each in broken(plan, place.clinic, place.library)),
        figures=tuple(_figures(prepared, decided)),
        words=sum(each.words for each in words_in(form)),
        most_words=limits_for(prepared, FORM, language=form.language).words,
        score=place.scorer.score(form, target),
        documents={each.id: each.title for each in called_for(prepared) if each.audience == "patient"},
    )


def _figures(prepared: Prepared, decided: Decided) -> Iterator[Figure]:
    own = replace(inputs_of(prepared, decided), catalogue=prepared.own, checked=())
    for id, (name, told) in told_figures(own).items():
        harm = id in prepared.place.library.risks
        yield Figure(id, name, harm, told, tuple(why_of(decided.rates[id])))


CLOSENESS = {
    "closest": "treatments here like this one: the same techniques, in the same kind of place and people",
    "same-techniques": "treatments here with the same techniques, in any place and people",
    "lead-technique": "treatments here with the leading technique",
    "published": "a published study",
}
"""Level of a comparison -> who it compares with."""


def why_of(answer: RateAnswer) -> Iterator[str]:
    """Why an outcome is told as it is, for the clinician: who it was counted in, and what was passed over."""
    number = answer.rate or answer.seen
    if number is None:
        yield "No figure that may be quoted."
    elif answer.rate and answer.rate.level == "published":
        rate = answer.rate
        yield f"{rate.events} of {rate.n} {rate.unit}: {rate.source}, {rate.who}."
    else:
        yield f"{number.events} of {number.n} {CLOSENESS[number.level]}."
    if answer.seen and not answer.rate:
        yield f"Told as counts: {answer.seen.why}."
    for passed in answer.rejected:
        yield f"Not by {CLOSENESS[passed.level]}: {passed.why}."


def _as_chosen(problem: Problem) -> Problem:
    """Nobody sees the lines of a plan that is not saved yet."""
    return replace(problem, where=_LINE.sub(NAME, problem.where))
