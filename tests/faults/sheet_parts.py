"""Small invented spreadsheets, built by hand and not by a library, so that each byte can be wrong."""

from __future__ import annotations

import io
import random
import warnings
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from xml.sax.saxutils import escape

HEADERS = ("case", "session", "date", "techniques", "site", "bruising")
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE_REL = "http://schemas.openxmlformats.org/package/2006/relationships"
STRICT = {MAIN: "http://purl.oclc.org/ooxml/spreadsheetml/main",
          REL: "http://purl.oclc.org/ooxml/officeDocument/relationships"}  # fmt: skip
SHEET = "xl/worksheets/sheet1.xml"
GRADES = {"yes": 1, "no": 0, "": None, "severe": 3}

Row = tuple[str, int, str, str, str, str]
Good = dict[str, tuple[str, int | None]]
"""Case -> day and grade that the register must hold."""


@dataclass(frozen=True)
class Damaged:
    """One file to be imported."""

    kind: str
    name: str
    data: bytes
    good: Good
    must_go_in: bool = False
    """Whether the file is right by its standard, so that refusing it loses good rows."""
    read: int | None = None
    """How many rows must be read when it goes in; None when that is not known."""


def rows_of(chance: random.Random, least: int = 3, most: int = 40) -> list[Row]:
    def one() -> Row:
        day = date(2020, 1, 1) + timedelta(chance.randrange(2000))
        case, bruising = f"{chance.getrandbits(48):012x}", chance.choice(list(GRADES))
        return (f"c-{case}", chance.randint(1, 3), day.isoformat(), "blunt-cannula", "chin", bruising)

    return [one() for _ in range(chance.randint(least, most))]


def good_of(rows: list[Row]) -> Good:
    return {row[0]: (row[2], GRADES[row[5]]) for row in rows}


# --- workbooks ------------------------------------------------------------------------------------


def _cell(column: int, number: int | str, value: object, shared: list[str]) -> str:
    at = f' r="{chr(65 + column)}{number}"' if number else ""
    if isinstance(value, int):
        return f"<c{at}><v>{value}</v></c>"
    if not value:
        return ""
    shared.append(str(value))
    return f'<c{at} t="s"><v>{len(shared) - 1}</v></c>'


def row_xml(number: int, row: tuple[object, ...], shared: list[str]) -> str:
    cells = "".join(_cell(at, number, value, shared) for at, value in enumerate(row))
    return f'<row r="{number}">{cells}</row>'


def parts(rows: list[Row], extra: str = "", dimension: str | None = None, head: str = "") -> dict[str, bytes]:
    """The parts of a small workbook; `extra` are rows of XML below the good ones."""
    shared: list[str] = []
    lines = "".join(row_xml(n, row, shared) for n, row in enumerate([HEADERS, *rows], 1)) + extra
    said = f"A1:F{len(rows) + 1}" if dimension is None else dimension
    size = f'<dimension ref="{said}"/>' if said else ""
    texts = "".join(f"<si><t>{escape(text)}</t></si>" for text in shared)
    book = f'{head}<sheets><sheet name="Audit" sheetId="1" r:id="rId1"/></sheets>'
    links = {"rId1": ("worksheet", "worksheets/sheet1.xml"), "rId2": ("styles", "styles.xml"),
             "rId3": ("sharedStrings", "sharedStrings.xml")}  # fmt: skip
    kinds = {"xl/workbook.xml": "sheet.main", SHEET: "worksheet", "xl/styles.xml": "styles",
             "xl/sharedStrings.xml": "sharedStrings"}  # fmt: skip
    return {
        "[Content_Types].xml": _types(kinds),
        "_rels/.rels": _relations({"rId1": ("officeDocument", "xl/workbook.xml")}),
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{REL}">{book}</workbook>'.encode(),
        "xl/_rels/workbook.xml.rels": _relations(links),
        "xl/styles.xml": _STYLES.encode(),
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">{texts}</sst>'.encode(),
        SHEET: f'<worksheet xmlns="{MAIN}">{size}<sheetData>{lines}</sheetData></worksheet>'.encode(),
    }


def _relations(links: Mapping[str, tuple[str, str]]) -> bytes:
    each = (
        f'<Relationship Id="{id}" Type="{REL}/{kind}" Target="{to}"/>' for id, (kind, to) in links.items()
    )
    return f'<Relationships xmlns="{PACKAGE_REL}">{"".join(each)}</Relationships>'.encode()


def _types(kinds: Mapping[str, str]) -> bytes:
    spreadsheet = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    each = (f'<Override PartName="/{n}" ContentType="{spreadsheet}{k}+xml"/>' for n, k in kinds.items())
    rels = "application/vnd.openxmlformats-package.relationships+xml"
    space = "http://schemas.openxmlformats.org/package/2006/content-types"
    defaults = f'<Default Extension="rels" ContentType="{rels}"/>'
    defaults += '<Default Extension="xml" ContentType="application/xml"/>'
    return f'<Types xmlns="{space}">{defaults}{"".join(each)}</Types>'.encode()


_STYLES = (
    f'<styleSheet xmlns="{MAIN}"><fonts count="1"><font/></fonts><fills count="1">'
    '<fill><patternFill patternType="none"/></fill></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf numFmtId="0"/></cellStyleXfs>'
    '<cellXfs count="3"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="46"/></cellXfs></styleSheet>'
)


def zipped(files: Mapping[str, bytes], *, twice: str = "") -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as book, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that a name comes twice is the damage
        for name, data in files.items():
            if name == twice:
                book.writestr(zipfile.ZipInfo(name), data[: len(data) // 2])
            book.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def flipped(data: bytes, chance: random.Random, most: int = 30) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.randint(1, most)):
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    return bytes(changed)


Damage = Callable[[random.Random, list[Row]], Damaged]
DAMAGES: list[Damage] = []
"""One function for each kind of damage: it takes chance and good rows, and gives a file."""


def damage(make: Damage) -> Damage:
    DAMAGES.append(make)
    return make
