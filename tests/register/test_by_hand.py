"""Every count once more in plain Python over the rows, without SQL, and compared exactly.

The counts of the demo's audit, of every technique, outcome and level; and of small registers that
hypothesis makes. In both databases, which thus also agree with each other.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from in_order import series
from support import SKIN_TYPES, empty, load

from consentpack.model import Counts, Stratum
from consentpack.pipeline.audit import reading_of
from consentpack.register import Comparison, Reading, Window, tally, tally_all

WORDS = {"yes": 1, "mild": 1, "moderate": 2, "severe": 3, "no": 0}


@dataclass(frozen=True)
class Row:
    """One treatment, read from the file by nothing of ours."""

    day: date
    used: frozenset[str]
    site: str
    skin: str
    last_seen: date | None
    said: Mapping[str, str]
    operator: str = ""


def keeps_last_seen(rows: Iterable[Row]) -> bool:
    """Whether a register keeps last-seen days: many do, or hardly any lacks it that says anything."""
    rows = list(rows)
    with_day = sum(row.last_seen is not None for row in rows)
    lacking = sum(row.last_seen is None and any(row.said.values()) for row in rows)
    return with_day >= 30 or lacking <= with_day


def in_series(row: Row, outcome: str, days: int) -> bool:
    """Whether a treatment is watched over time: by what was seen, and who was looked at for long."""
    said = row.said.get(outcome, "")
    looked = (row.last_seen - row.day).days if row.last_seen else -1
    return said not in ("", "no") or (said == "no" and looked >= days)


def count_one(row: Row, outcome: str, days: int, today: date, *, timed: bool = True) -> Counts:
    """The sentences of queries.tally, for one treatment."""
    said = row.said.get(outcome, "")
    seen, denied = said not in ("", "no"), said == "no"
    looked = (row.last_seen - row.day).days if row.last_seen else 0
    passed = (today - row.day).days
    due = passed >= days
    to_the_end = row.last_seen is not None and looked >= days
    recorded = seen or denied
    watched = recorded and due and (to_the_end or not timed)
    possible = min(passed, days)
    return Counts(
        events=int(seen and watched),
        watched=int(watched),
        due=int(due),
        due_watched=int(watched),
        days_watched=possible if seen else min(looked, possible) if denied else 0,
        days_possible=possible,
        outside_events=int(seen and not watched),
        outside=int(recorded and not watched),
        blank=int(not recorded),
    )


def count_all(rows: Iterable[Row], outcome: str, days: int, today: date, *, timed: bool = True) -> Counts:
    counted = [vars(count_one(row, outcome, days, today, timed=timed)) for row in rows]
    names = [each.name for each in fields(Counts) if each.name not in ("counted_in", "curve")]
    return Counts(**{name: sum(one[name] for one in counted) for name in names})


def chosen(rows: Iterable[Row], comparison: Comparison, window: Window) -> list[Row]:
    """A stratum that is written down for nobody cannot be asked for, so it leaves the comparison alone."""
    rows = list(rows)
    recorded = any(row.skin for row in rows)
    return [
        row
        for row in rows
        if window.first <= row.day <= window.last
        and all(technique in row.used for technique in comparison.techniques)
        and not any(t in row.used and t not in comparison.techniques for t in comparison.scope)
        and (not comparison.sites or row.site in comparison.sites)
        and all(row.skin in values for _, values in comparison.strata if recorded)
    ]


def assert_counted_alike(connection, rows, comparison, window, days) -> int:
    """The tally of a comparison is the one by hand, for every outcome; how many treatments it has."""
    mine = chosen(rows, comparison, window)
    found = tally(connection, comparison, window, days)
    timed = keeps_last_seen(rows)
    by_hand = {o: count_all(mine, o, days[o], window.last, timed=timed) for o in days}
    assert found.timed == timed
    assert found.counts == by_hand
    assert found.treatments == len(mine)
    assert (found.first, found.last) == (
        min((row.day for row in mine), default=None), max((row.day for row in mine), default=None),
    )  # fmt: skip
    return len(mine)


# --- the demo's audit -----------------------------------------------------------------------------

TODAY = date(2026, 11, 25)
DEMO_WINDOW = Window(date(2023, 11, 25), TODAY)


def day_of(cell: str) -> date | None:
    return datetime.strptime(cell, "%d/%m/%Y").date() if cell else None


def demo_rows(path, columns: Mapping[str, str], set_aside: set[int]) -> list[Row]:
    """The rows of the demo that went in, read with the csv module alone."""
    at = {meaning: header for header, meaning in columns.items()}
    rows = []
    with path.open(newline="", encoding="utf-8") as stream:
        for number, cells in enumerate(csv.DictReader(stream), 2):
            if number not in set_aside and cells[at["case"]]:
                said = {meaning: cells[header].strip().lower() for header, meaning in columns.items()}
                used = frozenset(word.strip() for word in cells[at["techniques"]].split(";"))
                rows.append(
                    Row(
                        day_of(cells[at["date"]].strip()), used, said["site"], said["skin_type"].upper(),
                        day_of(cells[at["last_seen"]].strip()), said, cells[at["operator"]].strip(),
                    )
                )  # fmt: skip
    return rows


def groups_of(groups: Mapping[str, str]) -> list[tuple[str, ...]]:
    return [tuple(sorted(m for m, g in groups.items() if g == name)) for name in sorted(set(groups.values()))]


@pytest.fixture
def demo(register, demo_clinic, place):
    """The demo's audit in a register of either database, and its rows."""
    path, columns = demo_clinic / "audit.csv", place.clinic.audit_columns
    result = load(register, path, columns=columns, reading=reading_of(place))
    rows = demo_rows(path, columns, {item.row for item in result.set_aside})
    assert len(rows) == result.added > 700
    return register, rows, {id: outcome.watch_days for id, outcome in place.library.outcomes.items()}


