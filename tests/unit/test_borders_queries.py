"""Counts out of the register at their borders. All rows are invented."""

from __future__ import annotations

from dataclasses import astuple, replace
from datetime import date, datetime

import pytest
from in_order import series
from sqlalchemy import select, update
from support import treatment
from test_queries import ALONE, CANNULA, DAYS, YEAR, count, filled, row

from consentpack.register import Comparison, due, tally, tally_all
from consentpack.register.provenance import Held, Source, read_held
from consentpack.register.queries import fits, inside
from consentpack.register.read_together import Together
from consentpack.register.rolled import rolled
from consentpack.register.schema import IMPORTS, field_columns, outcome_columns, treatments
from consentpack.register.store import Store
from consentpack.register.sums import Sums
from consentpack.register.timing import Timing
from consentpack.register.watched import Watched

__all__ = ["count", "filled"]


def test_in_a_series_an_outcome_not_seen_counts_from_the_last_day_one_must_look(filled):
    rows = [
        row("2026-06-01", seen="2026-06-14", bruising="no"),  # 13 days
        row("2026-06-02", seen="2026-06-16", bruising="no"),  # 14 days
        row("2026-06-03", seen="2026-06-18", bruising="no"),  # 15 days
        row("2026-06-04", seen="", bruising="no"),
        row("2026-06-05", seen="", bruising="yes"),
    ]
    with filled(rows).connect() as connection:
        found = list(series(connection, ALONE, YEAR, "bruising", 14))
    assert found == [(date(2026, 6, 2), False), (date(2026, 6, 3), False), (date(2026, 6, 5), True)]


def test_of_one_day_a_series_keeps_the_order_of_the_register(filled):
    """A sum over time depends on the order; two runs over one register must tell the same story."""
    used = ("cannula", "cannula;local", "cannula", "cannula;local")
    said = ("yes", "no", "no", "yes")
    rows = [row(techniques=t, seen="2026-12-01", bruising=s) for t, s in zip(used, said, strict=True)]
    with filled(rows).connect() as connection:
        found = [seen for _, seen in series(connection, ALONE, YEAR, "bruising", 14)]
    assert found == [True, False, False, True]


@pytest.mark.parametrize(
    ("day", "seen", "bruising", "looked", "possible"),
    [
        ("2026-06-01", "2026-06-08", "no", 7, 14),
        ("2026-06-01", "2026-12-01", "no", 14, 14),
        ("2026-12-24", "2027-03-01", "no", 7, 7),  # today is a week later
        ("2026-06-01", "2026-06-02", "yes", 14, 14),
        ("2026-06-01", "2026-12-01", "", 0, 14),
        ("2026-06-01", "", "no", 0, 14),
    ],
)
def test_days_looked_for_stop_at_the_watching_time_and_at_today(count, day, seen, bruising, looked, possible):
    found = count([row(day, seen=seen, bruising=bruising)]).counts["bruising"]
    assert (found.days_watched, found.days_possible) == (looked, possible)


def test_each_outcome_keeps_its_own_sums_however_many_are_asked_together(filled):
    rows = [
        row("2026-01-05", seen="2026-12-20", bruising="no", marks="yes"),
        row("2026-01-05", seen="2026-12-20", bruising="yes", marks="no"),
        row("2026-12-01", seen="2026-12-20", bruising="yes", marks=""),
    ]
    asked = (DAYS, dict(reversed(DAYS.items())), {"never-asked": 14} | DAYS, {"bruising": 14})
    expected = {
        "bruising": (2, 3, 3, 3, 42, 42, 0, 0, 0, False, None),
        "marks": (1, 2, 2, 2, 360, 390, 0, 0, 1, False, None),
        "never-asked": (0, 0, 3, 0, 0, 42, 0, 0, 3, False, None),
    }
    with filled(rows).connect() as connection:
        for days in asked:
            found = tally(connection, ALONE, YEAR, days).counts
            assert {name: astuple(counts) for name, counts in found.items()} == {
                name: expected[name] for name in days
            }


@pytest.mark.parametrize(("site", "skin", "n"), [("chin", "III", 1), ("lip", "III", 0), ("chin", "IV", 0)])
def test_a_treatment_at_another_site_or_of_another_skin_is_not_compared(count, site, skin, n):
    assert count([row()], Comparison(CANNULA, CANNULA, (site,), (("skin_type", (skin,)),))).treatments == n


def test_the_last_day_of_a_period_is_counted_for_every_combination(filled):
    rows = [row(day) for day in ("2025-12-31", "2026-01-01", "2026-12-31", "2027-01-01")]
    with filled(rows).connect() as connection:
        found = tally_all(connection, YEAR, DAYS).each
    assert astuple(found[CANNULA]["bruising"])[:4] == (0, 0, 1, 0)  # the last is not due yet


