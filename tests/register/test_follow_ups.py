"""Who is lost to follow-up or followed elsewhere: marked, taken back, checked, copied, and never counted."""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings
from sqlalchemy import create_engine, inspect, text
from sqlalchemy.engine import make_url
from support import HEAD, NOW, contents, line, load, treatment

from consentpack.errors import RegisterError
from consentpack.register import (
    AGAIN,
    ELSEWHERE,
    FOLLOWED_BY,
    LOST,
    Checked,
    Comparison,
    FollowUp,
    Moment,
    Window,
    add_follow_ups,
    add_treatment,
    as_it_stood,
    check_register,
    due,
    held,
    history,
    moment_of,
    open_register,
    record_outcomes,
    set_down,
    state_of,
    talks,
    tally,
    tally_all,
    told_to,
    undo,
    write_rows,
)
from consentpack.register.follow_up_table import FOLLOW_UPS
from consentpack.register.follow_ups import damaged_follow_ups
from consentpack.register.schema import SCHEMA

DATA = Path(__file__).parents[1] / "data"
DAY = date(2026, 11, 20)
ROWS = HEAD + line("A") + line("B") + line("B", 2)


def say(register, *keys, how=LOST, day=DAY, who="", by="ML") -> int:
    return add_follow_ups(register, keys or [("A", 1)], FollowUp(how, day, who), now=NOW, by=by)


def standing(register, on=None):
    with register.connect() as connection:
        found = set_down(connection, on=on)
    return {key: (each.told.how, each.told.followed_by, each.number) for key, each in found.items()}


def test_a_treatment_is_marked_with_the_day_and_by_whom(register):
    load(register, ROWS)
    assert say(register, ("A", 1), ("B", 2)) == 2
    assert say(register, ("B", 1), how=ELSEWHERE, who="family-doctor") == 3
    assert standing(register) == {
        ("A", 1): ("lost", "", 2),
        ("B", 2): ("lost", "", 2),
        ("B", 1): ("elsewhere", "family-doctor", 3),
    }
    entry = history(register)[-1]
    assert (entry.kind, entry.by, entry.read, entry.added, entry.updated) == ("follow-up", "ML", 1, 0, 0)


def test_it_holds_from_its_day_on(register):
    load(register, ROWS)
    say(register)
    assert standing(register, on=date(2026, 11, 19)) == {}
    assert standing(register, on=DAY) == standing(register) != {}


def test_what_is_said_last_holds_and_can_be_said_away_for_one_alone(register):
    load(register, ROWS)
    say(register, ("A", 1), ("B", 1))
    say(register, ("A", 1), how=ELSEWHERE, who="hospital")
    say(register, ("B", 1), how=AGAIN)
    assert standing(register) == {("A", 1): ("elsewhere", "hospital", 3)}
    say(register, ("B", 1))
    assert set(standing(register)) == {("A", 1), ("B", 1)}


def test_a_mark_is_taken_back_as_any_entry_is(register):
    load(register, ROWS)
    say(register)
    say(register, how=AGAIN)
    entry, gone, restored = undo(register, now=NOW, by="ML")
    assert (entry.kind, gone, restored) == ("follow-up", 0, 0)
    assert standing(register) == {("A", 1): ("lost", "", 2)}
    undo(register, now=NOW, by="ML")
    assert standing(register) == {}
    assert [each.undone for each in history(register)] == [False, True, True]


def test_it_ends_when_the_treatment_is_seen_after_all(register):
    load(register, ROWS)
    say(register, day=date(2026, 11, 1))
    record_outcomes(register, "A", 1, {"bruising": 0}, seen_on=date(2026, 10, 30), now=NOW, by="ML")
    assert set(standing(register)) == {("A", 1)}  # of a day before, written down later
    record_outcomes(register, "A", 1, {"bruising": 0}, seen_on=date(2026, 11, 2), now=NOW, by="ML")
    assert standing(register) == {}
    say(register)  # and can be lost again
    assert set(standing(register)) == {("A", 1)}


