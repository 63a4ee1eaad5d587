"""What somebody does at the audit's pages, as a browser sends it: forms as they stand on the page."""

from __future__ import annotations

import io
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import messy_sheet
from lxml import html

from consentpack import pipeline

NAMES = ("Mrs Invented-Person", "Mr Nobody-Real")


def dropped(desk, name: str, data: bytes):
    """The answer to a file that was dropped."""
    return desk.post("/audit/drop", data={"sheet": (io.BytesIO(data), name)})


def form_of(page: str, at: int = 0, **filled: Any) -> list[tuple[str, str]]:
    """The fields of one form of a page as a browser sends them, some of them filled in otherwise."""
    form = html.fromstring(page).forms[at]
    fields = [(name, value) for name, value in form.form_values() if name not in filled]
    return fields + [(name, str(value)) for name, value in filled.items()]


def choose(fields: list[tuple[str, str]], header: str, meaning: str) -> list[tuple[str, str]]:
    """The fields with another choice for one column."""
    at = fields.index(("header", header))
    return [*fields[: at + 1], ("means", meaning), *fields[at + 2 :]]


def say(fields: list[tuple[str, str]], word: str, *meanings: str) -> list[tuple[str, str]]:
    """The fields with what a word is said to mean."""
    words = [value for name, value in fields if name == "word"]
    name = f"word{words.index(word)}"
    rest = [(key, value) for key, value in fields if key != name]
    return rest + [(name, meaning) for meaning in meanings]


def sent(fields: list[tuple[str, str]]) -> dict[str, list[str]]:
    data: dict[str, list[str]] = {}
    for name, value in fields:
        data.setdefault(name, []).append(value)
    return data


def new_clinic(folder: Path) -> Path:
    """The demo's folder as of a clinic that has imported nothing, and said nothing of its columns."""
    for name in ("register.sqlite", "audit.csv", "audit.set-aside.csv"):
        (folder / name).unlink(missing_ok=True)
    settings = folder / "clinic.toml"
    text = re.sub(r"\[audit\.columns\].*?\n\n", "", settings.read_text(encoding="utf-8"), flags=re.DOTALL)
    settings.write_text(text, encoding="utf-8")
    return folder


def audited(folder: Path) -> Path:
    """A clinic folder with its audit imported, as the demo has it."""
    place = pipeline.open_workplace(folder, whole=False)
    pipeline.import_audit(place, folder / "audit.csv", now=datetime(2026, 11, 20, 9), by="Sam Invented")
    return folder


def messy(path: Path, *, names: bool = True) -> tuple[Path, dict[str, tuple[Any, ...]]]:
    """A workbook as it lies on a shared drive, with names of patients in a column and in remarks; and what
    each treatment that can be read is."""
    made, expected = messy_sheet.rows()
    first = messy_sheet.FIRST_ROW - 1
    for number, row in enumerate(made):
        if names and len(row) > 12 and number >= first and row[1].startswith("AB-"):
            row[12] = f"{NAMES[number % 2]} rang"
            row.append(NAMES[number % 2])
    made[4] = [*made[4], "Patient name"] if names else made[4]
    return messy_sheet.as_workbook(path, made), expected
