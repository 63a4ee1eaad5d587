"""Which printed figure fits its sentence, at the borders. Rows are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_fits import GAIN, GAIN_ROW, HARM, HARM_ROW, LIBRARY, told_of

from consentpack.model import Counts, Told
from consentpack.rates.fits import FLATTERS, MISCOUNTED, asked, misleading, unfit
from consentpack.rates.intervals import wilson
from consentpack.rates.published import published_rate, told, withheld
from consentpack.rates.worse import is_worse
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


# --- which is quoted, told, withheld --------------------------------------------------------------

MINE = {"techniques": ("microneedling",), "factors": ("smoking",)}


def why_withheld(*rows) -> list[str]:
    return [each.why for each in withheld(rows, asked(LIBRARY, rows[0].outcome), **MINE)]


def test_a_quoted_figure_carries_its_source_in_whom_and_for_how_long():
    rate = published_rate([HARM_ROW], asked(LIBRARY, HARM), **MINE)
    assert rate is not None
    assert (rate.outcome, rate.events, rate.n, rate.interval) == (HARM, 40, 100, wilson(40, 100))
    assert (rate.unit, rate.who, rate.source) == ("people", "invented people", "invented-source")
    assert (rate.follow_up, rate.caveat, rate.watched_days) == ("invented", "invented", 30)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({}, []),
        ({"factor": "smoking", "n": 20, "events": 5}, ["only 20 treatments; at least 30 are needed"]),
        ({"factor": "diabetes", "n": 20, "events": 5}, []),  # not this patient's
        ({"seen": "memory", "n": 20, "events": 5}, []),  # nobody has read it
        ({"events": None, "percent": 44.0}, ["no count is printed that fits it"]),
        ({"n": None, "percent": 44.0}, ["no count is printed that fits it"]),
        ({"n": 0, "events": 0, "percent": 44.0}, ["no count is printed that fits it"]),
        ({"n": None}, []),  # nothing to be read at all
        ({"outcome": "infection", "n": 20, "events": 5}, []),
        ({"technique": "dermabrasion-mechanical", "n": 20, "events": 5}, []),
    ],
)
def test_a_figure_that_was_read_and_is_no_rate_leaves_its_reason(changes, why):
    found = list(withheld([replace(HARM_ROW, **changes)], asked(LIBRARY, HARM), **MINE))
    assert [each.why.partition(": ")[2] for each in found] == why
    assert {each.level for each in found} <= {"published"}


def test_a_reason_names_the_figure_as_it_is_printed_and_once():
    thin = replace(HARM_ROW, events=5, n=20)
    said = "only 20 treatments; at least 30 are needed"
    assert why_withheld(thin, thin) == [f"invented-source, 5 of 20 people: {said}"]
    many = replace(HARM_ROW, events=1_000, n=6_410, looked_for="notes")
    assert why_withheld(many) == [f"invented-source, 1,000 of 6,410 people: {FLATTERS['notes']}"]
    for row in (replace(HARM_ROW, events=None), replace(HARM_ROW, n=None)):
        (line,) = why_withheld(replace(row, percent=44.0))
        assert line == "invented-source, 44% of people: no count is printed that fits it"
        assert why_withheld(replace(row, percent=0.5))[0].startswith("invented-source, 0.5% of people")


def test_what_was_seen_is_told_with_its_counts_or_its_percentage_and_never_with_half_of_a_count():
    of_people = ("people", "invented people", "invented-source", "invented", 30, "invented")
    assert told_of(replace(HARM_ROW, events=5, n=20)) == Told(*of_people, 25.0, 5, 20, few=True)
    assert told_of(HARM_ROW) == Told(*of_people, 40.0, 40, 100, few=False)
    for half in ({"events": None}, {"n": None}, {"events": None, "n": None}, {"events": 0, "n": 0}):
        row = replace(HARM_ROW, percent=44.0, **half)
        assert told_of(row) == Told(*of_people, 44.0, None, None, few=True)


@pytest.mark.parametrize(
    ("changes", "is_told"),
    [
        ({"counted": "part"}, True),  # that it was seen so often is true
        ({"counted": "more"}, False),
        ({"counted": "other"}, False),
        ({"counted": "one-in"}, False),
        ({"events": 0}, False),
        ({"events": None}, False),
        ({"events": None, "percent": 0.1}, True),
        ({"events": None, "percent": 44.0, "seen": "memory"}, False),
        ({"looked_for": "notes"}, False),
        ({"unit": "syringes"}, False),
    ],
)
def test_a_harm_is_told_when_it_was_read_was_seen_and_does_not_mislead(changes, is_told):
    assert (told_of(replace(HARM_ROW, **changes)) is not None) is is_told


def test_a_gain_is_never_told_and_of_harms_the_worst_is_by_count_or_percentage():
    assert told_of(GAIN_ROW) is None
    half, quarter = replace(HARM_ROW, events=None, percent=50.0), replace(HARM_ROW, events=25)
    for rows in ((half, quarter), (quarter, half)):
        found = told(rows, asked(LIBRARY, HARM), **MINE)
        assert found is not None and found.percent == 50
    theirs = told((half, replace(quarter, factor="smoking")), asked(LIBRARY, HARM), **MINE)
    assert theirs is not None and theirs.percent == 25
    assert told((replace(half, factor="diabetes"),), asked(LIBRARY, HARM), **MINE) is None


def test_of_gains_the_least_is_quoted():
    rows = (GAIN_ROW, replace(GAIN_ROW, events=60), replace(GAIN_ROW, events=70))
    rate = published_rate(rows, asked(LIBRARY, GAIN), **MINE)
    assert rate is not None and rate.events == 60


def test_worse_is_more_of_a_harm_and_less_of_a_gain_by_a_one_sided_test():
    """One of one beside none of 19: 1 in 20 by chance; beside none of 20: 1 in 21."""
    rate = published_rate([replace(HARM_ROW, events=0, n=100)], asked(LIBRARY, HARM), **MINE)
    assert rate is not None

    def worse(events: int, n: int, printed: tuple[int, int], *, harm: bool) -> bool:
        return is_worse(Counts(events, n, n, n), printed, harm=harm)

    assert not worse(1, 1, (0, 18), harm=True) and worse(1, 1, (0, 20), harm=True)
    assert not worse(1, 1, (0, 20), harm=False)
    assert not worse(0, 1, (18, 18), harm=False) and worse(0, 1, (20, 20), harm=False)
    assert not worse(0, 1, (20, 20), harm=True)
    assert not worse(0, 0, (20, 20), harm=False)
