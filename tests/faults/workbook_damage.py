"""Workbooks, each damaged in one way, and what must be left of them."""

from __future__ import annotations

import re
import struct

from sheet_parts import SHEET, STRICT, Damaged, Row, damage, flipped, good_of, parts, zipped


def book(kind: str, rows: list[Row], data: bytes, *, must: bool = False, read: int | None = None) -> Damaged:
    return Damaged(kind, "audit.xlsx", data, good_of(rows), must, read)


@damage
def whole(chance, rows):
    return book("whole workbook", rows, zipped(parts(rows)), must=True, read=len(rows))


@damage
def wrong_dimension(chance, rows):
    size = chance.choice(["A1", "A1:B2", "A1:XFD1048576", "C3:F9", "", "A1:F2", "F9:A1", "A0:F0"])
    return book("dimension", rows, zipped(parts(rows, dimension=size)), must=True, read=len(rows))


@damage
def bits(chance, rows):
    return book("bits of a workbook", rows, flipped(zipped(parts(rows)), chance), read=len(rows))


@damage
def cut(chance, rows):
    data = zipped(parts(rows))
    return book("workbook cut", rows, data[: chance.randrange(len(data))], read=len(rows))


@damage
def parts_swapped(chance, rows):
    files = parts(rows)
    one, other = chance.sample(sorted(files), 2)
    files[one], files[other] = files[other], files[one]
    return book("parts swapped", rows, zipped(files), read=len(rows))


@damage
def part_gone(chance, rows):
    files = parts(rows)
    del files[chance.choice(sorted(files))]
    return book("part gone", rows, zipped(files), read=len(rows))


@damage
def false_sizes(chance, rows):
    """Sizes, methods and flags of the ZIP's own list, overwritten."""
    data = bytearray(zipped(parts(rows)))
    places = [at for at in range(len(data) - 4) if data[at : at + 4] == b"PK\1\2"]
    at, (offset, kind) = (
        chance.choice(places),
        chance.choice([(24, "<I"), (20, "<I"), (10, "<H"), (8, "<H"), (42, "<I")]),
    )
    value = chance.choice([0, 1, 9, 12, 14, 93, 0xFFFF, 0xFFFFFFFE, 0x7FFFFFFF])
    struct.pack_into(kind, data, at + offset, value & (0xFFFF if kind == "<H" else 0xFFFFFFFF))
    return book("list of the ZIP", rows, bytes(data), read=len(rows))


@damage
def entry_twice(chance, rows):
    files = parts(rows)
    return book("entry twice", rows, zipped(files, twice=chance.choice(sorted(files))))


@damage
def xml_changed(chance, rows):
    files = parts(rows)
    name = chance.choice(sorted(files))
    return Damaged("bits of XML", "audit.xlsx", zipped(files | {name: flipped(files[name], chance, 3)}), {})


@damage
def row_far_below(chance, rows):
    files = parts(rows[:-1])
    cells = "".join(
        f'<c r="{chr(65 + at)}1048576" t="str"><v>{value}</v></c>'
        for at, value in enumerate(rows[-1])
        if value
    )
    low = f'<row r="1048576">{cells}</row></sheetData>'.encode()
    files[SHEET] = files[SHEET].replace(b"</sheetData>", low)
    return book("row far below", rows, zipped(files), must=True, read=len(rows))


@damage
def without_places(chance, rows):
    files = parts([row for row in rows if row[5]])
    files[SHEET] = re.sub(rb' r="[A-Z]*[0-9]+"', b"", files[SHEET])
    kept = [row for row in rows if row[5]]
    return book("no row numbers", kept, zipped(files), must=True, read=len(kept) or None)


@damage
def numbers_again(chance, rows):
    """Two rows bear one number, or a lower row comes first."""
    files = parts(rows)
    number = chance.randint(2, len(rows) + 1)
    if (moved := chance.choice([2, 3, number + 1])) == number:
        moved += 1
    old = files[SHEET].decode()
    start = old.index(f'<row r="{number}"')
    stop = old.index("</row>", start) + 6
    row = old[start:stop].replace(f'{number}"', f'{moved}"')
    files[SHEET] = (old[:start] + row + old[stop:]).encode()
    return book("row number again", rows, zipped(files), read=len(rows))


