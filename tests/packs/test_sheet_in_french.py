"""A sheet that had a third side: in French, the rows of its table took two and three lines each."""

from __future__ import annotations

import io
from dataclasses import replace

from any_plan import TODAY
from docx import Document as WordDocument
from docx.oxml.ns import qn
from test_any_plan import OURS
from test_large_print_rows import cell, document

from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.match import match
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import draft_one
from consentpack.pipeline.lengths import measures_of
from consentpack.pipeline.prepare import Prepared, Wanted, catalogue_for
from consentpack.rates import answer_all
from consentpack.suitability import with_implied
from consentpack.tree import Section, Table


def test_the_sheet_of_a_gel_after_a_release_on_an_arm_has_two_sides_in_french():
    """It had a third one, drawn as reckoned. Makes the sheet as a pack does, which takes seconds; it is
    filled to the last line, so that reckoned sides, which leave room for another, are no measure here."""
    plan = replace(
        OURS.plan_of(("filler-after-release",), may_become_necessary=("acid-focal",)),
        region="arm", indication="boxcar", strata={"skin_type": "I"}, language="fr",
    )  # fmt: skip
    place, plan = OURS.place, with_implied(plan, OURS.library)
    french, own = (catalogue_for(place, tag, where="test") for tag in ("fr", "en-GB"))
    prepared = Prepared(place, Wanted(TODAY), plan, french, own, (), {})
    seen = seen_by(plan, OURS.library)
    matches = match(plan, seen.planned, OURS.clinic.care, afterwards=seen.done)
    rates = answer_all(plan, seen.planned, OURS.clinic, matches, None)
    sheet = draft_one(prepared, Decided(seen, matches, rates, (), {}, {}), "aftercare").document
    filled = measures_of(prepared, [sheet], ("draft",)).of("aftercare").filled
    assert filled is not None and 1.5 < filled < 2


def test_marks_of_a_grid_take_no_more_room_than_they_need():
    rows = ((cell("Take a bath, or swim in a pool"), cell("–"), cell("✓")),) * 2
    grid = Table(("When you can", "2 days", "2 weeks"), rows, (50, 25, 25), "s", grid=True)
    empty = replace(grid, rows=((cell("Write here"), cell(""), cell("")),))
    said = replace(grid, rows=((cell("Say"), cell("word " * 20), cell("✓")),))
    found = [shares(each) for each in (grid, empty, said)]
    assert found[0][0] > 60 and found[0][1] == found[0][2] >= 10
    assert found[1:] == [[50, 25, 25]] * 2


def shares(table: Table) -> list[int]:
    made = document(Section("p", "Part", (table,)))
    body = WordDocument(io.BytesIO(export_docx(made, day=TODAY, look=Look()))).element.body
    widths = [int(column.get(qn("w:w"))) for column in body.iter(qn("w:gridCol"))]
    return [round(100 * each / sum(widths)) for each in widths]
