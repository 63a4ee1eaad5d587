"""One clinic folder for each ledger, and the way on where that folder is lost or there were two of them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from consentpack.errors import LedgerError, Problem
from consentpack.ledger import Entry
from consentpack.locks import locked
from consentpack.pipeline.ledgers import (
    GOES_ON,
    closed_after,
    enter_with_receipt,
    entering,
    last_of_another,
    ledger_register,
    nothing_given,
    settle,
)


def go_on_here(folder: Path, *, by: str, now: datetime) -> Entry:
    """Let a clinic folder go on with a ledger whose last entry it did not make, or has lost the receipt of.

    Raises LedgerError where it need not, with nothing entered.
    """
    settle(folder)
    with locked(folder):
        register = ledger_register(folder)
        if register is None:
            raise LedgerError(nothing_given(folder))
        with closed_after(register), entering(folder, register) as connection:
            if last_of_another(folder, connection) is None:
                what = "this clinic folder goes on with it already. Nothing was entered."
                raise LedgerError(Problem("ledger", what, "Give and mark as always."))
            return enter_with_receipt(folder, connection, kind=GOES_ON, by=by, now=now)
