"""The register as it stood at any earlier moment, in both databases. All rows are invented."""

from __future__ import annotations

import signal
import sqlite3
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sqlalchemy import create_engine, inspect, select, text
from sqlalchemy.engine import make_url
from support import (
    BY,
    HEAD,
    NOW,
    cases,
    contents,
    empty,
    finish,
    line,
    load,
    seen,
    start,
    take_back,
    treatment,
)

from consentpack.errors import RegisterError
from consentpack.register import (
    Batch,
    Comparison,
    Moment,
    Order,
    Register,
    Window,
    add_treatment,
    as_it_stood,
    check_register,
    course,
    entries,
    history,
    moment_of,
    open_register,
    order_of,
    record_outcomes,
    state_of,
    tally,
    tally_all,
    told_to,
    undo,
    values_of,
)
from consentpack.register.provenance import read_held
from consentpack.register.schema import (
    CHANGES,
    FIELD_COLUMNS,
    OUTCOME_COLUMNS,
    SCHEMA,
    TAKEN_BACK,
    treatments,
)

DATA = Path(__file__).parents[1] / "data"
WATCH = {"bruising": 14, "infection": 30}
ALL = Comparison(frozenset({"blunt-cannula"}), frozenset({"blunt-cannula", "filler-after-release"}))
WINDOW = Window(date(2025, 1, 1), NOW.date())


def moment(register: Register) -> Moment:
    with register.connect() as connection:
        return moment_of(connection)


def digest(register: Register) -> str:
    with register.connect() as connection:
        return state_of(connection).digest


def picture(register: Register) -> dict[str, Any]:
    """All that a register holds and tells, but for the techniques that nobody used."""
    with register.connect() as connection:
        table = treatments({})
        stored = connection.execute(select(table.c.id, table.c.row_digest))
        digests = {row.id: row.row_digest for row in stored}
        kept = (CHANGES, TAKEN_BACK, OUTCOME_COLUMNS, FIELD_COLUMNS)
        order = order_of(connection, WATCH)
        return {
            "moment": moment_of(connection),
            "state": state_of(connection),
            "history": entries(connection),
            "digests": digests,
            "held": read_held(connection, list(digests)),
            "tables": [connection.execute(select(t).order_by(*t.primary_key)).all() for t in kept],
            "tally": tally(connection, ALL, WINDOW, WATCH),
            "whole": tally_all(connection, WINDOW, WATCH),
            "course": [told(order, batch) for batch in course(connection, order, WATCH, NOW.date())],
        }  # fmt: skip


def told(order: Order, batch: Batch) -> Any:
    """The days of treatments in their order, and what is known of each outcome."""
    places = order.outcomes.items()
    return batch.days, {id: [value >> at & 3 for value in batch.known[n]] for id, (n, at) in places}


@pytest.fixture
def folder(tmp_path) -> Path:
    made = tmp_path / "as it stood"
    made.mkdir()
    return made


def assert_as_then(register: Register, then: Mapping[str, Any], folder: Path) -> None:
    found = as_it_stood(register, then["moment"], folder)
    now = picture(found)
    for name in then:
        assert now[name] == then[name], name
    checked = check_register(found)
    assert (checked.damage, len(checked.edited)) == ((), then["state"].edited)


# --- any series of imports, entries and takings back ----------------------------------------------

HEADS = {
    "plain": "bruising",
    "more": "bruising,infection,last_seen,skin_type,gauge",
    "days": "bruising,last_seen,noticed:bruising,retreated,volume_ml,operator",
    "other": "infection,skin_type",
}
"""What the columns of a sheet are beside case, session, date, techniques and site."""
CELLS = {
    "bruising": ("", "no", "yes", "severe"),
    "infection": ("", "no", "yes"),
    "last_seen": ("", "2026-02-20", "2026-05-01"),
    "skin_type": ("", "II", "V"),
    "gauge": ("", "22", "25"),
    "volume_ml": ("", "0.01"),
    "noticed:bruising": ("", "2026-02-02"),
    "retreated": ("", "2026-02-11"),
    "operator": ("", "AQ"),
}
CASES = st.sampled_from(("A", "B", "C", "\u00c9-1", "E\u0301-1 "))
SESSIONS = st.sampled_from((1, 1, 2))
TECHNIQUES = st.sampled_from(("blunt-cannula", "blunt-cannula;local-infiltration", "filler-after-release"))


