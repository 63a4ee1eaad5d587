"""The roll-up that figures are counted from, against the rows. All rows are invented.

Parts of four treatments, so that there are many: with those of the program a test would have one.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from datetime import date, datetime, timedelta
from itertools import product
from pathlib import Path
from random import Random

import pytest
from counted_from_rows import tally_of_rows
from sqlalchemy import create_engine, inspect, text
from sqlalchemy.engine import make_url
from support import BY, NOW, READING, load, take_back, treatment

from consentpack.errors import RegisterError
from consentpack.register import (
    Comparison,
    Window,
    add_treatment,
    as_it_stood,
    check_register,
    moment_of,
    open_register,
    packing,
    record_outcomes,
    repair_register,
    rollup,
    rollup_tables,
    tally,
    tally_all,
    tally_parted,
    undo,
)

DATA = Path(__file__).parents[1] / "data"
SMALL_PART = 4
OUTCOMES = ("bruising", "infection")
DAYS = {"bruising": 14, "infection": 30, "never-recorded": 30}
SAME_DAYS = dict.fromkeys(DAYS, 14)
USED = ("blunt-cannula", "blunt-cannula; local-infiltration", "filler-after-release")
SITES = ("chin", "left cheek")
SKIN = ("I", "III", "VI")
FIRST = date(2026, 1, 1)
HEADS = ("case", "session", "date", "techniques", "site", "skin_type", "operator", "last_seen", *OUTCOMES)
WITH_DAYS = (*HEADS, "noticed:bruising", "noticed:infection", "retreated")
WINDOWS = (Window(FIRST, NOW.date()), Window(date(2026, 3, 1), date(2026, 5, 30)))
CANNULA, SCOPE = frozenset({"blunt-cannula"}), frozenset(READING.techniques)
COMPARISONS = (
    Comparison(frozenset(), frozenset()),
    Comparison(CANNULA, CANNULA),
    Comparison(CANNULA, SCOPE, ("chin",), (("skin_type", ("III", "VI")),)),
    Comparison(CANNULA, CANNULA, joint=OUTCOMES),
    Comparison(CANNULA, CANNULA, parts=(("infection", "bruising"),)),
)


@pytest.fixture(autouse=True)
def small_parts(monkeypatch):
    monkeypatch.setattr(rollup_tables, "PART", SMALL_PART)


def a_row(rng: Random, case: int, *, with_days: bool) -> str:
    """One invented row of the sheet."""
    day = FIRST + timedelta(rng.randrange(200))
    seen = day + timedelta(rng.randrange(90)) if rng.random() < 0.8 else None
    cells = {outcome: rng.choice(("yes", "no", "no", "")) for outcome in OUTCOMES}
    row = [f"C{case}", 1, day, rng.choice(USED), rng.choice(SITES), rng.choice((*SKIN, ""))]
    row += [rng.choice(("ab", "cd", "")), seen or "", *cells.values()]
    if with_days:
        known = {o: day + timedelta(rng.randrange(40)) for o, cell in cells.items() if cell == "yes"}
        row += [known[o] if o in known and rng.random() < 0.95 else "" for o in OUTCOMES]
        row.append(day + timedelta(rng.randrange(60)) if rng.random() < 0.1 else "")
    return ",".join(map(str, row)) + "\n"


def sheet(rng: Random, *, with_days: bool) -> str:
    rows = (a_row(rng, case, with_days=with_days) for case in rng.sample(range(25), rng.randrange(2, 16)))
    return ",".join(WITH_DAYS if with_days else HEADS) + "\n" + "".join(rows)


def imported(register, rng, number):
    load(register, sheet(rng, with_days=rng.random() < 0.6))


def entered(register, rng, number):
    made = treatment(case=f"H{number}", day=FIRST + timedelta(rng.randrange(200)), operator="ef")
    add_treatment(register, made, now=NOW, by=BY)


def looked(register, rng, number):
    """An outcome by hand, corrected or new, and at times a place that was treated again."""
    with register.connect() as connection:
        rows = connection.execute(text("SELECT case_ref, session, day FROM treatments ORDER BY id")).all()
    if rows:
        case, session, day = rng.choice(rows)
        on = date.fromordinal(day) + timedelta(rng.randrange(30))
        again = on if rng.random() < 0.3 else None
        seen = {rng.choice(OUTCOMES): rng.randrange(2)}
        noticed = on if any(seen.values()) and rng.random() < 0.5 else None
        record_outcomes(
            register, case, session, seen, seen_on=on, now=NOW, by=BY, noticed_on=noticed, retreated_on=again
        )


def taken_back(register, rng, number):
    with suppress(RegisterError):  # nothing is left, or later entries stand on it
        undo(register, now=NOW, by=BY)


STEPS = (imported, imported, entered, looked, looked, looked, taken_back)


def holds(register) -> None:
    """All that is counted is what the rows give, nothing is stale, and no part differs from its rows."""
    with register.connect() as connection:
        for comparison, window, days in product(COMPARISONS, WINDOWS, (DAYS, SAME_DAYS)):
            ours = tally(connection, comparison, window, days)
            assert ours == tally_of_rows(connection, comparison, window, days)
        assert connection.execute(text("SELECT count(*) FROM rollup_stale")).scalar() == 0
        assert rollup.wrong_parts(connection) == []


@pytest.mark.parametrize("seed", range(4))
def test_whatever_happens_to_a_register_its_counts_are_those_of_its_rows(register, seed):
    """Twenty comparisons after each of some steps, in two ways: seconds of processor."""
    rng = Random(seed)
    imported(register, rng, 0)
    for number in range(8):
        rng.choice(STEPS)(register, rng, number)
        holds(register)


def some(register, number=11):
    rng = Random(5)
    rows = "".join(a_row(rng, case, with_days=True) for case in range(number))
    load(register, ",".join(WITH_DAYS) + "\n" + rows)


def ours(register):
    with register.connect() as connection:
        return [tally(connection, each, WINDOWS[0], DAYS) for each in COMPARISONS]


def of_rows(register):
    with register.connect() as connection:
        return [tally_of_rows(connection, each, WINDOWS[0], DAYS) for each in COMPARISONS]


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE treatments SET day = day + 1, o1 = 1 - o1 WHERE id IN (2, 7)",
        "DELETE FROM treatments WHERE id = 6",
        "UPDATE treatments SET id = 40 WHERE id = 3",
    ],
)
def test_what_another_program_changes_is_counted_at_once(register, change):
    some(register)
    before = ours(register)
    with register.engine.begin() as connection:
        connection.execute(text("DELETE FROM outcome_sources"))
        connection.execute(text(change))
    assert ours(register) == of_rows(register)
    if "40" not in change:
        assert ours(register) != before
    assert not any("counted from" in line for line in check_register(register).damage)
    add_treatment(register, treatment(), now=NOW, by=BY)
    holds(register)


def test_a_row_that_another_program_puts_in_the_place_of_one_is_counted_once(tmp_path):
    """SQLite tells no trigger of the row that goes."""
    register = open_register(str(tmp_path / "r.sqlite"), create=True)
    some(register)
    names = "case_ref, session, day, site, watched_days, row_digest, combination_id, added_by, o1"
    with register.engine.begin() as connection:
        old = f"SELECT 50, {names} FROM treatments WHERE id = 2"
        connection.execute(text(f"INSERT OR REPLACE INTO treatments (id, {names}) {old}"))
    assert ours(register) == of_rows(register)
    assert ours(register)[0].treatments == 11
    add_treatment(register, treatment(), now=NOW, by=BY)
    holds(register)


def test_a_rollup_that_something_else_has_changed_is_found_and_mended(register):
    some(register)
    right = ours(register)
    with register.engine.begin() as connection:
        connection.execute(text("DELETE FROM rollup_columns WHERE part = 1 AND name = 'o1'"))
    assert ours(register) != right
    found = check_register(register).damage
    assert len(found) == 1 and "treatments 4 to 7" in found[0]
    repair_register(register)
    assert ours(register) == right
    assert check_register(register).damage == ()


def test_a_rollup_that_does_not_say_what_the_rows_say_is_never_written(register, monkeypatch):
    some(register)
    right = ours(register)
    monkeypatch.setattr(packing, "outcome_packed", lambda values: b"")
    with pytest.raises(RegisterError, match="of o1"):
        add_treatment(register, treatment(outcomes={"bruising": 1}), now=NOW, by=BY)
    monkeypatch.undo()
    assert ours(register) == right


def test_a_part_that_cannot_be_read_hinders_no_entry_and_is_told_when_it_is_counted(tmp_path):
    register = open_register(str(tmp_path / "r.sqlite"), create=True)
    some(register)
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE treatments SET watched_days = 'long' WHERE id = 2"))
    add_treatment(register, treatment(), now=NOW, by=BY)
    with pytest.raises(RegisterError, match="damaged"):
        ours(register)


@pytest.fixture
def before(register_url) -> str:
    """Where a register of schema 6 is: a real one."""
    url = make_url(register_url)
    script = (DATA / f"register_schema_6.{url.get_backend_name()}.sql").read_text()
    if url.get_backend_name() == "sqlite":
        with closing(sqlite3.connect(str(url.database))) as raw:
            raw.executescript(script)
    else:
        engine = create_engine(url)
        with engine.begin() as connection:
            connection.exec_driver_sql(script.replace("%", "%%"))
        engine.dispose()
    return register_url


def test_a_register_of_before_is_rolled_up_when_it_is_opened(before, tmp_path):
    register = open_register(before)
    assert register
    with register.connect() as connection:
        assert connection.execute(text("SELECT sum(treatments) FROM rollup_parts")).scalar() == 3
    holds(register)
    add_treatment(register, treatment(case="H-9", outcomes={"bruising": 1}), now=NOW, by=BY)
    holds(register)
    new = open_register(str(tmp_path / "new.sqlite"), create=True)
    assert new
    for name in rollup_tables.DERIVED:
        there, made = (inspect(each.engine) for each in (register, new))
        assert [c["name"] for c in there.get_columns(name)] == [c["name"] for c in made.get_columns(name)]
        assert (
            there.get_pk_constraint(name)["constrained_columns"]
            == (made.get_pk_constraint(name)["constrained_columns"])
        )
    new.engine.dispose()
    register.engine.dispose()


def test_groups_of_the_rollup_add_up_to_the_whole(register):
    """Every group of a part of the register is counted apart; together they are what one count says."""
    some(register, 25)
    with register.connect() as connection:
        whole = tally(connection, COMPARISONS[0], WINDOWS[0], DAYS)
        each = tally_all(connection, WINDOWS[0], DAYS).each
        parts = list(tally_parted(connection, WINDOWS[0], DAYS, strata=("skin_type",), operators=True))
    for outcome in OUTCOMES:
        counts = [found[outcome] for found in each.values()]
        assert sum(c.events for c in counts) == whole.counts[outcome].events
        assert sum(c.days_watched for c in counts) == whole.counts[outcome].days_watched
        assert sum(part.counts[outcome][1] for part in parts) == whole.counts[outcome].watched
    assert len({(p.techniques, p.operator, p.site, p.strata) for p in parts}) == len(parts) > len(each)


def test_a_register_as_it_stood_is_counted_from_a_rollup_of_its_own(register, tmp_path):
    """Three registers, each counted: about a second of processor."""
    some(register)
    then = ours(register)
    with register.connect() as connection:
        moment = moment_of(connection)
    looked(register, Random(2), 0)
    load(register, sheet(Random(9), with_days=False), now=datetime(2026, 11, 26))
    earlier = as_it_stood(register, moment, tmp_path)
    assert ours(earlier) == then != ours(register)
    holds(earlier)
    take_back(register)
    holds(register)
