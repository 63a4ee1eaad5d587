"""A spreadsheet as rows of text, numbered as the spreadsheet numbers them: CSV and XLSX alike."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain
from pathlib import Path

from consentpack.errors import Problem, RegisterError
from consentpack.normal import folded, plain
from consentpack.register.cells import Marked, visible
from consentpack.register.headings import LOOK, Found, Headings, at_rows, find
from consentpack.register.rows import is_blank
from consentpack.register.text_file import DELIMITERS, csv_rows, usual_delimiter

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Sheet:
    """A spreadsheet that has been opened: its headers, and the rows below them as they are read."""

    file: str
    headers: tuple[str, ...]
    rows: Iterator[Row]
    digest: str
    header_rows: tuple[int, ...] = (1,)
    """Where the headers stand: two numbers where they have two lines."""
    name: str = ""
    """Of the sheet in its workbook."""
    others: tuple[str, ...] = ()
    """Other sheets of the workbook that look like an audit too."""
    from_1904: bool = False
    """Whether the workbook counts its days from 1904."""
    otherwise: tuple[str, ...] = ()
    """Where it is not as it was kept of an earlier file, in sentences."""

    @property
    def header_row(self) -> int:
        """The row above the first treatment."""
        return self.header_rows[-1]


@dataclass(frozen=True)
class Wanted:
    """Which sheet and rows somebody asks for; what is left open is found."""

    sheet: str = ""
    """Its name, or its number from 1."""
    header_rows: tuple[int, ...] = ()
    kept_sheet: str = ""
    """The sheet that was asked for of an earlier file. It is taken where there is one of that name, and what
    looks like an audit too is told all the same."""
    kept_rows: tuple[int, ...] = ()
    """The rows that were asked for then: taken where they name all that is needed."""

    @property
    def has_kept_sheet(self) -> bool:
        """Whether the sheet of an earlier file counts: nobody asks for another one."""
        return bool(self.kept_sheet) and not self.sheet


@dataclass
class _Candidate:
    """One way to read a file: a sheet of it, or a sign that may stand between its cells."""

    name: str
    open: Callable[[], Iterator[Row]]
    hidden: bool = False
    from_1904: bool = False
    head: Sequence[Row] = ()
    rest: Iterator[Row] = field(default_factory=lambda: iter(()))
    found: Found | None = None
    width: int = 0
    """Columns of its rows once its headers are known; 0 for as many as a row has."""

    def look(self, headings: Headings, wanted: Wanted) -> None:
        """Read its first rows. Raises RegisterError."""
        rows = self.open()
        self.head = _head(rows, max((*wanted.header_rows, *wanted.kept_rows), default=0))
        self.rest = rows
        at = wanted.header_rows
        if at:
            self.found = at_rows(self.head, at, headings)
        else:
            self.found = self._kept(headings, wanted) or find(self.head, headings)

    def _kept(self, headings: Headings, wanted: Wanted) -> Found | None:
        """The headers where those of an earlier file stood. A title more in this one moves them: then they
        are looked for as if nobody had said anything."""
        found = at_rows(self.head, wanted.kept_rows, headings) if wanted.kept_rows else None
        return found if found and headings.names_all(found.headers) else None

    def is_kept(self, wanted: Wanted) -> bool:
        """Whether it is the sheet that was asked for of an earlier file."""
        return wanted.has_kept_sheet and folded(self.name) == folded(wanted.kept_sheet)

    @property
    def rank(self) -> tuple[bool, bool, int]:
        """How much it looks like an audit."""
        if self.found is None:
            return (False, False, 0)
        return (self.found.whole, not self.hidden, self.found.score)


def open_sheet(path: Path, headings: Headings | None = None, wanted: Wanted | None = None) -> Sheet:
    """Open a spreadsheet, and find its headers: in the first row that is not blank when that says all that
    is needed, or else in the sheet and row that look most like it.

    Raises RegisterError when it cannot be read as a whole.
    """
    headings, wanted = headings or Headings(), wanted or Wanted()
    try:
        digest = _digest(path)
    except OSError as error:
        what = f"the file cannot be opened ({error.strerror})."
        raise RegisterError(Problem(str(path), what)) from None
    is_book = path.suffix.lower() == ".xlsx"
    candidates = _of_book(path, wanted) if is_book else _of_text(path, wanted)
    chosen = _chosen(candidates, headings, wanted)
    if chosen.found is None:
        raise _no_headers(path.name, candidates, wanted)
    others = _others(chosen, candidates) if is_book else ()
    otherwise = _otherwise(path.name, chosen, others, wanted)
    return replace(_sheet(path.name, chosen, digest, others), otherwise=otherwise)


def _otherwise(file: str, chosen: _Candidate, others: tuple[str, ...], wanted: Wanted) -> tuple[str, ...]:
    """What is not as clinic.toml says of an earlier file. Raises RegisterError where that leaves a choice."""
    said = []
    if wanted.has_kept_sheet and chosen.name and not chosen.is_kept(wanted):
        what = f"the sheet '{wanted.kept_sheet}' of clinic.toml is not in this file, or empty"
        if others:
            names = ", ".join(f"'{name}'" for name in (chosen.name, *others))
            fix = f'Say which: --sheet "{chosen.name}". It is then kept for the next file.'
            raise RegisterError(Problem(file, f"{what}, and several look like an audit: {names}.", fix))
        said.append(f"{what[:1].upper()}{what[1:]}. '{chosen.name}' was read.")
    rows = wanted.kept_rows
    if rows and not wanted.header_rows and chosen.found and chosen.found.rows != rows:
        at = " and ".join(map(str, rows))
        said.append(f"The headers are not in row {at}, where clinic.toml says that they are.")
    return tuple(said)


def _sheet(file: str, chosen: _Candidate, digest: str, others: tuple[str, ...]) -> Sheet:
    found = chosen.found
    assert found is not None
    for position, cell in enumerate(found.headers):
        if isinstance(cell, Marked) and cell.fault:
            what = f"the header in column {position + 1} {cell.fault}."
            raise RegisterError(Problem(f"{file}, row {found.rows[-1]}", what))
    headers = tuple(visible(plain(cell)) for cell in found.headers)
    head = chosen.head[found.below :]
    if chosen.name:  # a cell of a workbook under no header is never read
        chosen.width = width = max((at for at, header in enumerate(headers) if header), default=-1) + 1
        headers = headers[:width]
        head = [(number, (cells + [""] * width)[:width]) for number, cells in head]
    rows = chain(head, chosen.rest)
    return Sheet(file, headers, rows, digest, found.rows, chosen.name, others, chosen.from_1904)


def _head(rows: Iterator[Row], at_least: int) -> list[Row]:
    """The first rows: LOOK of them from the first that is filled, and all up to one that is asked for."""
    head: list[Row] = []
    left = LOOK
    for row in rows:
        head.append(row)
        left -= left < LOOK or not is_blank(row[1])
        if left <= 0 and row[0] >= at_least:
            break
    return head


def _chosen(candidates: Sequence[_Candidate], headings: Headings, wanted: Wanted) -> _Candidate:
    """The first way when it is whole, or else the one that names most; the others are looked at all the
    same, so that a second sheet of treatments is not passed over in silence."""
    first, *others = candidates
    first.look(headings, wanted)
    if first.name == "" and first.found and first.found.whole:
        return first
    for other in others:
        try:
            other.look(headings, wanted)
        except RegisterError:
            continue  # it is not this way that the file has to be read
    kept = [each for each in candidates if each.is_kept(wanted) and each.found]
    if kept:
        return kept[0]
    if first.found and first.found.whole:
        return first
    return max(candidates, key=lambda each: each.rank)


_AUDIT_WORDS = 3
"""Headers another sheet must have in common with an audit to be named."""


def _others(chosen: _Candidate, candidates: Sequence[_Candidate]) -> tuple[str, ...]:
    assert chosen.found is not None
    least = max(_AUDIT_WORDS, chosen.found.score / 2)
    return tuple(
        each.name
        for each in candidates
        if each is not chosen and each.found is not None and each.found.score >= least
    )


def _no_headers(file: str, candidates: Sequence[_Candidate], wanted: Wanted) -> RegisterError:
    if wanted.header_rows and any(each.head for each in candidates):
        rows = " and ".join(map(str, wanted.header_rows))
        return RegisterError(
            Problem(file, f"there are no headers in row {rows}.", "Look at its number again.")
        )
    return RegisterError(Problem(file, "the file is empty."))


def _of_text(path: Path, wanted: Wanted) -> list[_Candidate]:
    if wanted.sheet:
        what = f"there is no sheet '{wanted.sheet}': a file of text is one sheet."
        raise RegisterError(Problem(path.name, what, "Leave --sheet out."))
    usual = usual_delimiter(path)
    signs = (usual, *(sign for sign in DELIMITERS if sign != usual))
    return [_Candidate("", partial(csv_rows, path, sign)) for sign in signs]


def _of_book(path: Path, wanted: Wanted) -> list[_Candidate]:
    from consentpack.register.workbook import Book, Worksheet  # noqa: PLC0415 - XML, only when needed

    book = Book(path)

    def candidate(sheet: Worksheet, number: int) -> _Candidate:
        def rows() -> Iterator[Row]:
            for row, cells in book.rows(sheet):
                width = made.width or max(cells, default=-1) + 1
                yield row, [cells.get(at, "") for at in range(width)]

        made = _Candidate(sheet.name or str(number), rows, sheet.hidden, book.from_1904)
        return made

    found = [candidate(each, number) for number, each in enumerate(book.sheets, 1)]
    if not wanted.sheet:
        return found
    named = [each for each in found if folded(each.name) == folded(wanted.sheet)]
    if not named and wanted.sheet.isdecimal() and 1 <= int(wanted.sheet) <= len(found):
        named = [found[int(wanted.sheet) - 1]]
    if not named:
        what = f"there is no sheet '{wanted.sheet}'."
        raise RegisterError(Problem(path.name, what, f"There are: {', '.join(each.name for each in found)}."))
    return named[:1]


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
