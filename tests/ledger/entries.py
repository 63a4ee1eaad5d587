"""A ledger with some entries in it, for tests."""

from __future__ import annotations

from datetime import datetime, timedelta

from consentpack.ledger import Entry, Head, Signer, append, code_from
from consentpack.register import Register

BEGUN = datetime(2026, 11, 20, 9, 0)


def filled(register: Register, count: int, *, signer: Signer | None = None) -> list[tuple[Entry, Head]]:
    """Packs given and signed in turn, one entry a minute."""
    made = []
    with register.writing() as connection:
        for number in range(count):
            pack = number // 2
            made.append(
                append(
                    connection,
                    kind="signed" if number % 2 else "given",
                    by="Dr Invented",
                    now=BEGUN + timedelta(minutes=number),
                    reference=f"P-{pack}",
                    version=1,
                    code=code_from(str(pack)),
                    details={"day": "2026-11-20", "documents": {"form.docx": f"{pack:064x}"}},
                    signer=signer,
                )
            )
    return made