@st.composite
def sheets(draw: st.DrawFn) -> tuple[str, bool]:
    """A file, and whether it goes before what was entered by hand."""
    head = draw(st.sampled_from(sorted(HEADS)))
    names = HEADS[head].split(",")
    sites = st.sampled_from(("chin", "lip"))
    rows = [
        [draw(CASES), str(draw(SESSIONS)), "2026-02-01", draw(TECHNIQUES), draw(sites)]
        + [draw(st.sampled_from(CELLS[name])) for name in names]
        for _ in range(draw(st.integers(1, 4)))
    ]  # fmt: skip
    text = "\n".join(",".join(row) for row in [["case,session,date,techniques,site", *names], *rows])
    return text + "\n", draw(st.booleans())


@dataclass(frozen=True)
class Step:
    """One thing that is done to a register."""

    what: str
    with_: tuple[Any, ...] = field(default=())

    def do(self, register: Register) -> None:
        getattr(self, f"_{self.what}")(register, *self.with_)

    def _sheet(self, register: Register, text: str, overwrite: bool) -> None:
        load(register, text, overwrite_by_hand=overwrite)

    def _add(self, register: Register, case: str, session: int, grade: int) -> None:
        one = treatment(case, session, date(2026, 2, 1), outcomes={"bruising": grade}, watched_days=grade * 9)
        add_treatment(register, one, now=NOW, by="AQ")

    def _seen(
        self, register: Register, case: str, session: int, outcome: str, grade: int, days: int, kind: str
    ) -> None:
        on = date(2026, 2, 1) + timedelta(days)
        noticed = on if grade and days % 2 else None
        again = on if days == 21 else None
        record_outcomes(
            register, case, session, {outcome: grade}, seen_on=on, noticed_on=noticed, retreated_on=again,
            now=NOW, by="ML", kind=kind,
        )  # fmt: skip

    def _undo(self, register: Register, which: int) -> None:
        there = [entry.id for entry in history(register) if not entry.undone]
        undo(register, now=NOW, by="AQ", number=there[which % len(there)] if there else 1)

    def _dry(self, register: Register, text: str) -> None:
        load(register, text, dry_run=True)  # takes a number in PostgreSQL, and none in SQLite


STEPS = st.one_of(
    st.builds(lambda sheet: Step("sheet", sheet), sheets()),
    st.builds(lambda sheet: Step("sheet", sheet), sheets()),
    st.builds(lambda *values: Step("add", values), CASES, SESSIONS, st.integers(0, 3)),
    st.builds(
        lambda *values: Step("seen", values), CASES, SESSIONS, st.sampled_from(sorted(WATCH)),
        st.integers(0, 2), st.sampled_from((3, 20, 21, 60)), st.sampled_from(("entry", "diary")),
    ),
    st.builds(lambda which: Step("undo", (which,)), st.integers(0, 5)),
    st.builds(lambda which: Step("undo", (which,)), st.integers(0, 5)),
    st.builds(lambda sheet: Step("dry", sheet[:1]), sheets()),
)  # fmt: skip


def untouched(register: Register) -> Any:
    """What must not be changed by looking back."""
    if register.engine.dialect.name == "sqlite":
        return Path(str(register.engine.url.database)).read_bytes()
    return picture(register)


def same(examples: int) -> settings:
    return settings(max_examples=examples, deadline=None, suppress_health_check=list(HealthCheck))


def assert_all_told_again(register_url: str, folder: Path, steps: Sequence[Step]) -> None:
    register = empty(register_url)
    kept = [picture(register)]
    for step in steps:
        try:
            step.do(register)
        except RegisterError:
            continue  # not there, there already, or built upon by a later one: nothing was done
        kept.append(picture(register))
    before = untouched(register)
    for then in kept:
        assert_as_then(register, then, folder)
        assert untouched(register) == before
    register.engine.dispose()


@same(8)
@given(steps=st.lists(STEPS, min_size=3, max_size=9))
@example(  # a case that is taken back and comes again, in another file and with other techniques
    steps=[
        Step("sheet", (HEAD + line("A") + line("B", bruising="yes"), False)),
        Step("seen", ("A", 1, "bruising", 2, 3, "diary")),
        Step("undo", (1,)),
        Step("undo", (0,)),
        Step("sheet", (HEAD + line("B") + line("A", site="lip", bruising="severe"), False)),
        Step("sheet", (HEAD + line("A", techniques="filler-after-release"), False)),
        Step("undo", (1,)),
    ]
)
def test_every_moment_of_any_series_can_be_told_again(register_url, folder, steps):
    """Some registers are made, changed and told again at every moment, in each database."""
    assert_all_told_again(register_url, folder, steps)