def test_what_is_due_is_named_from_the_day_its_time_has_passed(filled):
    rows = [
        row("2026-06-17", bruising="no", seen="2026-06-30"),  # 13 days: not long enough
        row("2026-06-17", bruising="no", seen="2026-07-01"),
        row("2026-06-17", bruising="yes"),
        row("2026-06-17"),
        row("2026-06-18"),  # due tomorrow
        row("2026-06-01", techniques="needle"),  # nothing is looked for after it
        row("2026-06-16", bruising="no"),  # nobody knows how long
    ]
    with filled(rows).connect() as connection:
        found = due(
            connection, {"bruising": 14}, date(2026, 7, 1),
            lambda used: ("bruising", "unknown") if "cannula" in used else (),
        )  # fmt: skip
    assert [(each.case, each.day.day) for each in found] == [("C-6", 16), ("C-0", 17), ("C-3", 17)]
    assert {each.outcomes for each in found} == {("bruising",)}


def test_those_longest_due_come_first_whatever_was_done_and_then_by_case_and_session(filled):
    rows = [
        row("2026-03-02", techniques="cannula;local"), row("2026-03-01", techniques="needle"),
        row("2026-03-02"), row("2026-03-01", techniques="cannula;local"),
    ]  # fmt: skip
    with filled(rows).connect() as connection:
        asked = {"bruising": 14, "never-recorded": 14}
        found = due(connection, asked, date(2026, 7, 1), lambda used: sorted(asked))
    assert [(each.case, each.session, each.day.day) for each in found] == [
        ("C-1", 1, 1), ("C-3", 1, 1), ("C-0", 1, 2), ("C-2", 1, 2),
    ]  # fmt: skip
    assert {each.outcomes for each in found} == {("bruising", "never-recorded")}


@pytest.mark.parametrize(
    ("used", "techniques", "scope", "same"),
    [
        ("a", "a", "", True),
        ("ab", "a", "", True),  # whatever else was done
        ("ab", "a", "ab", False),
        ("ac", "a", "ab", True),
        ("a", "ab", "b", False),
        ("a", "a", "b", True),  # a scope need not name what is compared
        ("ab", "a", "b", False),
        ("b", "a", "b", False),
        ("", "a", "a", False),
    ],
)
def test_a_treatment_fits_that_used_all_of_some_techniques_and_no_other_of_a_scope(
    used, techniques, scope, same
):
    comparison = Comparison(frozenset(techniques), frozenset(scope))
    assert fits(frozenset(used), comparison) is same


def test_what_depends_on_the_watching_time_alone_is_summed_once_for_all_that_have_it(filled):
    with filled([row(bruising="yes", marks="no")]).connect() as connection:
        columns, timing, rows = outcome_columns(connection), Timing(YEAR.last.toordinal()), rolled(connection)
        watched, chosen = Watched(rows, timing), inside(rows, YEAR)

        def sums(known, days):
            return len(Sums(Together(watched, known, days, timing), known, days).of(chosen))

        for days, times in (({"bruising": 14, "marks": 180}, 2), ({"bruising": 14, "marks": 14}, 1)):
            assert sums(columns, days) == 1 + 2 * times + 5 * 2
        assert sums(columns, {"never-recorded": 14}) == 1 + 2


def test_a_stratum_nobody_recorded_is_left_out_of_a_series_too(filled):
    rows = [row(skin="", bruising="yes"), row(skin="", bruising="yes", site="lip")]
    of_skin = replace(ALONE, strata=(("skin_type", ("III",)), ("never-heard-of", ("x",))))
    with filled(rows).connect() as connection:
        assert len(list(series(connection, of_skin, YEAR, "bruising", 14))) == 2
        found = tally(connection, of_skin, YEAR, DAYS)
    assert (found.treatments, found.without) == (2, ("skin_type", "never-heard-of"))


def test_a_stratum_whose_only_value_was_taken_back_is_left_out(filled):
    """Its column is there, and holds nothing."""
    of_skin = replace(ALONE, strata=(("skin_type", ("III",)),))
    with filled([row(skin="III", bruising="yes")]).writing() as connection:
        more = field_columns(connection)
        table = treatments(outcome_columns(connection), more)
        assert tally(connection, of_skin, YEAR, DAYS).without == ()
        connection.execute(update(table).values({more.strata["skin_type"]: None}))
        found = tally(connection, of_skin, YEAR, DAYS)
    assert (found.treatments, found.without) == (1, ("skin_type",))


def test_a_stratum_that_one_row_has_is_asked_for(filled):
    rows = [row(skin="", bruising="yes"), row(skin="IV", bruising="yes")]
    of_skin = replace(ALONE, strata=(("skin_type", ("III",)),))
    with filled(rows).connect() as connection:
        assert list(series(connection, of_skin, YEAR, "bruising", 14)) == []
        found = tally(connection, of_skin, YEAR, DAYS)
    assert (found.treatments, found.first, found.last, found.without) == (0, None, None, ())


