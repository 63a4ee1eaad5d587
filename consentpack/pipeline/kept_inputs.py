"""The list of what a given pack was made from, as it lies with the pack."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from consentpack.errors import LedgerError, Problem
from consentpack.model.given import ToldBefore

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
    told_before: ToldBefore | None = None
    """What an older version told otherwise."""
    code: str = ""
    """The digest of the program's code; '' where it was not kept yet."""

    def as_json(self) -> str:
        found = vars(self) | {"told_before": self.told_before and [*vars(self.told_before).values()]}
        return json.dumps(found, indent=1, sort_keys=True, ensure_ascii=False, default=str) + "\n"


def inputs_in(text: bytes) -> KeptInputs:
    """What `as_json` wrote. Raises LedgerError."""
    try:
        found = json.loads(text)
        before = found.pop("told_before", None)
        return KeptInputs(**{name: str(value) for name, value in found.items()}, told_before=_before(before))
    except (ValueError, TypeError, AttributeError, RecursionError):
        raise LedgerError(Problem(INPUTS, "this is not the list that was kept with a given pack.")) from None


def _before(found: list[Any] | None) -> ToldBefore | None:
    if found is None:
        return None
    version, day, figures = found
    return ToldBefore(int(version), date.fromisoformat(day), tuple((str(id), str(t)) for id, t in figures))
