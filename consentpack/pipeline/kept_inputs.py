"""The list of what a given pack was made from, as it lies with the pack."""

from __future__ import annotations

import json
from dataclasses import dataclass

from consentpack.errors import LedgerError, Problem

INPUTS = "inputs.json"
"""Its name with a given pack."""
TOLD = "told.json"
"""With a given pack: each figure as the form tells it, in the clinic's own language."""


@dataclass(frozen=True)
class KeptInputs:
    """What was kept for a pack: digests of the plan, and of the lists of all other files."""

    plan_name: str
    plan: str
    clinic: str
    """Of the list of the clinic folder's files, as `_list` writes it."""
    shipped: str
    """Of the list of the program's own files."""
    program: str
    """The program's version."""

    def as_json(self) -> str:
        return json.dumps(vars(self), indent=1, sort_keys=True) + "\n"


def inputs_in(text: bytes) -> KeptInputs:
    """What `as_json` wrote. Raises LedgerError."""
    try:
        return KeptInputs(**{name: str(value) for name, value in json.loads(text).items()})
    except (ValueError, TypeError, AttributeError, RecursionError):
        raise LedgerError(Problem(INPUTS, "this is not the list that was kept with a given pack.")) from None
