"""The short figures of form and record say what the whole sentences say.

All counts are invented. Of 100 treatments that were watched unequally 20 had it, which is 28 in 100.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from test_counts_said import context, form
from test_ladder import LIBRARY

from consentpack.assemble.record_matter import figures_that_matter
from consentpack.assemble.short_figures import share_of, short_figure, told_short
from consentpack.model import Counts, Curve, Rate, RateAnswer, Worse
from consentpack.rates.counting import own_rate
from consentpack.rates.intervals import wilson
from consentpack.register import Tally
from consentpack.tree import text_of

DAY = date(2026, 3, 2)
TIMES = ((3, 10, 0, 0), (5, 0, 0, 40), (10, 10, 0, 0), (14, 0, 0, 40))
"""Day, seen, treated again, left: 1 - (90/100)(40/50) = 28 in 100, by hand (Kaplan and Meier 1958)."""


def by_days() -> RateAnswer:
    counts = Counts(20, 60, 60, 60, curve=Curve(TIMES))
    rate = own_rate(Tally(100, DAY, DAY, {}), "bruising", "closest", days=14, counts=counts)
    return RateAnswer("bruising", "blunt-cannula", rate)


def whole(events: int, n: int, id: str, **more) -> RateAnswer:
    rate = Rate(id, events, n, wilson(events, n), "closest", "treatments", "", "own audit",
                first=DAY, last=DAY, counts=Counts(events, n, n, n))  # fmt: skip
    return replace(RateAnswer(id, "blunt-cannula", rate), **more)


def test_a_figure_by_days_is_the_same_in_short_and_in_whole():
    found = {"bruising": by_days()}
    assert form(found, "bruising").startswith("About 28 in every 100 treatments.")
    assert told_short(context(found), found["bruising"], ranged=False) == "28 in 100"


def test_it_takes_its_place_by_that_figure_and_is_so_in_the_record():
    found = {"bruising": by_days(), "soreness": whole(24, 100, "soreness")}
    ctx = context(found)
    assert share_of(ctx, "bruising") == pytest.approx(0.28)
    assert share_of(ctx, "bruising") > share_of(ctx, "soreness")
    (table,) = figures_that_matter(ctx, most=8)
    printed = {text_of(row[0].content[0].runs): text_of(row[1].content[0].runs) for row in table.rows}
    assert printed[LIBRARY.risks["bruising"].title].startswith("28 (")


def test_a_gain_that_a_closer_group_has_less_of_is_told_as_less_in_short_too():
    closer = Worse("closest", Counts(3, 12, 12, 12), "same-techniques", (140, 180), printed=True)
    found = {"less-pulling": whole(143, 192, "less-pulling", worse=(closer,))}
    said = [text_of(each.runs) for each in short_figure(context(found), found["less-pulling"])]
    assert said[-1].endswith("But it is less than in the others we counted.")
