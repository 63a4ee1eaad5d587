"""The diary asks what patients can tell apart; what only a clinician can is asked in one row."""

from __future__ import annotations

from test_any_plan import CATALOGUE, CLINIC, LIBRARY, plan_of

from consentpack.assemble import Inputs, assemble
from consentpack.assemble.diary import asked_on, rows_asked
from consentpack.match import match
from consentpack.pipeline.deciding import seen_by
from consentpack.rates import answer_all
from consentpack.tree import Document, paragraphs, text_of

APART = "the clinician tells them apart"


def made(kind: str) -> Document:
    plan = plan_of(("laser-ablative-fractional",), strata={"skin_type": "VI"})
    seen = seen_by(plan, LIBRARY)
    matches = match(plan, seen.planned, CLINIC.care, afterwards=seen.done)
    assert {"dark-marks", "light-marks"} <= {m.id for m in matches.diary}
    rates = answer_all(plan, seen.planned, CLINIC, matches, None)
    inputs = Inputs(plan, seen.planned, CLINIC, matches, rates, CATALOGUE)
    return assemble(kind, inputs).document


def words_of(document: Document) -> str:
    nodes = [node for section in document.sections for node in section.nodes]
    return "\n".join(text_of(p.runs) for node in nodes for p in paragraphs(node))


def test_what_patients_cannot_tell_apart_is_asked_once():
    words = words_of(made("diary"))
    assert "Is there a new dark mark that is not a bruise?" in words
    assert "Is there a patch paler than the skin round it?" not in words


def test_the_record_says_which_outcomes_one_answer_may_be():
    document = made("record")
    facts = [str(node) for section in document.sections for node in section.nodes]
    (line,) = [f for f in facts if "dark-marks (asked on day" in f]
    assert f"also light-marks: {APART}" in line and "light-marks (asked on" not in line


def test_a_row_is_asked_on_every_day_on_which_one_of_its_outcomes_may_be_seen():
    dark, light = LIBRARY.risks["dark-marks"], LIBRARY.risks["light-marks"]
    (row,) = rows_asked([light, dark])
    assert row.main is dark and row.also == (light,)
    assert set(row.days) == {*asked_on(dark), *asked_on(light)}


def test_without_the_row_it_is_told_in_an_outcome_is_asked_apart():
    (row,) = rows_asked([LIBRARY.risks["light-marks"]])
    assert row.main.id == "light-marks" and not row.also
