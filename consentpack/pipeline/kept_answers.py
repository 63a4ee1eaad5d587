"""Where in a file the treatments stand, as somebody has said once: nobody is asked for the next file."""

from __future__ import annotations

from dataclasses import replace

from consentpack.clinic import SETTINGS_FILE, keep_place
from consentpack.errors import ConsentpackError, KeptError, Problem
from consentpack.locks import locked
from consentpack.pipeline.place import Workplace
from consentpack.register import Place, Wanted


def with_kept(place: Workplace, wanted: Wanted | None) -> Wanted:
    """Where a file's treatments are wanted from, with where clinic.toml says that they stand."""
    clinic = place.clinic
    return replace(wanted or Wanted(), kept_sheet=clinic.audit_sheet, kept_rows=clinic.header_rows)


def keep_answers(place: Workplace, wanted: Wanted, found: Place) -> None:
    """Keep what somebody said of sheet and rows, as the sheet is called: by its number another one may be
    meant in the next file. Raises KeptError."""
    sheet = found.sheet if wanted.sheet else ""
    if not (sheet or wanted.header_rows):
        return
    try:
        with locked(place.folder):
            keep_place(place.folder, sheet=sheet, rows=wanted.header_rows)
    except (OSError, ConsentpackError) as error:
        why = error.problems[0].what if isinstance(error, ConsentpackError) else error.strerror
        what = f"the rows were kept, but not which sheet and rows you named ({why})."
        raise KeptError(Problem(SETTINGS_FILE, what, "Say it again with the next file.")) from None
