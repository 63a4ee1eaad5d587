"""The worksheets of an .xlsx file, with the values its formulas had when it was saved.

The package is read here and not by the library that knows its formats: that one holds the whole list
of texts and, where `<dimension>` is wrong, drops rows without a word.
"""

from __future__ import annotations

import lzma
import posixpath
import re
import struct
import weakref
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers.expat import ExpatError

from consentpack.errors import Problem, RegisterError
from consentpack.register import limits
from consentpack.register.cells import Marked
from consentpack.register.number_formats import Formats, codes_of
from consentpack.register.sheet_xml import Cells, sheet_rows
from consentpack.register.xml_parts import Named, Parser, elements

_OLE = bytes.fromhex("D0CF11E0A1B11AE1")
"""How a file with a password begins, and an .xls of old ([MS-CFB], 2.2)."""
_BROKEN = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, ExpatError,
    EOFError, OSError, ValueError, LookupError, RuntimeError, OverflowError,
)  # fmt: skip
"""All that unpacking and parsing damaged bytes has been seen to raise."""
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_RESAVE = "Open it in a spreadsheet and save it again as .xlsx, or as CSV UTF-8."
Relations = dict[str, tuple[str, str]]
"""Id -> kind, and the part it leads to."""


@dataclass(frozen=True)
class Worksheet:
    """A worksheet: its name as its tab shows it, and where it is in the package."""

    name: str
    part: str
    hidden: bool


class Book:
    """An open workbook. Its sheets are read as they come, each as often as it is asked for."""

    def __init__(self, path: Path) -> None:
        """Raises RegisterError for a file that is no workbook."""
        self._file = path.name
        with _told(self._file):
            if _begins(path, _OLE):
                what = "the file is locked with a password, or is an .xls of old."
                fix = "Open it in a spreadsheet and save it as .xlsx without a password."
                raise RegisterError(Problem(path.name, what, fix))
            self._package = zipfile.ZipFile(path)
            weakref.finalize(self, self._package.close)  # a program that goes on running has it open else
            try:
                self._open()
            except BaseException:
                self._package.close()
                raise

    def _open(self) -> None:
        package = self._package
        book = _target(_relations(package, ""), "officeDocument") or "xl/workbook.xml"
        relations = _relations(package, book)
        with package.open(book) as stream:
            found = elements(stream, ("sheets/sheet", "workbook/workbookPr"), root="workbook")
        self.sheets = tuple(_worksheets(found, relations))
        if not self.sheets:
            what = "there is no sheet with cells in the workbook, only charts or nothing at all."
            fix = "Save the sheet that holds the audit as a file of its own."
            raise RegisterError(Problem(self._file, what, fix))
        self.from_1904 = any(a.get("date1904") in ("1", "true", "on") for _, a in found)
        formats = _formats(package, _target(relations, "styles"), from_1904=self.from_1904)
        self._values = _Values(formats, _shared(package, _target(relations, "sharedStrings")))

    def rows(self, sheet: Worksheet) -> Iterator[tuple[int, Cells]]:
        """Number and cells of every row of a worksheet. Raises RegisterError."""
        with _told(self._file), self._package.open(sheet.part) as stream:
            yield from sheet_rows(stream, self._values.text)


@contextmanager
def _told(file: str) -> Iterator[None]:
    """Whatever damaged bytes make the readers raise, as a sentence for the clinic."""
    try:
        yield
    except limits.TooMuch as error:
        raise limits.refusal(file, str(error)) from None
    except _BROKEN:  # the error's own words may hold a cell
        what = "the file cannot be read as a workbook."
        raise RegisterError(Problem(file, what, _RESAVE)) from None


def _worksheets(found: list[Named], relations: Relations) -> Iterator[Worksheet]:
    for name, attributes in found:
        kind, part = relations.get(attributes.get("id", ""), ("", ""))
        if name == "sheets/sheet" and kind == "worksheet":
            yield Worksheet(attributes.get("name", ""), part, attributes.get("state", "visible") != "visible")


