"""What is written into clinic.toml, where everything else stays as it was written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from consentpack.clinic.keys import NO_REGISTER, SETTINGS_FILE
from consentpack.files import write_file
from consentpack.strict import with_days


def keep_columns(
    folder: Path, columns: Mapping[str, str], words: Mapping[str, str], *, dates: str = ""
) -> Path:
    """Put a column map into clinic.toml, own words beside those it has, and how days are typed where that is
    given; everything else there stays as it was written."""
    import tomlkit  # noqa: PLC0415 - only here is a settings file written

    path = folder / SETTINGS_FILE
    document = tomlkit.parse(with_days(path.read_text(encoding="utf-8-sig")))
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
    write_file(path, tomlkit.dumps(document))
    return path
