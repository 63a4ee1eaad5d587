"""Tests with readers: what is printed for them, and what their marks say."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from consentpack.errors import OutputError, Problem, ReadError
from consentpack.export.docx import export_docx
from consentpack.files import write_file
from consentpack.pipeline.reading import ReadFile
from consentpack.reader_test import (
    Cloze,
    Counted,
    Difference,
    Sheet,
    cloze_of,
    count,
    difference,
    key_text,
    read_marks,
    workbook,
)

MARKS = "marks.xlsx"


def make_reader_test(
    texts: Iterable[ReadFile], folder: Path, *, day: date, every: int, gaps: int
) -> tuple[list[Path], list[Problem]]:
    """Write a sheet and a key for each text, and one spreadsheet for all marks; what had to be left out.

    Raises ReadError where no text can be tested, OutputError where marks that somebody filled in lie there.
    """
    made, left_out = _clozes(texts, every=every, gaps=gaps)
    marks = folder / MARKS
    if marks.exists():
        what = "there is such a file already; marks that somebody wrote would be lost."
        raise OutputError(Problem(str(marks), what, "Name another folder with --out."))
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for stem, cloze in zip(_stems(made), made, strict=True):
        written += _sheet_and_key(folder, stem, cloze, day)
    write_file(marks, workbook(made))
    return [*written, marks], left_out


def _clozes(texts: Iterable[ReadFile], *, every: int, gaps: int) -> tuple[list[Cloze], list[Problem]]:
    made: list[Cloze] = []
    left_out: list[Problem] = []
    for each in texts:
        try:
            made.append(cloze_of(each.document, name=each.name, every=every, most=gaps))
        except ReadError as error:  # slips are short, and must not keep the form from being tested
            left_out += error.problems
    if not made:
        raise ReadError(left_out)
    return made, left_out


def _stems(made: Sequence[Cloze]) -> list[str]:
    """A name for the files of each text; a number behind it where two are called alike."""
    stems: list[str] = []
    for cloze in made:
        stem = re.sub(r"[^\w.-]+", "-", Path(cloze.name).stem)
        same = sum(each == stem or each.startswith(f"{stem}-") for each in stems)
        stems.append(f"{stem}-{same + 1}" if stem in stems else stem)
    return stems


def _sheet_and_key(folder: Path, stem: str, cloze: Cloze, day: date) -> list[Path]:
    sheet, key = folder / f"{stem}-sheet.docx", folder / f"{stem}-key.txt"
    write_file(sheet, export_docx(cloze.sheet, day=day))
    write_file(key, f"{cloze.name}: the words of the gaps\n\n{key_text(cloze)}\n")
    return [sheet, key]


def count_reader_test(path: Path) -> tuple[list[Sheet], list[Counted], Difference | None]:
    """The tables of a spreadsheet, what each says, and the difference where there are two."""
    sheets = read_marks(path)
    counted = [found for sheet in sheets if (found := count(sheet))]
    two = difference(counted[0], counted[1]) if len(counted) == 2 else None
    return sheets, counted, two
