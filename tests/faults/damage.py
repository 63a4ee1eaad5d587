"""Ways to damage a file: bits, lengths, encodings, types, nesting and tokens that have broken readers."""

from __future__ import annotations

import io
import random
import re
import zipfile
from pathlib import Path

from damaged_texts import Case

Rng = random.Random
_TOML_VALUES = (
    "[" * 3000,
    "[" * 60 + "]" * 60,
    "9" * 5000,
    "0x" + "f" * 20000,
    "1e999",
    "nan",
    "-1",
    "0",
    "true",
    "{}",
    "[]",
    "[[]]",
    "{a.b.c = 1}",
    '""',
    '"\\u0000"',
    '"' + "x" * 300 + '"',
    "0001-01-01",
    "9999-12-31",
    "2026-13-01",
    "2026-11-25T10:00:00",
    "07:32:00",
    "“words”",
    "'''",
    '"""',
    "24311",
    "[1, 2]",
    '["a", "a"]',
    '{"a" = []}',
    "2026-11-25",
    '"\\ud800"',
    "10000000000000000000000",
    '"../../x"',
    '"{{ 7*7 }}"',
    '["\\u0007"]',
)
_TEXT_TOKENS = (
    "\x00",
    "\ufeff",
    "\u202e",
    "\x1b[31m",
    "+++\n",
    "---\n",
    "{{",
    "}}",
    "{% for x in y %}",
    "{{ clinic.__class__ }}",
    "{{ " + "(" * 400 + " }}",
    "{{ rate('x') }}",
    "*a **b " * 3000,
    "[" * 2000,
    "`" * 1999,
    ">" * 500,
    "- " * 300,
    "<div>" * 2000,
    "&#xFFFFFFFF;",
    "<![CDATA[",
    "<!--",
    "<?php",
    "<!x [",
    "::: risk-table\n",
    "::: nothing\n",
    "# x\n",
    "|a|b|\n",
    "\r",
    "\x0c",
    "\u2028",
    "x" * 100_000,
    "é".encode("latin-1").decode("latin-1"),
    "<script>",
    "\\",
    "%s",
    "<p hidden>",
    "<b>" * 5000,
    "</p>" * 500,
    "<a href='",
    "0" * 5000,
    "\ud7ff",
    "\U0010ffff",
)
_PO_TOKENS = (
    "{phone.__class__}",
    "{0}",
    "{}",
    "{phone:>999999999}",
    "{phone!r}",
    "{",
    "}",
    "%(x)s",
    "{{ 1/0 }}",
    "{{ x.y.z() }}",
    '"\n"Content-Type: text/plain; charset=klingon\\n"\n"',
    "nplurals=0",
    "plural=(n/0)",
    "plural=n%0",
    "plural=" + "(" * 500,
    "plural=__import__('os')",
    "plural=n**n**n",
    "msgstr[99]",
    "#, fuzzy\n",
    'msgid_plural "x"\n',
    "*a **b " * 1000,
)
_PO_HEADS = (
    ("charset=utf-8", "charset=klingon"),
    ("charset=utf-8", "charset=hex"),
    ("charset=utf-8", "charset=utf-16"),
    ("nplurals=4", "nplurals=x"),
    ("nplurals=4", "nplurals=1"),
    ("nplurals=4", "nplurals=99999999999"),
    ("plural=(", "plural=n/0*("),
    ("plural=(", "plural=(" + "(" * 300),
    ("plural=(", "plural=n%0+("),
    ("POT-Creation-Date: ", "POT-Creation-Date: x"),
    ("PO-Revision-Date: ", "PO-Revision-Date: 0000-99-99"),
    ("Language: pl", "Language: \\x00"),
    ("8bit", "7bit"),
)
_XML_TOKENS = (
    b"<w:p>",
    b"</w:p>",
    b"<w:tbl>" * 100,
    b"<x/>" * 50_000,
    b"\x00",
    b"&x;",
    b"<!DOCTYPE a [<!ENTITY x 'y'>]>",
    b"<w:tr>",
    b'w:val="-1"',
    b'w:val=""',
    b'w:val="99999999999999999999"',
    b"<w:sdt>",
    b"<w:txbxContent>",
    b"]]>",
    b"xmlns:w='x'",
    b"<w:numId/>",
    b"<w:pStyle/>",
    b"<w:basedOn/>",
    b"<w:footnoteReference/>",
    b"<w:altChunk/>",
)


def flipped(data: bytes, rng: Rng) -> bytes:
    found = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 8, 64))):
        found[rng.randrange(len(found))] ^= 1 << rng.randrange(8)
    return bytes(found)


def cut(data: bytes, rng: Rng) -> bytes:
    return data[: rng.randrange(len(data))]


def moved(data: bytes, rng: Rng) -> bytes:
    """A piece taken out, or there many times."""
    start = rng.randrange(len(data))
    piece = data[start : start + rng.choice((1, 10, 200, 5000))]
    return data[:start] + piece * rng.choice((0, 0, 2, 50)) + data[start + len(piece) :]