@pytest.mark.slow("sixty registers in each database, at every moment of each")
@same(60)
@given(steps=st.lists(STEPS, min_size=3, max_size=12))
def test_every_moment_of_many_series_can_be_told_again(register_url, folder, steps):
    assert_all_told_again(register_url, folder, steps)


# --- one thing after the other --------------------------------------------------------------------


def test_a_register_begins_at_nothing_and_both_numbers_grow(register):
    found = [moment(register)]
    load(register, HEAD + line("A"))
    add_treatment(register, treatment("H"), now=NOW, by="AQ")
    found.append(moment(register))
    take_back(register)
    found.append(moment(register))
    assert found == [Moment(0, 0), Moment(2, 0), Moment(2, 1)]


def test_the_history_of_then_is_told(register, folder):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("A", bruising="yes"))
    then, told = moment(register), history(register)
    take_back(register)
    load(register, HEAD + line("A", bruising="severe"))
    found = as_it_stood(register, then, folder)
    assert history(found) == told
    assert [(v.grade, v.replaced) for v in values_of(found, "A", 1)] == [(0, True), (1, False)]
    assert seen(register) == [3]


def test_before_anything_came_there_is_nothing(register, folder):
    load(register, HEAD + line("A"))
    found = as_it_stood(register, Moment(0, 0), folder)
    assert (contents(found), history(found)) == ({}, [])


def test_an_outcome_that_nobody_had_heard_of_then_is_unknown_again(register, folder):
    load(register, HEAD + line("A"))
    then = picture(register)
    head = HEAD.strip() + ",infection,skin_type,gauge,last_seen,noticed:bruising\n"
    load(register, head + line("A", bruising="yes").strip() + ",yes,II,22,2026-02-20,2026-01-07\n")
    assert_as_then(register, then, folder)


def test_a_copy_can_be_read_by_nobody_else_and_is_in_the_folder(register, folder):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("B"))
    found = as_it_stood(register, Moment(1, 0), folder)
    (copy,) = folder.iterdir()
    assert (Path(str(found.engine.url.database)), copy.stat().st_mode & 0o777) == (copy, 0o600)


def test_where_nothing_has_happened_nothing_is_copied(register, folder):
    load(register, HEAD + line("A"))
    found = as_it_stood(register, moment(register), folder)
    assert (cases(found), list(folder.iterdir())) == (["A"], [])


def test_what_happens_while_it_is_looked_at_is_not_in_it(register, folder):
    load(register, HEAD + line("A"))
    found = as_it_stood(register, moment(register), folder)
    load(register, HEAD + line("A", bruising="yes") + line("B"))
    assert seen(found) == [0]
    take_back(register)
    assert (seen(found), len(list(folder.iterdir()))) == ([0], 1)


def test_nothing_is_written_into_a_register_that_is_looked_back_at(register, folder):
    load(register, HEAD + line("A"))
    found = as_it_stood(register, moment(register), folder)
    with pytest.raises(RegisterError, match="it can only be read"):
        load(found, HEAD + line("B"))
    assert cases(register) == ["A"]


# --- what cannot be told --------------------------------------------------------------------------


@pytest.mark.parametrize("ahead", [Moment(3, 0), Moment(2, 2), Moment(9, 9)])
def test_a_moment_that_has_not_come_is_told(register, folder, ahead):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("B"))
    take_back(register)
    said = (
        f"number {ahead.imports} with {ahead.undone} taken back, and has only come to number 2 with 1 taken"
    )
    with pytest.raises(RegisterError, match=said) as caught:
        as_it_stood(register, ahead, folder)
    assert "put back from an older copy" in str(caught.value)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("never", [Moment(1, 1), Moment(3, 0), Moment(-1, 0), Moment(1, -1)])
def test_a_moment_that_never_was_is_told(register, folder, never):
    for case in "AB":
        load(register, HEAD + line(case))
    take_back(register)
    load(register, HEAD + line("C"))
    with pytest.raises(RegisterError, match="it never stood at number"):
        as_it_stood(register, never, folder)


def test_a_folder_that_is_not_there_is_told(register, tmp_path):
    load(register, HEAD + line("A"))
    with pytest.raises(RegisterError, match="the register as it stood cannot be written there"):
        as_it_stood(register, Moment(0, 0), tmp_path / "nowhere")


_FULL = """
import resource
from consentpack.register import Moment, as_it_stood
url, folder, most = sys.argv[1:]
register = open_register(url)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(most), int(most)))
try:
    as_it_stood(register, Moment(0, 0), Path(folder))
except Exception as error:
    print(type(error).__name__, error)
"""


