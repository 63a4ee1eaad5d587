"""Another source of treatments is one more reader: one is added here, and taken out again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from support import HEAD, cases, line, load, numbers

from consentpack.errors import RegisterError
from consentpack.register import SetAside, Treatment
from consentpack.register.intake import SOURCES, Asked, Intake, Taken
from consentpack.register.rows import Aside


def from_json_lines(path: Path, asked: Asked) -> Intake:
    """A toy: one JSON object for each treatment."""
    return Intake(path.name, "d" * 64, _taken(path, asked.today), called={"session": "visit"})


def _taken(path: Path, today: date) -> Iterator[Taken]:
    for number, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        row = json.loads(text)
        day = date.fromisoformat(row["day"])
        if day > today:
            key = (row["case"], row["visit"])
            yield number, Aside((SetAside(number, "day", row["day"], "is in the future."),), key)
        else:
            yield (
                number,
                Treatment(row["case"], row["visit"], day, ("blunt-cannula",), "chin", None, {}),
            )


def sheet(path: Path, *rows: tuple[str, int, str]) -> Path:
    lines = (json.dumps({"case": case, "visit": visit, "day": day}) for case, visit, day in rows)
    path.write_text("\n".join(lines))
    return path


@pytest.fixture
def toy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(SOURCES, ".jsonl", from_json_lines)


@pytest.mark.usefixtures("toy")
def test_another_source_is_counted_and_set_aside_like_a_spreadsheet(register, tmp_path):
    load(register, HEAD + line("A", date="2026-03-02", bruising="") + line("Z"))
    rows = [("A", 1, "2026-03-02"), ("B", 1, "2026-03-03"), ("B", 1, "2026-03-04"), ("Z", 1, "2031-01-01")]
    result = load(register, sheet(tmp_path / "t.jsonl", *rows))
    assert numbers(result) == (4, 1, 0, 1, 2)
    assert (result.kept_older, result.not_in_file) == (1, 0)
    assert [(item.row, item.column) for item in result.set_aside] == [(3, "visit"), (4, "day")]
    assert cases(register) == ["A", "B", "Z"]


def test_without_its_line_in_the_table_the_file_is_no_source(register, tmp_path):
    assert set(SOURCES) == {".csv", ".xlsx"}
    with pytest.raises(RegisterError):
        load(register, sheet(tmp_path / "t.jsonl", ("A", 1, "2026-03-02")))