def other_encoding(data: bytes, rng: Rng) -> bytes:
    text = data.decode("utf-8", "replace")
    name = rng.choice(("utf-16", "utf-32", "latin-1", "cp1252", "utf-7", "utf-8-sig", "cp037"))
    return (text + "é").encode(name, "replace")


def generic(data: bytes, rng: Rng) -> tuple[str, bytes]:
    way = rng.choice((flipped, cut, moved, other_encoding))
    return way.__name__, way(data, rng)


def with_token(data: bytes, rng: Rng, tokens: tuple[str, ...]) -> tuple[str, bytes]:
    text = data.decode("utf-8")
    place = rng.randrange(len(text) + 1)
    token = rng.choice(tokens)
    made = text[:place] + token + text[place:]
    return f"token {token[:20]!r}", made.encode("utf-8", "surrogatepass")


_KEY = re.compile(r"^(\"?[\w -]+\"?) = .*$", re.M)


def toml_value(data: bytes, rng: Rng) -> tuple[str, bytes]:
    """One key with a value of another kind; a list over several lines is damaged by it too."""
    text = data.decode("utf-8")
    found = rng.choice(list(_KEY.finditer(text)))
    value = rng.choice(_TOML_VALUES)
    return f"value {value[:20]!r}", (
        text[: found.start()] + f"{found[1]} = {value}" + text[found.end() :]
    ).encode()


def without_key(data: bytes, rng: Rng, needed: tuple[str, ...]) -> tuple[str, bytes]:
    """A needed key on one line is gone."""
    text = data.decode("utf-8")
    key = rng.choice([k for k in needed if re.search(rf"^{k} = .*[^\[]$", text, re.M)])
    return f"without {key}", re.sub(rf"^{key} = .*\n", "", text, count=1, flags=re.M).encode()