@pytest.mark.parametrize("most", [4_000, 60_000])
def test_without_room_for_the_copy_that_is_told_and_nothing_is_left(register, register_url, folder, most):
    """Another program is started for each."""
    load(register, HEAD + "".join(line(f"M-{number}") for number in range(3_000)))
    said = finish(start(_FULL, register_url, folder, most))
    assert said.startswith("RegisterError ")
    assert "M-" not in said
    assert list(folder.iterdir()) == []


# --- what another program has changed -------------------------------------------------------------


def edit(register: Register, statement: str) -> None:
    with register.engine.begin() as connection:
        connection.execute(text(statement))


def test_what_another_program_had_changed_by_then_is_told_of_then(register, folder):
    load(register, HEAD + line("A") + line("B", bruising="yes"))
    edit(register, "UPDATE treatments SET o1 = 2 WHERE case_ref = 'B'")
    then = picture(register)
    assert then["state"].edited == 1
    load(register, HEAD + line("A", bruising="yes") + line("B", bruising="yes"))
    put_right = picture(register)
    assert put_right["state"].edited == 0
    take_back(register)
    assert_as_then(register, then, folder)
    assert_as_then(register, put_right, folder)


def test_what_another_program_had_changed_and_what_is_taken_back_then_is_told_of_then(register, folder):
    load(register, HEAD + line("A") + line("B"))
    load(register, HEAD + line("B", bruising="yes"))
    edit(register, "UPDATE treatments SET o1 = 2")
    then = picture(register)
    assert then["state"].edited == 2
    take_back(register)
    take_back(register)
    assert contents(register) == {}
    assert_as_then(register, then, folder)


def test_what_another_program_has_changed_since_stays_and_is_told(register, folder):
    load(register, HEAD + line("A") + line("B") + line("C"))
    then = picture(register)
    edit(register, "UPDATE treatments SET o1 = 2 WHERE case_ref = 'B'")
    load(register, HEAD + line("A", bruising="yes"))
    found = as_it_stood(register, then["moment"], folder)
    assert (seen(found), digest(found) != then["state"].digest) == ([0, 2, 0], True)
    assert check_register(found).edited == (("B", 1),)


def test_a_treatment_that_another_program_took_out_is_there_again_where_it_was_kept(register, folder):
    load(register, HEAD + line("A") + line("B"))
    then = digest(register)
    load(register, HEAD + line("A", bruising="yes") + line("B"))
    edit(register, "DELETE FROM outcome_sources")
    edit(register, "DELETE FROM treatments WHERE case_ref = 'A'")
    assert digest(as_it_stood(register, Moment(1, 0), folder)) == then


def test_a_row_that_another_program_changed_does_not_pass_for_our_own_once_an_import_is_taken_back(register):
    load(register, HEAD + line("A"))
    edit(register, "UPDATE treatments SET o1 = 2")
    before = digest(register)
    load(register, HEAD + line("A", bruising="yes"))
    take_back(register)
    assert (check_register(register).edited, digest(register)) == ((("A", 1),), before)
    with register.connect() as connection:
        assert state_of(connection).edited == 1


# --- a register of the program before -------------------------------------------------------------


@pytest.fixture
def fourth(register_url) -> str:
    """Where a register of schema 4 is: a real one. Of its five entries the second was taken back."""
    url = make_url(register_url)
    script = (DATA / f"register_schema_4.{url.get_backend_name()}.sql").read_text()
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


def opened(url: str) -> tuple[Register, list[str]]:
    said: list[str] = []
    with told_to(said.append):
        register = open_register(url)
    assert register
    return register, said


def test_a_register_of_schema_4_is_brought_up_to_date_and_says_what_it_cannot_know(fourth, tmp_path):
    register, (said,) = opened(fourth)
    assert f"from schema 4 to {SCHEMA}" in said
    assert "It had taken back 1 of its imports and entries and kept nothing of what that took away" in said
    assert len(list(tmp_path.glob("register.sqlite.schema-4.*"))) == fourth.startswith("sqlite")
    held = {case: row["outcomes"] for (case, _), row in contents(register).items()}
    assert held == {"A": {"bruising": 1}, "B": {"bruising": 0, "infection": 1}, "H-1": {"bruising": 1}}
    assert check_register(register).edited == ()
    assert moment(register) == Moment(5, 1)
    register.engine.dispose()