def _relations(package: zipfile.ZipFile, part: str) -> Relations:
    """What a part leads to. The package itself is the part ''."""
    folder, name = posixpath.split(part)
    try:
        stream = package.open(posixpath.join(folder, "_rels", f"{name}.rels"))
    except KeyError:
        return {}
    with stream:
        found = elements(stream, ["Relationships/Relationship"], root="Relationships")
    return {a.get("Id", ""): (posixpath.basename(a.get("Type", "")), _part_of(folder, a)) for _, a in found}


def _part_of(folder: str, attributes: Mapping[str, str]) -> str:
    return posixpath.normpath(posixpath.join("/", folder, attributes.get("Target", ""))).lstrip("/")


def _target(relations: Relations, kind: str) -> str | None:
    return next((part for found, part in relations.values() if found == kind), None)


def _formats(package: zipfile.ZipFile, part: str | None, *, from_1904: bool) -> Formats:
    if part is None:
        return Formats(from_1904=from_1904)
    with package.open(part) as stream:
        found = elements(stream, ("numFmts/numFmt", "cellXfs/xf"), root="styleSheet")
    own = {int(a["numFmtId"]): a.get("formatCode", "") for name, a in found if name == "numFmts/numFmt"}
    used = [int(a.get("numFmtId", 0)) for name, a in found if name == "cellXfs/xf"]
    return Formats(codes_of(own, used), from_1904)


def _shared(package: zipfile.ZipFile, part: str | None) -> list[str]:
    """The list of texts that cells point to."""
    if part is None:
        return []
    texts = _Texts()
    with package.open(part) as stream:
        for _ in Parser(start=texts.start, end=texts.end, text=texts.text).feed(stream):
            pass
    return texts.done


@dataclass
class _Texts:
    done: list[str] = field(default_factory=list)
    _pieces: list[str] = field(default_factory=list)
    _letters: int = 0
    _taking: bool = False

    def start(self, path: list[str], attributes: Mapping[str, str]) -> None:
        if len(path) == 1 and path[0] != "sst":
            raise ValueError("no sst")
        self._taking = path[-1] == "t" and "rPh" not in path

    def end(self, path: list[str]) -> None:
        self._taking = False
        if len(path) == 2 and path[1] == "si":
            self.done.append("".join(self._pieces))
            self._pieces = []
            if len(self.done) > limits.SHARED_TEXTS:
                raise limits.TooMuch(f"has more than {limits.SHARED_TEXTS} texts")

    def text(self, text: str) -> None:
        if self._taking:
            self._letters += len(text)
            if self._letters > limits.SHARED_LETTERS:
                raise limits.TooMuch("has more text than any audit")
            self._pieces.append(text)


@dataclass(frozen=True)
class _Values:
    """What stands in a cell, as somebody would have typed it."""

    formats: Formats
    shared: list[str]

    def text(self, kind: str, style: int, text: str) -> str:
        if kind == "s":
            return self._shared(text)
        if kind in ("str", "inlineStr"):
            return _unescaped(text)
        if not text:
            return ""
        if kind == "b":
            return {"1": "yes", "true": "yes", "0": "no", "false": "no"}[text.strip()]
        if kind == "e":
            return Marked.of("", fault=f"holds an error of the spreadsheet ({text[:10]})")
        if kind == "d":
            return text.strip()[:10]
        if kind != "n":
            raise ValueError("the kind of a cell")
        return self.formats.text(text.strip(), style)

    def _shared(self, text: str) -> str:
        if not text.strip():
            return ""
        number = int(text)
        if not 0 <= number < len(self.shared):
            return Marked.of("", fault="points to a text that the file does not hold; type it again")
        found = self.shared[number]
        if len(found) > limits.CELL_LETTERS:
            return Marked.of("", fault=f"is longer than {limits.CELL_LETTERS} characters")
        return _unescaped(found)


def _unescaped(text: str) -> str:
    """A text with the signs that XML cannot hold: _x000D_ is a line's end (ECMA-376-1, 22.9.2.19)."""
    return _ESCAPE.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


def _begins(path: Path, mark: bytes) -> bool:
    with path.open("rb") as stream:
        return stream.read(len(mark)) == mark
