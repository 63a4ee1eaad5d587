"""Which printed figure fits its sentence, at the borders. Rows are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_fits import GAIN, GAIN_ROW, HARM, HARM_ROW, LIBRARY

from consentpack.rates.fits import FLATTERS, MISCOUNTED, asked, misleading, unfit
from consentpack.wording import UNITS

TOO_EARLY = "the gain was judged at 89 days; it is judged here at 180"
NOT_SAID = "the source does not say when the gain was judged"


def test_a_figure_must_fit_what_the_library_says_of_its_outcome():
    harm, gain = asked(LIBRARY, HARM), asked(LIBRARY, GAIN)
    assert (harm.outcome, harm.harm, harm.watch_days) == (HARM, True, LIBRARY.risks[HARM].watch_days)
    assert (gain.outcome, gain.harm, gain.watch_days) == (GAIN, False, 180)
    assert harm.units == gain.units == (set(UNITS) | set(LIBRARY.field.units)) - {"syringes"}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({}, ""),
        ({"watched_days": 90}, ""),  # half of 180
        ({"watched_days": 89}, TOO_EARLY),
        ({"watched_days": None}, NOT_SAID),
        ({"watched_days": 89, "looked_for": "self-rated"}, TOO_EARLY),  # one reason is enough
        ({"looked_for": "notes"}, ""),  # that flatters a harm
    ],
)
def test_a_gain_is_judged_at_half_of_its_time_or_later(changes, why):
    assert misleading(replace(GAIN_ROW, **changes), asked(LIBRARY, GAIN)) == why


@pytest.mark.parametrize(
    ("days", "looked_for", "early"),
    [(90, "self-rated", False), (89, "self-rated", True), (89, "examined", False), (30, "self-rated", True)],
)
def test_peoples_own_rating_of_a_gain_counts_from_90_days(days, looked_for, early):
    soon = replace(asked(LIBRARY, GAIN), watch_days=60)
    said = misleading(replace(GAIN_ROW, watched_days=days, looked_for=looked_for), soon)
    expected = f"people rated the gain themselves at {days} days; at least 90 are needed"
    assert said == (expected if early else "")


def test_every_reason_against_a_figure_is_said_in_one_order():
    harm, gain = asked(LIBRARY, HARM), asked(LIBRARY, GAIN)
    assert unfit(HARM_ROW, harm) == "" == misleading(HARM_ROW, harm)
    row = replace(HARM_ROW, counted="part", unit="syringes", looked_for="notes")
    no_unit = "syringes are no people, treatments or places"
    assert misleading(row, harm) == f"{no_unit}; {FLATTERS['notes']}"
    assert unfit(row, harm) == f"{MISCOUNTED['part']}; {no_unit}; {FLATTERS['notes']}"
    late = replace(GAIN_ROW, counted="more", watched_days=89)
    assert unfit(late, gain) == f"{MISCOUNTED['more']}; {TOO_EARLY}"