def test_moments_after_an_older_taking_back_can_be_told_and_those_before_it_cannot(fourth, folder):
    register, _ = opened(fourth)
    kept = [picture(register)]
    take_back_number(register, 4 + 1)
    kept.append(picture(register))
    load(register, HEAD + line("A", bruising="no") + line("N"))
    kept.append(picture(register))
    take_back_number(register, 6)
    take_back_number(register, 1 + 2)
    for then in kept:
        assert_as_then(register, then, folder)
    # what came after it can be told too, although the older program kept no moments
    found = as_it_stood(register, Moment(4, 1), folder)
    assert contents(found)["H-1", 1]["outcomes"] == {}
    for before in (Moment(1, 0), Moment(2, 0), Moment(1, 1)):
        with pytest.raises(RegisterError, match="an older consentpack has taken back number 2 since then"):
            as_it_stood(register, before, folder)
    register.engine.dispose()


def take_back_number(register: Register, number: int) -> None:
    undo(register, now=NOW, by=BY, number=number)


def test_what_an_older_program_that_was_still_open_takes_back_is_noticed(register, folder):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("B"))
    then = moment(register)
    edit(register, "DELETE FROM treatments WHERE added_by = 2")
    edit(register, "UPDATE imports SET undone = true WHERE id = 2")
    with pytest.raises(RegisterError, match="an older consentpack has taken back number 2"):
        as_it_stood(register, then, folder)
    after = picture(register)
    load(register, HEAD + line("C"))
    take_back(register)
    assert_as_then(register, after, folder)


def test_a_register_that_was_brought_up_to_date_has_the_tables_of_a_new_one(fourth, tmp_path):
    register, _ = opened(fourth)
    new = open_register(str(tmp_path / "new.sqlite"), create=True)
    for name in inspect(new.engine).get_table_names():
        found = [{c["name"] for c in inspect(r.engine).get_columns(name)} for r in (register, new)]
        assert found[1] == {column for column in found[0] if not column[1:].isdigit()}, name
    for each in (register, new):
        (index,) = inspect(each.engine).get_indexes("imports")
        assert (index["name"], bool(index["unique"])) == ("undone_in_order", True)
    register.engine.dispose()


# --- killed, and many -----------------------------------------------------------------------------

_UNDO = """
import os, signal
from sqlalchemy import event
from consentpack.register import undo

url, moment = sys.argv[1:]
register = open_register(url)
statements = 0

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

def count(*_):
    global statements
    statements += 1
    if str(statements) == moment:
        die()

event.listen(register.engine, "after_cursor_execute", count)
if moment == "commit":
    event.listen(register.engine, "commit", die)
undo(register, now=NOW, by=BY)
print(statements)
"""


@pytest.mark.parametrize("when", ["third", "middle", "last", "commit"])
def test_taking_back_that_is_killed_leaves_nothing_half(register, register_url, folder, when):
    """Two other programs are started for each."""
    load(register, HEAD + "".join(line(f"K-{number}") for number in range(600)))
    load(register, HEAD + "".join(line(f"K-{number}", bruising="yes") for number in range(300, 900)))
    statements = int(finish(start(_UNDO, register_url, "never")))
    load(register, HEAD + "".join(line(f"K-{number}", bruising="yes") for number in range(300, 900)))
    before = picture(register)
    at = {"third": 3, "middle": statements // 2, "last": statements}.get(when, when)
    killed = start(_UNDO, register_url, at)
    said, _ = killed.communicate(timeout=60)
    assert (killed.returncode, said) == (-signal.SIGKILL, "")
    assert picture(register) == before
    take_back(register)
    assert_as_then(register, before, folder)


@pytest.mark.slow("100,000 rows, imported twice and taken back")
def test_a_hundred_thousand_rows_are_told_again_within_seconds(register, folder):
    """In processor time. The whole import is then put back row by row, and a single entry by itself."""
    rows = [line(f"M-{number:06}", date=f"2026-01-{number % 28 + 1:02}") for number in range(100_000)]
    load(register, HEAD + "".join(rows))
    first = digest(register)
    load(register, HEAD + "".join(row.replace(",no", ",yes") for row in rows))
    second = digest(register)
    take_back(register)
    last = moment(register)
    record_outcomes(register, "M-000001", 1, {"bruising": 2}, seen_on=NOW.date(), now=NOW, by=BY)
    for then, expected, most in ((last, first, 15), (Moment(2, 0), second, 40), (Moment(1, 0), first, 40)):
        began = time.process_time()
        found = as_it_stood(register, then, folder)
        took = time.process_time() - began
        assert digest(found) == expected
        assert took < most, f"{then}: {took:.1f} s"