@pytest.mark.slow("thousands of counts, each by another way")
def test_every_technique_outcome_and_level_of_the_demo_is_counted_as_by_hand(demo, place):
    register, rows, days = demo
    library, treatments = place.library, []
    treating = frozenset(library.treating)
    numbing = frozenset(library.anaesthetics)
    sites, skins = groups_of(place.clinic.site_groups), groups_of(place.clinic.stratum_groups["skin_type"])
    used = {row.used for row in rows}
    with register.connect() as connection:
        for technique in library.techniques:
            one = frozenset({technique})
            scope = numbing if technique in numbing else treating
            comparisons = {Comparison(one, one), Comparison(one, scope)}
            together = {combination & scope for combination in used if technique in combination}
            comparisons |= {Comparison(each, scope) for each in together}
            closest = Comparison(max(together, key=len, default=one), scope)
            comparisons |= {
                Comparison(closest.techniques, scope, site, (("skin_type", skin),))
                for site in sites
                for skin in skins
            }
            treatments += [
                assert_counted_alike(connection, rows, each, DEMO_WINDOW, days) for each in comparisons
            ]
    assert sum(map(bool, treatments)) > 40  # the demo has treatments to compare


def test_every_combination_of_the_demo_is_counted_as_by_hand(demo):
    register, rows, days = demo
    with register.connect() as connection:
        found = tally_all(connection, DEMO_WINDOW, days).each
    inside = [row for row in rows if DEMO_WINDOW.first <= row.day <= DEMO_WINDOW.last]
    assert set(found) == {row.used for row in inside}
    for used, counts in found.items():
        mine = [row for row in inside if row.used == used]
        for outcome, number in days.items():
            assert counts[outcome] == count_all(mine, outcome, number, TODAY), (used, outcome)