def test_an_import_taken_back_and_made_again_finds_its_marks(register):
    load(register, ROWS)
    say(register)
    undo(register, now=NOW, by="tests")
    assert standing(register) == {}
    load(register, ROWS)
    assert set(standing(register)) == {("A", 1)}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"day": date(2027, 1, 1)}, "in the future"),
        ({"day": date(2026, 1, 4)}, "seen on 2026-01-05, which is after 2026-01-04"),
        ({"how": "gone"}, "'gone' is not known"),
        ({"how": AGAIN}, "nothing to take back"),
        ({"how": ELSEWHERE}, "by whom?"),
        ({"how": ELSEWHERE, "who": "Mrs Invented"}, "'Mrs Invented' is nobody who may be named"),
        ({"who": "hospital"}, "said only of what is followed elsewhere"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_entered(register, more, said):
    load(register, ROWS)
    with pytest.raises(RegisterError, match=said):
        say(register, **more)
    assert len(history(register)) == 1 and standing(register) == {}


def test_all_that_is_wrong_is_said_at_once_and_nothing_is_entered(register):
    load(register, ROWS)
    say(register)
    with pytest.raises(RegisterError) as raised:
        say(register, ("A", 1), ("B", 1), ("b", 2), ("Z", 1), ("A", 0))
    said = " ".join(problem.what for problem in raised.value.problems)
    assert "said of it already, since 2026-11-20 (number 2)" in said
    assert "in the register as 'B'" in said and "no case Z, session 1" in said
    assert len(raised.value.problems) == 4 and set(standing(register)) == {("A", 1)}
    with pytest.raises(RegisterError, match="no treatment was named"):
        add_follow_ups(register, [], FollowUp(LOST, DAY), now=NOW, by="ML")


def test_who_follows_is_a_word_of_a_list_and_reads_as_one():
    assert all(word and word == word.lower() and " " not in word for word in FOLLOWED_BY)


def test_the_register_as_it_stood_has_the_marks_of_then(register, tmp_path):
    load(register, ROWS)
    number = say(register)
    with register.connect() as connection:
        then = moment_of(connection)
    undo(register, now=NOW, by="ML", number=number)
    say(register, ("B", 1))
    assert set(standing(as_it_stood(register, then, tmp_path))) == {("A", 1)}
    assert standing(as_it_stood(register, Moment(1, 0), tmp_path)) == {}
    assert set(standing(register)) == {("B", 1)}


def test_a_mark_that_something_else_has_changed_is_found(register):
    load(register, ROWS)
    say(register, ("A", 1), ("B", 1))
    assert check_register(register).damage == ()
    with register.writing() as connection:
        connection.execute(text("UPDATE follow_ups SET how = 'again' WHERE case_ref = 'B'"))
    assert check_register(register).damage == ("1 marks of follow-up are not as this program wrote them",)


def test_a_copy_of_the_register_has_the_marks(register, register_url, tmp_path):
    load(register, ROWS)
    say(register, how=ELSEWHERE, who="not-known")
    with held(register_url, tmp_path / "copy.sqlite") as finish:
        assert finish
        copied = finish()
    assert copied.rows["follow_ups"] == 1 and copied.state
    write_rows(tmp_path / "copy.sqlite", str(tmp_path / "again.sqlite"), digest=copied.state.digest)
    again = open_register(str(tmp_path / "again.sqlite"))
    assert again and standing(again) == standing(register) != {}
    assert check_register(again) == Checked(3, (), ())
    again.engine.dispose()


# --- no figure changes ----------------------------------------------------------------------------

WATCH = {"bruising": 14, "infection": 30}
WINDOW = Window(date(2020, 1, 1), date(2026, 12, 31))
ALL = Comparison(frozenset({"blunt-cannula"}), frozenset({"blunt-cannula"}))
KEYS = [("A", 1), ("B", 1), ("B", 2), ("H-1", 1)]
SAYINGS = st.tuples(
    st.lists(st.sampled_from(KEYS), min_size=1, max_size=4),
    st.sampled_from([(LOST, ""), (AGAIN, ""), *((ELSEWHERE, who) for who in FOLLOWED_BY)]),
    st.dates(date(2026, 1, 1), NOW.date()),
)


def counted(register):
    """Every figure that can be counted, all that is held, and who is due before anybody is left out."""
    with register.connect() as connection:
        return (
            state_of(connection),
            tally(connection, ALL, WINDOW, WATCH),
            tally_all(connection, WINDOW, WATCH),
            due(connection, WATCH, NOW.date(), lambda _: sorted(WATCH)),
            contents(register),
        )


@settings(max_examples=15, deadline=None)
@given(st.lists(SAYINGS, max_size=6))
def test_no_figure_changes_whatever_is_said_of_following_up(tmp_path_factory, sayings):
    """Over a second: a register is made for each series of marks, and all is counted after each."""
    where = tmp_path_factory.mktemp("r") / "r.sqlite"
    register = open_register(str(where), create=True)
    assert register
    try:
        load(register, ROWS)
        add_treatment(register, replace(treatment(), operator="ML"), now=NOW, by="ML")
        record_outcomes(register, "H-1", 1, {"bruising": 1}, seen_on=date(2026, 3, 20), now=NOW, by="ML")
        before = counted(register)
        for keys, (how, who), day in sayings:
            with suppress(RegisterError):  # refused as a whole
                say(register, *keys, how=how, who=who, day=day)
            assert counted(register) == before
        for entry in history(register)[3:]:
            undo(register, now=NOW, by="ML", number=entry.id)
        assert counted(register) == before and standing(register) == {}
    finally:
        register.engine.dispose()


# --- a register of the program before -------------------------------------------------------------


@pytest.fixture
def sixth(register_url) -> str:
    """Where a register of schema 6 is: a real one. Of its six entries the second and the last, a talk, were
    taken back."""
    url = make_url(register_url)
    script = (DATA / f"register_schema_6.{url.get_backend_name()}.sql").read_text()
    if url.get_backend_name() == "sqlite":
        raw = sqlite3.connect(str(url.database))
        raw.executescript(script)
        raw.close()
    else:
        engine = create_engine(url)
        with engine.begin() as connection:
            connection.exec_driver_sql(script.replace("%", "%%"))
        engine.dispose()
    return register_url


def test_a_register_of_schema_6_is_brought_up_to_date_and_takes_marks(sixth, tmp_path):
    said: list[str] = []
    with told_to(said.append):
        register = open_register(sixth)
    assert register and f"from schema 6 to {SCHEMA}" in said[0]
    assert len(list(tmp_path.glob("register.sqlite.schema-6.*"))) == sixth.startswith("sqlite")
    held = {case: row["outcomes"] for (case, _), row in contents(register).items()}
    assert held == {"A": {"bruising": 0}, "B": {"bruising": 0}, "H-1": {"bruising": 1}}
    with register.connect() as connection:
        assert [(told.question, told.mark) for told in talks(connection)] == [("harm", 2)]
    say(register, ("H-1", 1))
    assert standing(register) == {("H-1", 1): ("lost", "", 7)}
    # what was taken back before the step can still be told
    (tmp_path / "then").mkdir()
    then = as_it_stood(register, Moment(2, 0), tmp_path / "then")
    assert contents(then)["A", 1]["outcomes"] == {"bruising": 1} and standing(then) == {}
    assert check_register(register) == Checked(3, (), ())
    register.engine.dispose()


def test_a_register_that_has_no_marks_yet_is_no_damage(sixth):
    """A copy of an older register is checked before it is brought up to date."""
    engine = create_engine(sixth if "://" in sixth else f"sqlite:///{sixth}")
    with engine.connect() as connection:
        assert damaged_follow_ups(connection) == ""
    engine.dispose()


def test_the_step_makes_the_very_table_that_a_new_register_has(sixth, tmp_path):
    """Else a register that was brought up to date would be another one than a new one."""
    register = open_register(sixth)
    new = open_register(str(tmp_path / "new.sqlite"), create=True)
    assert register and new
    assert _table(register) == _table(new)
    register.engine.dispose()
    new.engine.dispose()


def _table(register):
    with register.connect() as connection:
        found, name = inspect(connection), FOLLOW_UPS.name
        return (
            [(each["name"], str(each["type"]), each["nullable"]) for each in found.get_columns(name)],
            [(each["name"], each["column_names"]) for each in found.get_indexes(name)],
            [(k["referred_table"], k["constrained_columns"]) for k in found.get_foreign_keys(name)],
            found.get_pk_constraint(name)["constrained_columns"],
        )
