"""Several people at once: other processes on the same register, in both databases. Rows are invented."""

from __future__ import annotations

import time
from datetime import date

from support import HEAD, contents, finish, line, load, numbers, seen, start, take_back

from consentpack.register import history, open_register

WRITERS = 4
ROWS = 300

_WAIT = """
import time
url, begin, *rest = sys.argv[1:]
time.sleep(max(0, float(begin) - time.time()))
register = open_register(url, create=True)
"""
_IMPORT = (
    _WAIT
    + """
result = load(register, Path(rest[0]))
print(*numbers(result))
"""
)
_ENTER = (
    _WAIT
    + """
from consentpack.register import add_treatment, record_outcomes
for number in range(int(rest[1])):
    add_treatment(register, treatment(f"{rest[0]}-{number}"), now=NOW, by=rest[0])
    record_outcomes(
        register, f"{rest[0]}-{number}", 1, {"bruising": number % 4}, seen_on=date(2026, 4, 1), now=NOW,
        by=rest[0],
    )
"""
)


def at_once(script: str, url: str, *arguments: tuple[object, ...]) -> list[str]:
    """One process for each of some arguments, all beginning at the same moment; what they said."""
    begin = time.time() + 0.7  # by then all have started Python and read the program
    processes = [start(script, url, begin, *each) for each in arguments]
    return [finish(process) for process in processes]


def test_several_who_open_a_register_for_the_first_time_all_get_the_same_one(register_url):
    script = _WAIT + "print(len(contents(register)))"
    assert at_once(script, register_url, *[()] * WRITERS) == ["0\n"] * WRITERS
    register = open_register(register_url)
    assert history(register) == []
    register.engine.dispose()


def test_different_files_imported_at_once_all_go_in(register_url, tmp_path):
    sheets = []
    for writer in range(WRITERS):
        sheets.append(tmp_path / f"sheet-{writer}.csv")
        outcome = ("bruising", "infection")[writer % 2]  # so that they also add columns at once
        rows = "".join(line(f"W{writer}-{n}", bruising=("yes", "no", "")[n % 3]) for n in range(ROWS))
        sheets[-1].write_text(HEAD.replace("bruising", outcome) + rows)
    said = at_once(_IMPORT, register_url, *[(sheet,) for sheet in sheets])
    assert said == [f"{ROWS} {ROWS} 0 0 0\n"] * WRITERS
    register = open_register(register_url)
    assert set(contents(register)) == {(f"W{w}-{n}", 1) for w in range(WRITERS) for n in range(ROWS)}
    for outcome in ("bruising", "infection"):
        grades = seen(register, outcome)
        assert [grades.count(grade) for grade in (1, 0)] == [WRITERS // 2 * ROWS // 3] * 2
    entries = history(register)
    assert sorted(entry.file_name for entry in entries) == [sheet.name for sheet in sheets]
    assert len({row["added_by"] for row in contents(register).values()}) == WRITERS
    register.engine.dispose()


def test_the_same_file_imported_at_once_is_there_once(register_url, tmp_path):
    sheet = tmp_path / "audit.csv"
    sheet.write_text(HEAD + "".join(line(f"S-{number}", bruising="yes") for number in range(ROWS)))
    said = at_once(_IMPORT, register_url, *[(sheet,)] * WRITERS)
    unchanged = [f"{ROWS} 0 0 {ROWS} 0\n"] * (WRITERS - 1)
    assert sorted(said) == sorted([f"{ROWS} {ROWS} 0 0 0\n", *unchanged])
    register = open_register(register_url)
    assert len(contents(register)) == ROWS
    assert len(history(register)) == WRITERS
    register.engine.dispose()


def test_corrections_of_the_same_rows_at_once_leave_one_of_them_whole(register_url, tmp_path):
    sheets = []
    for grade in ("mild", "moderate", "severe"):
        sheets.append(tmp_path / f"{grade}.csv")
        sheets[-1].write_text(HEAD + "".join(line(f"S-{n}", bruising=grade) for n in range(ROWS)))
    at_once(_IMPORT, register_url, *[(sheet,) for sheet in sheets])
    register = open_register(register_url)
    last = {"mild.csv": 1, "moderate.csv": 2, "severe.csv": 3}[history(register)[-1].file_name]
    assert seen(register) == [last] * ROWS
    take_back(register)
    before = {"mild.csv": 1, "moderate.csv": 2, "severe.csv": 3}[history(register)[-2].file_name]
    assert seen(register) == [before] * ROWS
    register.engine.dispose()


def test_entries_by_hand_at_once_lose_nothing(register_url):
    each = 6
    at_once(_ENTER, register_url, ("P", each), ("Q", each), ("R", each))
    register = open_register(register_url)
    assert {case for case, _ in contents(register)} == {f"{who}-{n}" for who in "PQR" for n in range(each)}
    assert sorted(seen(register)) == sorted([n % 4 for n in range(each)] * 3)
    assert len(history(register)) == 3 * 2 * each
    assert all(row["day"] == date(2026, 3, 2) for row in contents(register).values())
    register.engine.dispose()


def test_who_reads_during_an_import_sees_it_whole_or_not_at_all(register_url, tmp_path):
    register = open_register(register_url, create=True)
    load(register, HEAD + "".join(line(f"S-{number}", bruising="yes") for number in range(4_500)))
    sheet = tmp_path / "audit.csv"
    sheet.write_text(HEAD + "".join(line(f"S-{number}", bruising="no") for number in range(4_500)))
    writer = start(_IMPORT, register_url, 0, sheet)
    states = {frozenset(seen(register))}
    while writer.poll() is None:
        states.add(frozenset(seen(register)))
    assert finish(writer) == "4500 0 4500 0 0\n"
    states.add(frozenset(seen(register)))
    assert states == {frozenset({1}), frozenset({0})}
    assert numbers(load(register, sheet)) == (4_500, 0, 0, 4_500, 0)
    register.engine.dispose()