def zipped(data: bytes, rng: Rng) -> tuple[str, bytes]:
    """A Word file with one part damaged, missing or there twice."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    name = rng.choice(sorted(parts))
    how = rng.choice(("token", "token", "token", "generic", "gone", "empty"))
    if how == "gone":
        del parts[name]
    elif how == "empty":
        parts[name] = b""
    elif how == "generic":
        parts[name] = generic(parts[name] or b"x", rng)[1]
    else:
        places = [m.start() for m in re.finditer(b'[<>" ]', parts[name])] or [0]
        place = rng.choice(places)
        parts[name] = parts[name][:place] + rng.choice(_XML_TOKENS) + parts[name][place:]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for each, content in parts.items():
            new.writestr(each, content)
    return f"{how} in {name}", out.getvalue()


def json_value(data: bytes, rng: Rng) -> tuple[str, bytes]:
    text = data.decode("utf-8")
    places = [m.span() for m in re.finditer(r'"[^"\n]*"|\d+', text)]
    start, end = rng.choice(places)
    value = rng.choice(
        ("[" * 5000, "null", "9" * 5000, "[]", "{}", '"\\u0000"', "NaN", "1e400", '"../../x"', "true")
    )
    return f"json {value[:10]!r}", (text[:start] + value + text[end:]).encode()


_PLAN = (
    "reference",
    "prepared",
    "site",
    "skin_type",
    "sessions",
    "scar",
    "reason",
    "clinician",
    "clinician_role",
)
_CLINIC = ("name", "phone", "phone_out_of_hours", "hours", "emergency_number", "dates")
_MODULE = ("id", "title", "version", "reviewed", "review_by")
_SHOW = ("build", "plans/p-101.toml", "--show", "plan")


def toml_case(
    rng: Rng, folder: Path, kind: str, file: str, needed: tuple[str, ...], command: tuple[str, ...]
) -> Case:
    data = (folder / file).read_bytes()
    pick = rng.random()
    if pick < 0.15:
        how, made = without_key(data, rng, needed)
        return Case(kind, file, made, how, command, must_fail=True)
    if pick < 0.6:
        how, made = toml_value(data, rng)
    elif pick < 0.8:
        how, made = with_token(data, rng, _TEXT_TOKENS)
    else:
        how, made = generic(data, rng)
    return Case(kind, file, made, how, command)


def plan_case(rng: Rng, folder: Path) -> Case:
    return toml_case(rng, folder, "plan", "plans/p-101.toml", _PLAN, _SHOW)


def clinic_case(rng: Rng, folder: Path) -> Case:
    command = rng.choice((("audit", "history"), ("audit", "history"), ("library", "status"), _SHOW))
    return toml_case(rng, folder, "settings", "clinic.toml", _CLINIC, command)


def module_case(rng: Rng, folder: Path) -> Case:
    part, command = rng.choice(
        (
            ("risks/bruising", ("library", "show", "bruising")),
            ("techniques/blunt-cannula", ("library", "show", "blunt-cannula")),
            ("aftercare/sun", ("library", "show", "aftercare/sun")),
            ("risks/bruising", _SHOW),
        )
    )
    return toml_case(rng, folder, "module", f"content/{part}.md", _MODULE, command)


def document_case(rng: Rng, folder: Path) -> Case:
    """The consent form without its harms, choices or signatures."""
    text = (folder / "content/documents/consent.md").read_text(encoding="utf-8")
    needed = rng.choice(("risk-table", "options", "signatures", "agreement", "what-happens", "benefits"))
    made = text.replace(f"::: {needed}\n", "")
    return Case("form", "content/documents/consent.md", made.encode(), f"no {needed}", _SHOW, must_fail=True)


def table_case(rng: Rng, folder: Path) -> Case:
    name = rng.choice(("glossary.toml", "settings.toml", "sources.json", "published_rates.csv"))
    file, data = f"content/{name}", (folder / "content" / name).read_bytes()
    ways = {"toml": toml_value, "json": json_value}
    way = ways.get(
        name.rpartition(".")[2], lambda d, r: with_token(d, r, ("²", '"', "9" * 5000, ",,,", "\x00"))
    )
    how, made = way(data, rng) if rng.random() < 0.7 else generic(data, rng)
    return Case("table", file, made, how, ("library", "show", "bruising"))


def po_case(rng: Rng, folder: Path) -> Case:
    file = "locales/pl/LC_MESSAGES/own.po"
    data = (folder / file).read_bytes()
    pick = rng.random()
    if pick < 0.4:
        old, new = rng.choice(_PO_HEADS)
        how, made = f"head {new[:25]!r}", data.replace(old.encode(), new.encode(), 1)
    elif pick < 0.8:
        how, made = with_token(data, rng, _PO_TOKENS)
    else:
        how, made = generic(data, rng)
    return Case(
        "translation", file, made, how, ("build", "plans/p-101.toml", "--show", "plan", "--language", "pl")
    )


def approvals_case(rng: Rng, folder: Path) -> Case:
    command = rng.choice((_SHOW, ("library", "status")))
    return toml_case(
        rng, folder, "approvals", "approvals.toml", ("module", "digest", "by", "day", "until"), command
    )


def manifest_case(rng: Rng, folder: Path) -> Case:
    file = "packs/HS-P-101/manifest.json"
    data = (folder / file).read_bytes()
    how, made = json_value(data, rng) if rng.random() < 0.6 else generic(data, rng)
    return Case("manifest", file, made, how, ("build", "plans/p-101.toml", "--draft"))


def form_case(rng: Rng, folder: Path) -> Case:
    name = rng.choice(
        ("form.docx", "form.docx", "form.docx", "form.html", "form.html", "form.md", "form.txt", "form.odt")
    )
    data = (folder / name).read_bytes()
    command: tuple[str, ...] = ("score", name)
    if name.endswith(("docx", "odt")):
        how, made = zipped(data, rng) if rng.random() < 0.7 else generic(data, rng)
        command = rng.choice((command, ("accessible", name)))
    elif rng.random() < 0.6:
        how, made = with_token(data, rng, _TEXT_TOKENS)
    else:
        how, made = generic(data, rng)
    return Case(name.rpartition(".")[2], name, made, how, command)


_KINDS = {
    plan_case: 20,
    clinic_case: 14,
    module_case: 14,
    document_case: 2,
    table_case: 8,
    po_case: 7,
    approvals_case: 9,
    manifest_case: 4,
    form_case: 22,
}


def case_of(rng: Rng, folder: Path) -> Case:
    """One case, the same from the same random numbers."""
    made = rng.choices(list(_KINDS), weights=list(_KINDS.values()))[0]
    return made(rng, folder)


def write_forms(folder: Path) -> None:
    """Old forms of every kind that can be scored, and one that cannot."""
    import docx

    lines = [
        "What can go wrong",
        "You may have a bruise for a week. Ring us on 020 7946 0001.",
        "Keep it clean.",
    ]
    document = docx.Document()
    for line in lines * 3:
        document.add_heading(line[:20])
        document.add_paragraph(line)
        document.add_paragraph(line, style="List Bullet")
    document.add_table(2, 2).cell(1, 1).text = lines[1]
    document.save(folder / "form.docx")
    (folder / "form.html").write_text(
        "<html><body><h1>Your form</h1>"
        + "".join(f"<p>{line}</p><ul><li>{line}</li></ul>" for line in lines * 5),
        encoding="utf-8",
    )
    (folder / "form.md").write_text(
        "# Your form\n\n" + "\n\n".join(f"{x}\n\n- {x}" for x in lines * 5), encoding="utf-8"
    )
    (folder / "form.txt").write_text("YOUR FORM\n\n" + "\n\n".join(lines * 5), encoding="utf-8")
    with zipfile.ZipFile(folder / "form.odt", "w") as odt:
        odt.writestr("mimetype", "application/vnd.oasis.opendocument.text")
        odt.writestr("content.xml", "<office:document-content/>")
