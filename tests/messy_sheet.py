"""A clinic's audit as it lies on a shared drive: nothing was tidied for a program. All rows are invented.

A title, an empty first column, headers in two lines of which the upper one is merged, days in many forms,
numbers as text, ticks and question marks, technique words in free text, an empty row, totals and notes.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from openpyxl import Workbook

ROWS = 300
FIRST_ROW = 6
"""Of the treatments: above are a title, a line below it, an empty row, and two lines of headers."""
GROUPS = ["", "Treatment", "", "", "", "", "", "", "Follow-up", "After two weeks", "", "", "Remarks"]
HEADERS = ["", "Ref", "Visit", "Date", "What we did", "Area", "Skin type", "Filler (ml)",
           "Date", "Bruise", "Swelling", "Infected?", ""]  # fmt: skip
WORDS = {
    "cannula": "blunt-cannula",
    "block": "nerve-block-face",
    "LA": "local-infiltration",
    "usual": "blunt-cannula; local-infiltration",
}
"""What somebody of the clinic says that its words mean."""
DONE = {
    "cannula + block": ("blunt-cannula", "nerve-block-face"),
    "Cannula, LA": ("blunt-cannula", "local-infiltration"),
    "CANNULA and block": ("blunt-cannula", "nerve-block-face"),
    "la then cannula": ("blunt-cannula", "local-infiltration"),
    "Usual": ("blunt-cannula", "local-infiltration"),
    "cannula (block)": ("blunt-cannula", "nerve-block-face"),
    "blunt cannula with LA": ("blunt-cannula", "local-infiltration"),
}
ANSWERS = {"Y": 1, "y": 1, "Yes": 1, "✓": 1, "x": 1, "N": 0, "no": 0, "n": 0, "None": 0,
           "?": None, "n/k": None, "not known": None, "": None, "mild": 1}  # fmt: skip
SKINS = {
    "2": "II",
    "ii": "II",
    "type 3": "III",
    "IV": "IV",
    "5": "V",
    "Skin type 1": "I",
    "?": None,
    "": None,
}
AMOUNTS = {"0.01": 0.01, ".01": 0.01, "0,02": 0.02, "0.015 ml": 0.015, "": None, "-": None}
SESSIONS = {"1": 1, "2": 2, "1.0": 1, "2nd": 2, "visit 1": 1}
MONTHS = ["Jan", "Feb", "March", "avril", "May", "junio", "July", "Aug", "września",
          "Oct", "novembre", "Dec"]  # fmt: skip


def _serial(day: date) -> str:
    return str((day - date(1899, 12, 30)).days)


FORMS: list[Callable[[date], Any]] = [
    lambda d: f"{d.day}.{d.month}.{d:%y}",
    lambda d: f"{d:%d/%m/%Y}",
    lambda d: d.isoformat(),
    lambda d: f"{d:%d} {MONTHS[d.month - 1]} {d.year}",
    lambda d: f"{d.day}/{d.month}/{d:%y}",
    _serial,
    lambda d: f"{d.day}-{d:%b}-{d:%y}",
    lambda d: f"{d:%d/%m/%Y} 14:30",
]
UNREADABLE = {
    17: (3, "sometime in May"), 58: (3, "31/02/2025"), 120: (4, "tbc"), 181: (9, "perhaps"),
    222: (2, ""), 271: (4, "cannula or blade"),
}  # fmt: skip
"""Number of a treatment -> the position of a cell that nobody could read, and what stands there."""
Expected = dict[str, tuple[Any, ...]]


def rows(seed: int = 17) -> tuple[list[list[str]], Expected]:
    """All rows of the sheet, and what each treatment that can be read is: session, day, techniques, skin,
    amount, days watched, and three outcomes."""
    rng = random.Random(seed)
    made: list[list[str]] = [
        ["", "Scar clinic audit (invented), all treatments"],
        ["", "kept by the front desk"],
        [],
    ]
    made += [GROUPS, HEADERS]
    expected: Expected = {}
    for number in range(ROWS):
        row, value = _treatment(rng, number)
        if number in UNREADABLE:
            at, cell = UNREADABLE[number]
            row[at] = cell
        else:
            expected[row[1]] = value
        made.append(row)
        if number == 149:
            made.append([])
    made.append(["", "Total", str(ROWS), "", "", "", "", "2.4", "", "41", "37", "6", ""])
    made.append([])
    made.append(["", "Please tell the front desk when a row is missing"])
    return made, expected


def _treatment(rng: random.Random, number: int) -> tuple[list[str], tuple[Any, ...]]:
    day = date(2024, 1, 1) + timedelta(days=2 * number)
    seen = day + timedelta(days=rng.randrange(14, 60))
    pick = {name: rng.choice(list(of)) for name, of in _CHOICES.items()}
    bruise, swelling, infected = (rng.choice(list(ANSWERS)) for _ in range(3))
    row = [
        "", f"AB-{number:03}", pick["session"], FORMS[number % len(FORMS)](day), pick["done"],
        rng.choice(["Left cheek", "chin", " forehead "]), pick["skin"], pick["amount"],
        FORMS[rng.randrange(len(FORMS))](seen), bruise, swelling, infected, rng.choice(["", "rang on day 3"]),
    ]  # fmt: skip
    value = (
        SESSIONS[pick["session"]], day, DONE[pick["done"]], SKINS[pick["skin"]], AMOUNTS[pick["amount"]],
        (seen - day).days, ANSWERS[bruise], ANSWERS[swelling], ANSWERS[infected],
    )  # fmt: skip
    return row, value


_CHOICES = {"session": SESSIONS, "done": DONE, "skin": SKINS, "amount": AMOUNTS}


def as_csv(path: Path, made: list[list[str]], delimiter: str = ",") -> Path:
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=delimiter).writerows(made)
    path.write_bytes(stream.getvalue().encode())
    return path


def as_workbook(path: Path, made: list[list[str]]) -> Path:
    """The same as a spreadsheet program keeps it: some days and numbers as such, merged cells merged, the
    totals as formulas whose values nobody kept, and another sheet before it."""
    book = Workbook()
    book.active.title = "Read me"
    book.active.append(["What this file is", "An audit. Nothing in it is real."])
    sheet = book.create_sheet("All treatments")
    for number, row in enumerate(made, 1):
        for column, text in enumerate(row, 1):
            if text:
                sheet.cell(number, column).value = _kept(text, column, number)
    for merged in ("B1:M1", "B4:H4", "J4:L4", "M4:M5"):
        sheet.merge_cells(merged)
    total = next(number for number, row in enumerate(made, 1) if row[1:2] == ["Total"])
    for column in "CHJKL":
        sheet[f"{column}{total}"] = f"=COUNTA({column}{FIRST_ROW}:{column}{total - 1})"
    book.save(path)
    return path


def _kept(text: str, column: int, number: int) -> Any:
    if text.isdecimal() and number % 3:  # some numbers, and numbers of days, are numbers and some are text
        return int(text)
    if column == 4 and len(text) == 10 and text[4] == "-" and number % 2:
        return date.fromisoformat(text)
    return text