@damage
def strict(chance, rows):
    files = parts(rows)
    for name in files:
        for usual, other in STRICT.items():
            files[name] = files[name].replace(usual.encode(), other.encode())
    return book("strict Open XML", rows, zipped(files), must=True, read=len(rows))


@damage
def other_kinds(chance, rows):
    files = parts(rows)
    data = chance.choice(
        [
            zipped(
                files
                | {
                    "xl/_rels/workbook.xml.rels": files["xl/_rels/workbook.xml.rels"].replace(
                        b'/worksheet"', b'/chartsheet"'
                    )
                }
            ),
            bytes.fromhex("D0CF11E0A1B11AE1") + chance.randbytes(4000),
            zipped({"letter.txt": b"no workbook"}),
            zipped(files | {SHEET: b'<!DOCTYPE a [<!ENTITY a "' + b"x" * 999 + b'">]>' + files[SHEET]}),
            b"",
            b"PK",
            b"PK\5\6" + bytes(18),
        ]
    )
    return Damaged("other kinds of file", "audit.xlsx", data, {})


@damage
def sheet_encoding(chance, rows):
    files = parts(rows)
    code = chance.choice(["utf-16", "utf-16-be", "iso-8859-1", "utf-7", "cp037", "shift_jis", "nonsense"])
    text = f'<?xml version="1.0" encoding="{code}"?>' + files[SHEET].decode()
    data = text.encode("ascii" if code == "nonsense" else code)
    return book("encoding of XML", rows, zipped(files | {SHEET: data}), read=len(rows))


_CELLS = (
    '<c t="n"><v>1E+30</v></c>',
    '<c t="n"><v>1e999</v></c>',
    '<c t="n"><v>NaN</v></c>',
    '<c s="1"><v>1e30</v></c>',
    '<c s="1"><v>-5</v></c>',
    '<c s="2"><v>1e300</v></c>',
    '<c s="999"><v>7</v></c>',
    '<c t="s"><v>99999999</v></c>',
    '<c t="s"><v>-1</v></c>',
    "<c><f>1+1</f></c>",
    "<c><f>1+1</f><v></v></c>",
    '<c t="str"><f>A1</f><v></v></c>',
    '<c t="e"><v>#REF!</v></c>',
    '<c t="b"><v>1</v></c>',
    '<c t="d"><v>2026-99-99T00:00</v></c>',
    '<c t="inlineStr"><is><t>_x0000_</t></is></c>',
    '<c t="inlineStr"><is><t>_xD800_</t></is></c>',
    '<c t="inlineStr"><is><t>=cmd()</t></is></c>',
    '<c t="inlineStr"><is><r><t>a</t></r><rPh><t>b</t></rPh></is></c>',
    f'<c t="str"><v>{"y" * 200_000}</v></c>',
    f"<c><v>{'9' * 5000}</v></c>",
    '<c t="str"><v>&#x202E;&#xFFFF0;</v></c>',
)


@damage
def hostile_cells(chance, rows):
    extra = "".join(
        f'<row r="{len(rows) + 2 + n}">{"".join(chance.choice(_CELLS) for _ in range(6))}</row>'
        for n in range(chance.randint(1, 8))
    )
    return book("hostile cells", rows, zipped(parts(rows, extra)), must=True)


@damage
def bomb(chance, rows):
    """Small when packed, large when unpacked: texts, blank rows, spaces or a wide row."""
    many = chance.choice([20_000, 400_000])
    extra = chance.choice(
        [
            "<row/>" * many,
            " " * (many * 100),
            f'<row><c t="str"><v>{"z" * (many * 50)}</v></c></row>',
            "".join(
                f'<row r="{n}"><c r="XFD{n}" t="str"><v>x</v></c></row>' for n in range(900, 900 + many // 40)
            ),
            f'<row spans="{"1" * (many * 50)}"/>',
            f"<!--{'-x' * (many * 20)}-->",
            "<row>" + "<c/>" * 16_000 + "</row>",
        ]
    )
    return book("small that unpacks large", rows, zipped(parts(rows, extra)))
