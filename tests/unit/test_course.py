"""Treatments in order, and parted into groups: the same as counting each outcome and group by itself.

In both databases. All rows are invented.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest
from in_order import series
from test_queries import DAYS, YEAR, count, filled, row  # noqa: F401 - fixtures

from consentpack.rates.watching import gather
from consentpack.register import SEEN, UNKNOWN, Comparison, course, order_of, tally, tally_parted
from consentpack.register.course import Order, _told

TECHNIQUES = ("cannula", "needle", "cannula; local", "needle; filler")
SITES, SKINS, BY = ("chin", "cheek"), ("I", "V", ""), ("AB", "CD", "")
EVERYTHING = frozenset({"cannula", "needle", "filler", "local"})


@pytest.fixture
def made(filled):  # noqa: F811
    """A register of 200 treatments in no order of days."""
    rng = random.Random(11)
    rows = []
    for _ in range(200):
        day = date(2026, 1, 1) + timedelta(days=rng.randrange(60))
        seen = day + timedelta(days=rng.choice((0, 13, 14, 20, 180, 200)))
        cells = (rng.choice(("yes", "no", "")) for _ in range(2))
        what, site = rng.choice(TECHNIQUES), rng.choice(SITES)
        rows.append(
            row(str(day), what, site=site, skin=rng.choice(SKINS), seen=str(seen), by=rng.choice(BY),
                **dict(zip(("bruising", "marks"), cells, strict=True)))
        )  # fmt: skip
    return filled(rows)


def gathered(connection, parted_by=()):
    order = order_of(connection, DAYS)
    return gather(order, course(connection, order, DAYS, YEAR.last, parted_by=parted_by), tuple)


@pytest.mark.parametrize("outcome", DAYS)
@pytest.mark.parametrize("technique", ["cannula", "needle", "filler", "nobody"])
def test_each_outcome_is_told_as_in_a_series_of_its_own(made, technique, outcome):
    alone = Comparison(frozenset({technique}), frozenset({technique}))
    with made.connect() as connection:
        found = gathered(connection)
        used = found.used(technique)
        state = found.state(outcome, used)
        told = [
            (date.fromordinal(int(day)), bool(is_ == SEEN))
            for day, is_ in zip(found.days[used], state, strict=True)
            if is_ != UNKNOWN
        ]
        assert told == list(series(connection, alone, YEAR, outcome, DAYS[outcome]))
        assert told or technique == "nobody"


def test_nothing_after_the_day_is_told(made):
    with made.connect() as connection:
        order = order_of(connection, DAYS)
        until = date(2026, 1, 20)
        days = gather(order, course(connection, order, DAYS, until), tuple).days
        assert len(days) and max(days) <= until.toordinal()
        assert list(course(connection, order, DAYS, date(1990, 1, 1))) == []


def test_an_outcome_is_not_known_until_its_watching_time_is_over(filled):  # noqa: F811
    """Only those in which it was seen could count, and a steady register would end in an alarm."""
    rows = [row(day, seen="2026-12-01", bruising="yes") for day in ("2026-06-16", "2026-06-17", "2026-06-30")]
    with filled(rows).connect() as connection:
        order = order_of(connection, DAYS)
        found = gather(order, course(connection, order, DAYS, date(2026, 6, 30)), tuple)
        assert found.state("bruising", found.used("cannula")).tolist() == [SEEN, UNKNOWN, UNKNOWN]


def test_groups_are_told_in_the_order_asked_for_and_a_blank_is_a_group(made):
    with made.connect() as connection:
        found = gathered(connection, ("skin_type", "site"))
        assert set(found.named) <= {(s or "not recorded", p) for s in SKINS for p in SITES}
        assert len(found.named) == 6
        skins = [found.named[cell][0] for cell in found.cells]
        never = gathered(connection, ("hair",))  # nobody recorded it
        assert never.named == (("not recorded",),)
    assert {"I", "V", "not recorded"} == set(skins)


def test_more_outcomes_than_one_number_holds_are_told_by_several():
    days = {f"o{at}": 14 for at in range(70)}
    places = {name: (at // 31, 2 * (at % 31)) for at, name in enumerate(days)}
    order = Order({}, places, 3)
    for number in range(3):
        sql = str(_told(order, {name: name for name in days}, days, number, YEAR.last))
        assert sql.count("CASE") == (31, 31, 8)[number]
        highest = max(int(word) for word in sql.split() if word.isdigit())
        assert highest < 2**63


def test_an_empty_register_has_no_course(register):
    from support import load

    load(register, "case,session,date,techniques,site\n")
    with register.connect() as connection:
        assert gathered(connection).days.size == 0
        assert list(tally_parted(connection, YEAR, DAYS)) == []


# --- parted ---------------------------------------------------------------------------------------


def test_the_parts_are_the_tallies_of_their_groups(made):
    with made.connect() as connection:
        parts = list(tally_parted(connection, YEAR, DAYS, strata=("skin_type",), operators=True))
        assert len({(p.techniques, p.operator, p.site, p.strata) for p in parts}) == len(parts) > 20
        for each in parts:
            if each.strata == ("not recorded",):
                continue
            mine = Comparison(each.techniques, EVERYTHING, (each.site,), (("skin_type", each.strata),))
            same = [
                p
                for p in parts
                if (p.techniques, p.site, p.strata) == (each.techniques, each.site, each.strata)
            ]
            whole = tally(connection, mine, YEAR, DAYS).counts
            for outcome in DAYS:
                events = sum(p.counts[outcome][0] for p in same)
                watched = sum(p.counts[outcome][1] for p in same)
                assert (events, watched) == (whole[outcome].events, whole[outcome].watched)


def test_a_blank_operator_or_stratum_is_a_group_of_its_own(made):
    with made.connect() as connection:
        parts = list(tally_parted(connection, YEAR, DAYS, strata=("skin_type", "hair"), operators=True))
    assert {p.operator for p in parts} == {"AB", "CD", "not recorded"}
    assert {p.strata[0] for p in parts} == {"I", "V", "not recorded"}
    assert {p.strata[1] for p in parts} == {"not recorded"}


def test_only_the_asked_techniques_and_days_are_counted(made):
    with made.connect() as connection:
        parts = list(tally_parted(connection, YEAR, DAYS, techniques=("filler",)))
        assert {p.techniques for p in parts} == {frozenset({"needle", "filler"})}
        assert {p.operator for p in parts} == {""}
        none = replace(YEAR, first=date(2030, 1, 1), last=date(2030, 2, 1))
        assert list(tally_parted(connection, none, DAYS)) == []