def test_operators_and_sites_of_the_demo_are_counted_as_by_hand(demo, place):
    register, rows, days = demo
    with register.connect() as connection:
        in_one_pass = tally_all(connection, DEMO_WINDOW, days).by
        for technique in ("blunt-cannula", "needle-fan-one-entry", "local-infiltration"):
            one = Comparison(frozenset({technique}), frozenset({technique}))
            for outcome in place.library.techniques[technique].risks:
                for grouping in ("operator", "site"):
                    found = in_one_pass[grouping].of(one, outcome)
                    groups: dict[str, Counts] = {}
                    for row in chosen(rows, one, DEMO_WINDOW):
                        name = getattr(row, grouping) or "not recorded"
                        counts = count_one(row, outcome, days[outcome], TODAY)
                        groups[name] = groups.get(name, Counts(0, 0, 0, 0)) + counts
                    by_hand = {name: (counts.events, counts.watched) for name, counts in groups.items()}
                    recorded = any(row.said.get(outcome) for row in rows)
                    assert found == (by_hand if recorded else {}), (technique, outcome, grouping)


# --- small registers ------------------------------------------------------------------------------

TECHNIQUES = ("cannula", "needle", "filler", "local")
OUTCOMES = ("bruising", "marks")
FIRST = date(2026, 1, 1)
DAYS = st.dates(FIRST, date(2026, 2, 10))
SUBSETS = st.frozensets(st.sampled_from(TECHNIQUES), min_size=1)
ROWS = st.lists(
    st.builds(
        Row,
        day=DAYS,
        used=SUBSETS,
        site=st.sampled_from(["chin", "lip"]),
        skin=st.sampled_from(["", "I", "V"]),
        last_seen=st.none() | st.dates(date(2026, 2, 10), date(2026, 3, 20)) | st.just(FIRST),
        said=st.fixed_dictionaries({o: st.sampled_from(["", *WORDS]) for o in OUTCOMES}),
        operator=st.sampled_from(["", "AQ"]),
    ).map(lambda row: row if not row.last_seen or row.last_seen >= row.day else
          Row(row.day, row.used, row.site, row.skin, row.day, row.said, row.operator)),
    max_size=12,
)  # fmt: skip
COMPARISONS = st.builds(
    Comparison,
    SUBSETS,
    SUBSETS,
    st.sampled_from([(), ("chin",), ("chin", "lip")]),
    st.sampled_from([(), (("skin_type", ("I",)),), (("skin_type", ("I", "V")),)]),
)
READING = Reading(
    "year-first",
    frozenset(TECHNIQUES),
    frozenset(OUTCOMES),
    {"skin_type": Stratum("skin_type", "skin type", SKIN_TYPES, "")},
)


def as_csv(rows: Iterable[Row]) -> str:
    lines = ["case,session,date,techniques,site,skin_type,last_seen,operator,bruising,marks"]
    for number, row in enumerate(rows):
        cells = (row.day, ";".join(sorted(row.used)), row.site, row.skin, row.last_seen or "", row.operator)
        said = (row.said[outcome] for outcome in OUTCOMES)
        lines.append(",".join([f"C{number}", "1", *map(str, cells), *said]))
    return "\n".join(lines)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=ROWS,
    comparison=COMPARISONS,
    window=st.tuples(DAYS, DAYS).map(sorted).map(lambda days: Window(*days)),
    days=st.fixed_dictionaries({o: st.sampled_from([1, 14, 30]) for o in OUTCOMES}),
)
def test_whatever_the_register_holds_it_is_counted_as_by_hand(register_url, rows, comparison, window, days):
    register = empty(register_url)
    assert load(register, as_csv(rows), reading=READING).added == len(rows)
    with register.connect() as connection:
        assert_counted_alike(connection, rows, comparison, window, days)
        inside = [row for row in rows if window.first <= row.day <= window.last]
        timed = keeps_last_seen(rows)
        assert tally_all(connection, window, days).each == {
            used: {
                o: count_all([row for row in inside if row.used == used], o, n, window.last, timed=timed)
                for o, n in days.items()
            }
            for used in {row.used for row in inside}
        }
        mine = sorted(chosen(rows, comparison, window), key=lambda row: row.day)
        for outcome, number in days.items():
            watched = [row for row in mine if in_series(row, outcome, number)]
            in_order = [(row.day, row.said[outcome] != "no") for row in watched]
            assert list(series(connection, comparison, window, outcome, number)) == in_order
    register.engine.dispose()
