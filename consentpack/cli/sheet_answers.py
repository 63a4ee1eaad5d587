"""What somebody says of a spreadsheet on the command line, and what was kept of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from consentpack.pipeline import Wanted
    from consentpack.register import Place


def pairs_of(pairs: Iterable[str], option: str, form: str, *, save: bool) -> dict[str, str]:
    """Words as they were typed after an option, as word -> meaning. Raises click's UsageError."""
    if pairs and not save:
        raise click.UsageError(f"{option} is kept in clinic.toml: add --save.")
    said = {word.strip(): meaning.strip() for word, _, meaning in (each.rpartition("=") for each in pairs)}
    if not all(said) or not all(said.values()):
        raise click.UsageError(f"Write {option} {form}.")
    return said


def kept_words(place: Place, wanted: Wanted) -> str:
    """What was kept of where the treatments stand; nothing where nobody said it."""
    sheet = f"sheet '{place.sheet}'" if wanted.sheet and place.sheet else ""
    rows = f"headers in row {' and '.join(map(str, wanted.header_rows))}" if wanted.header_rows else ""
    said = ", ".join(filter(None, (sheet, rows)))
    return f" Kept for the next file: {said}." if said else ""