# --- what is written ------------------------------------------------------------------------------


def begun(connection) -> Store:
    return Store.begin(
        connection, at=datetime(2026, 3, 2), by="tests", kind="import", file="a.csv", digest="d"
    )


def test_an_import_has_brought_nothing_when_it_begins(register):
    with register.writing() as connection:
        store = begun(connection)
        (entry,) = connection.execute(select(IMPORTS)).mappings()
        assert [entry[name] for name in ("rows_read", "added", "updated", "unchanged", "set_aside")] == [
            0
        ] * 5
        assert (entry["id"], entry["undone"], entry["kind"]) == (store.source.entry, False, "import")
        assert (entry["by"], entry["file_name"], entry["file_digest"]) == ("tests", "a.csv", "d")
        assert (store.added, store.updated, store.unchanged, store.count()) == (0, 0, 0, 0)
        assert store.source.kind == "file"


def test_outcomes_get_their_columns_in_one_order_whatever_the_order_of_the_rows(register):
    names = ["bruising", "bleeding", "swelling", "itch", "scar", "fever", "ache"]
    with register.writing() as connection:
        store = begun(connection)
        rows = [Held(treatment(f"T-{name}", outcomes={name: 1}), store.source) for name in names]
        store.add(rows)
        columns = outcome_columns(connection)
        assert sorted(columns, key=lambda name: int(columns[name][1:])) == sorted(names)
        assert (store.added, store.count()) == (7, 7)


def test_strata_and_measurements_get_theirs_in_one_order_too(register):
    names = ["gauge", "depth", "volume", "age", "length", "passes", "energy"]
    with register.writing() as connection:
        store = begun(connection)
        rows = [
            Held(treatment(f"T-{name}", strata={name: "x"}, measurements={name: 1.0}), store.source)
            for name in names
        ]
        store.add(rows)
        found = field_columns(connection)
        assert list(found.strata) == list(found.measurements) == sorted(names)


def test_what_is_there_already_is_counted_as_unchanged_and_what_is_not_as_added(register):
    first, second = treatment("T-1", outcomes={"itch": 1}), treatment("T-2", outcomes={"itch": 0})
    with register.writing() as connection:
        store = begun(connection)
        store.put([(2, first)])
        assert (store.added, store.updated, store.unchanged) == (1, 0, 0)
        assert store.holds([("T-1", 1), ("T-2", 1), None]) == 0  # this import has brought it itself
    with register.writing() as connection:
        store = begun(connection)
        assert store.holds([("T-1", 1), ("T-1", 2), ("T-2", 1), None]) == 1
        store.put([(2, first), (3, second), (4, replace(first, session=2))])
        assert (store.added, store.updated, store.unchanged) == (2, 0, 1)
        store.put([(2, replace(first, outcomes={"itch": 0})), (3, second)])
        assert (store.added, store.updated, store.unchanged) == (2, 1, 2)
        store.finish(rows_read=5, set_aside=1)
        entry = connection.execute(select(IMPORTS).where(IMPORTS.c.id == store.source.entry)).mappings().one()
        counts = {name: entry[name] for name in ("rows_read", "set_aside", "added", "updated", "unchanged")}
        assert counts == {"rows_read": 5, "set_aside": 1, "added": 2, "updated": 1, "unchanged": 2}
        assert store.count() == 3


def test_one_combination_of_techniques_is_kept_once(register):
    both = ("blunt-cannula", "local-infiltration")
    with register.writing() as connection:
        store = begun(connection)
        store.put([(2, treatment("T-1", techniques=both)), (3, treatment("T-2", techniques=both[:1]))])
        again = begun(connection)
        again.put([(2, treatment("T-3", techniques=both))])
        assert sorted(tally_of(connection).values()) == [1, 2]


def tally_of(connection) -> dict[int, int]:
    """How many treatments each combination has."""
    found: dict[int, int] = {}
    for (id,) in connection.execute(select(treatments({}).c.combination_id)):
        found[id] = found.get(id, 0) + 1
    return found


def test_where_an_outcome_came_from_is_written_anew_with_it(register):
    looked = Source(1, "file", 20)
    with register.writing() as connection:
        store = begun(connection)
        store.put([(2, treatment("T-1", outcomes={"itch": 1, "ache": 0}))])
        ((id,),) = connection.execute(select(treatments({}).c.id)).all()
        held = Held(treatment("T-1", outcomes={"itch": 2, "ache": 0}), store.source, {"itch": looked})
        for _ in range(2):  # what was written before is gone
            store.write({id: held})
        found = read_held(connection, [id])[id]
        assert dict(found.sources) == {"itch": looked}
        assert found.treatment.outcomes == {"itch": 2, "ache": 0}
        store.write({id: replace(held, sources={})})
        assert dict(read_held(connection, [id])[id].sources) == {}
