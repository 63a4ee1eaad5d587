"""The short sheet: what gives way to what, the table of times, and marks that stand where none may stand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_any_plan import CATALOGUE, CLINIC, LIBRARY, plan_of

from consentpack import markdown
from consentpack.assemble import Inputs, assemble
from consentpack.assemble.sheet import MOST_ROWS, rows_of_signs
from consentpack.assemble.timeline import MOST_TIMES, NOT_YET, YES, columns_of
from consentpack.library.sheet_marks import check_sheet_marks
from consentpack.match import match
from consentpack.pipeline.deciding import seen_by
from consentpack.tree import Document, Table, text_of

ROW = ["blocked", "bleeding", "eyes", "splash", "faint", "device", "acid", "cold"]


def sheet_of(*techniques: str, **more) -> Document:
    plan = plan_of(techniques, **more)
    seen = seen_by(plan, LIBRARY)
    matches = match(plan, seen.planned, CLINIC.care, afterwards=seen.done)
    inputs = Inputs(plan, seen.done, CLINIC, matches, {}, CATALOGUE)
    return assemble("aftercare", inputs).document


def marks_of(document: Document) -> dict[str, tuple[str, ...]]:
    """Activity -> the signs of its row, column by column, with the columns under ''."""
    (section,) = [s for s in document.sections if "timeline" in s.parts]
    (table,) = [node for node in section.nodes if isinstance(node, Table)]
    found = {"": table.columns[1:]}
    for first, *others in table.rows:
        found[text_of(first.content[0].runs)] = tuple(text_of(c.content[0].runs) for c in others)
    return found


def test_a_row_says_yes_from_its_own_time_on_and_never_sooner():
    found = marks_of(sheet_of("blunt-cannula", "local-infiltration"))
    times = found.pop("")
    assert times[0] == "24 hours" and "2 days" in times
    assert found["Drive\u00a0\u00b9"] == (YES,) * len(times)  # 24 hours: settings.toml, driving_rest
    hard = next(marks for name, marks in found.items() if name.startswith("Do hard exercise"))
    assert hard[: times.index("2 days")] == (NOT_YET,) and hard[times.index("2 days")] == YES
    for marks in found.values():
        assert list(marks) == sorted(marks, key=(NOT_YET, YES).index), "once one may, one may go on"


def test_a_longer_wait_of_one_technique_moves_the_row_and_its_note_stays():
    """Surface work asks for a longer time before a swim than a release: waits of the technique."""
    alone = marks_of(sheet_of("blunt-cannula"))
    both = marks_of(sheet_of("blunt-cannula", "laser-ablative-fractional"))
    swim = "Take a bath or swim"
    (first,) = [marks for name, marks in alone.items() if name.startswith(swim)]
    (later,) = [marks for name, marks in both.items() if name.startswith(swim)]
    assert alone[""][first.index(YES)] == "3 days" and both[""][later.index(YES)] == "14 days"


def test_of_too_many_times_the_one_with_the_fewest_rows_goes_and_the_last_stays():
    day = 24 * 60
    times = [day, day, 2 * day, 2 * day, 3 * day, 7 * day, 7 * day, 60 * day]
    assert columns_of(times) == [day, 2 * day, 7 * day, 60 * day]
    assert len(columns_of([n * day for n in range(1, 12)])) == MOST_TIMES


def test_of_too_many_emergency_rows_the_last_two_become_one_and_none_is_lost():
    one = LIBRARY.warnings["fast-swelling"]
    warnings = [replace(one, id=id, beside="") for id in ROW]
    rows = rows_of_signs(warnings)
    assert len(rows) == MOST_ROWS
    assert [w.id for row in rows for w in row] == ROW
    told = [replace(w, beside="eyes") if w.id == "splash" else w for w in warnings]
    assert ["eyes", "splash"] in [[w.id for w in row] for row in rows_of_signs(told)]
    assert [w.id for row in rows_of_signs(told[3:4]) for w in row] == ["splash"], (
        "its own row without the other"
    )


def test_only_what_was_done_stands_on_the_sheet():
    gel = "Blocked vessel"
    assert gel in str(sheet_of("filler-after-release")) and gel not in str(sheet_of("blunt-cannula"))


@pytest.mark.parametrize(
    ("folder", "text", "what"),
    [
        ("risks", "## What you may notice\n\n- [sheet] A bruise.", "no sheet is made of this"),
        ("aftercare", "## When you can\n\n- [sheet] **Swim**: once it has closed.", "needs a time"),
        ("aftercare", "## Tonight: do\n\n- [sheet soon] Rest.", "names nothing"),
        ("aftercare", "## Notes on the sheet\n\n- Once it has closed.", "has no name"),
        ("aftercare", "## Tonight: do\n\n- [only trait:gel] [sheet always] Rest.", ""),
        ("aftercare", "## When you can\n\n- [sheet closed] **Swim**: after {{ care.swim_wait }}.", ""),
    ],
)
def test_a_mark_that_no_sheet_looks_for_is_told(folder, text, what):
    blocks, wrong = markdown.parse(text, file="x.md")
    assert wrong == []
    found = [problem.what for problem in check_sheet_marks(folder, "x.md", blocks)]
    assert (len(found) == 1 and what in found[0]) if what else found == []


def test_marks_are_taken_off_the_words_and_one_inside_them_is_told():
    (block,), wrong = markdown.parse("- [only trait:gel] [sheet always] Rest.", file="x.md")
    (item,) = block.items
    assert (item.text, item.only, item.sheet, wrong) == ("Rest.", "trait:gel", "always", [])
    (plain,), _ = markdown.parse("- Rest.", file="x.md")
    assert plain.items[0].sheet is None
    assert markdown.parse("- Rest. [sheet] More.", file="x.md")[1]
