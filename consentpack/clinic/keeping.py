"""What is written into clinic.toml, where everything else stays as it was written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from consentpack.clinic.keys import NO_REGISTER, SETTINGS_FILE
from consentpack.clinic.written_rows import as_words
from consentpack.files import write_file
from consentpack.strict import with_days


def keep_columns(
    folder: Path, columns: Mapping[str, str], words: Mapping[str, str], *, dates: str = ""
) -> Path:
    """Put a column map into clinic.toml, own words beside those it has, and how days are typed where that is
    given; everything else there stays as it was written."""
    import tomlkit  # noqa: PLC0415 - only here is a settings file written

    document = _document(folder)
    table = tomlkit.table()
    for header, meaning in columns.items():
        table[header] = meaning
    if "audit" not in document:
        document["audit"] = tomlkit.table()
        document["audit"]["register"] = NO_REGISTER  # a map alone begins no audit
    if dates:
        document["audit"]["dates"] = dates
    document["audit"]["columns"] = table
    for word, meaning in words.items():
        document["audit"].setdefault("words", tomlkit.table())[word] = meaning
    path = folder / SETTINGS_FILE
    write_file(path, tomlkit.dumps(document))
    return path


def keep_place(folder: Path, *, sheet: str = "", rows: tuple[int, ...] = ()) -> Path:
    """Put into clinic.toml where the treatments stand in a file, so that nobody is asked again; what is left
    open here stays as it was there."""
    import tomlkit  # noqa: PLC0415 - only here is a settings file written

    document, new = _document(folder), dict[str, str]()
    for key, value in (("sheet", sheet), ("header_row", as_words(rows))):
        if value and (key in document["audit"] or not _AUDIT.search(tomlkit.dumps(document))):
            document["audit"][key] = value
        elif value:
            new[key] = value
    path = folder / SETTINGS_FILE
    write_file(path, _with_lines(tomlkit.dumps(document), new))
    return path


_AUDIT = re.compile(r"^[ \t]*\[[ \t]*audit[ \t]*\].*$", re.MULTILINE)
_NOTES = {"sheet": "The sheet of the workbook that you asked for.", "header_row": "The row of its headers."}


def _with_lines(text: str, new: Mapping[str, str]) -> str:
    """Settings with new lines at the head of [audit]: at its end stand notes about the next table."""
    import tomlkit  # noqa: PLC0415 - the same

    said = ((_NOTES[key], key, tomlkit.item(value).as_string()) for key, value in new.items())
    lines = "".join(f"\n# {note}\n{key} = {value}" for note, key, value in said)
    return _AUDIT.sub(lambda found: f"{found[0]}{lines}", text, count=1)


def _document(folder: Path) -> Any:
    import tomlkit  # noqa: PLC0415 - only here is a settings file written

    return tomlkit.parse(with_days((folder / SETTINGS_FILE).read_text(encoding="utf-8-sig")))
