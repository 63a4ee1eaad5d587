"""CSV files, each damaged in one way, and what must be left of them."""

from __future__ import annotations

from sheet_parts import HEADERS, Damaged, Row, damage, flipped, good_of


def csv_text(rows: list[Row]) -> str:
    return "".join(",".join(map(str, row)) + "\n" for row in (HEADERS, *rows))


def text_file(
    kind: str, rows: list[Row], data: bytes, *, must: bool = False, read: int | None = None
) -> Damaged:
    return Damaged(kind, "audit.csv", data, good_of(rows), must, read)


@damage
def whole_csv(chance, rows):
    text = csv_text(rows)
    text = chance.choice([text, text.replace("\n", "\r\n"), text.replace("\n", "\r"), "\ufeff" + text])
    return text_file("whole CSV", rows, text.encode(), must=True, read=len(rows))


@damage
def csv_bits(chance, rows):
    data = flipped(csv_text(rows).encode(), chance, 5)
    lines = set(data.split(b"\n"))
    head = ",".join(HEADERS).encode() in lines
    left = [row for row in rows if ",".join(map(str, row)).encode() in lines and head]
    return text_file("bits of CSV", left, data)


@damage
def csv_cut(chance, rows):
    data = csv_text(rows).encode()
    data = data[: chance.randrange(len(data))]
    whole_lines = data.count(b"\n")
    return text_file("CSV cut", rows[: max(0, whole_lines - 1)], data)


@damage
def csv_encoding(chance, rows):
    code = chance.choice(["utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "shift_jis", "cp037"])
    text = csv_text(rows) + "é,1,2026-01-05,blunt-cannula,chin,no\n".replace(
        "é", "e" if code == "shift_jis" else "é"
    )
    return text_file("encoding of CSV", rows, text.encode(code))


@damage
def csv_hostile(chance, rows):
    bad = [
        "\0,1,2026-01-05,blunt-cannula,chin,no",
        "=1+1,x,y,z",
        "a,b,c,d,e,f,g,h",
        "'=1,@x,+1,-1,\t=,x",
        ",,,,",
        f"q,1,2026-01-05,blunt-cannula,{'w' * 300_000},no",
        f"r,{'9' * 6000},2026-01-05,blunt-cannula,chin,no",
        "s,1,9999999-01-01,blunt-cannula,chin,no",
        "\x1b[31m,1,2026-01-05,blunt-cannula,chin,no",
        "t,1,2026-01-05,\u200bblunt-cannula\u00a0,chin,no",
        ";;;;;;",
        "u,²,٢٠٢٦-٠١-٠٥,blunt-cannula,chin,no",
    ]
    text = csv_text(rows) + "".join(chance.choice(bad) + "\n" for _ in range(chance.randint(1, 8)))
    return text_file("hostile CSV cells", rows, text.encode(), must=True)


@damage
def csv_quotes(chance, rows):
    lines = csv_text(rows).split("\n")
    at = chance.randrange(1, len(lines))
    lines[at] = '"' + lines[at]
    return text_file("quote in CSV", rows[: at - 1] + rows[at:], "\n".join(lines).encode())


@damage
def csv_long(chance, rows):
    long = "v" * chance.choice([2_000_000, 20_000_000])
    return text_file("line without end", rows, (csv_text(rows) + long).encode())
