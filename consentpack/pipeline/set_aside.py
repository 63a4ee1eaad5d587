"""The file of rows that an import set aside: made before the import is committed, shown after."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from consentpack.errors import KeptError, OutputError, Problem
from consentpack.register import ImportResult, set_aside_csv


class AsideFile:
    """The set-aside file beside a spreadsheet.

    Most of what can go wrong goes wrong in `prepare`, while the import can still be taken back.
    """

    def __init__(self, sheet: Path):
        self.path = sheet.with_name(f"{sheet.stem}.set-aside.csv")
        self._made: Path | None = None

    def prepare(self, result: ImportResult) -> None:
        """Write it under another name. Raises OutputError; nothing has been imported then."""
        if not result.set_aside:
            return
        try:
            handle, name = tempfile.mkstemp(
                prefix=f".{self.path.name}.", suffix=".part", dir=self.path.parent
            )
            self._made = Path(name)
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
                stream.write(set_aside_csv(result))
                stream.flush()
                os.fsync(handle)
        except OSError as error:
            self.drop()
            what = f"the rows set aside cannot be written there ({error.strerror}). Nothing was imported."
            fix = "Put the spreadsheet into a folder where you may write, and import it from there."
            raise OutputError(Problem(str(self.path), what, fix)) from None

    def show(self) -> Path | None:
        """Put it in its place, or take an old one away; where it is. Raises KeptError."""
        try:
            if self._made is None:
                self.path.unlink(missing_ok=True)
                return None
            os.replace(self._made, self.path)
            return self.path
        except OSError as error:
            raise KeptError(self._left_over(error)) from None

    def _left_over(self, error: OSError) -> Problem:
        if self._made is None:
            what = f"the rows were kept, but this old file cannot be taken away ({error.strerror})."
            return Problem(str(self.path), what, "No row was set aside this time: delete it yourself.")
        what = f"the rows were kept, but those set aside cannot be shown here ({error.strerror})."
        return Problem(str(self.path), what, f"They are in {self._made}.")

    def drop(self) -> None:
        """Take away what was prepared for an import that did not come to be."""
        if self._made is not None:
            self._made.unlink(missing_ok=True)
            self._made = None
