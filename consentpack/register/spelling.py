"""One case under two spellings would be counted as two. Found here, and told; never merged in silence.

Two references that look the same are the same (`normal.plain`). Two that differ in capitals alone may
be a slip or two cases: only the clinic knows, so the second spelling is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from sqlalchemy import Connection, select

from consentpack.errors import Problem, RegisterError
from consentpack.normal import folded, plain
from consentpack.register.schema import treatments
from consentpack.register.treatment import Treatment


def held_as(connection: Connection, case: str, session: int) -> str | None:
    """How the register writes a case that it holds; None when it does not hold it.

    Raises RegisterError when it is there in other capitals alone: that may be a slip or another case.
    """
    table = treatments({})
    found = connection.execute(select(table.c.case_ref).where(table.c.session == session)).scalars()
    alike = [held for held in found if folded(held) == folded(case)]
    held = min(alike, key=lambda held: (held != case, plain(held) != plain(case)), default=None)
    if held is not None and plain(held) != plain(case):
        what = f"case '{case}' is in the register as '{held}'."
        fix = "Type it in the same capital and small letters, or give it a reference of its own."
        raise RegisterError(Problem("case", what, fix))
    return held


def _all(connection: Connection) -> Iterator[tuple[str, int]]:
    table = treatments({})
    for row in connection.execute(select(table.c.case_ref, table.c.session)):
        yield row.case_ref, row.session


@dataclass
class Spellings:
    """How the cases of a register are written, while an import goes over a file.

    Hashes and not texts: a whole key for each of a million treatments would fill the memory.
    """

    _written: dict[int, set[int]] = field(default_factory=dict)
    """Hash of a folded case and session -> hashes of the spellings that the register has."""
    _odd: dict[int, str] = field(default_factory=dict)
    """The same for a plain case -> the case as an older register holds it, with spaces or loose marks."""

    @classmethod
    def of(cls, connection: Connection) -> Spellings:
        """Those of a register as it stands."""
        made = cls()
        for case, session in _all(connection):
            alike = plain(case)
            made._written.setdefault(_hash(folded(case), session), set()).add(hash(alike))
            if alike != case:
                made._odd.setdefault(_hash(alike, session), case)
        return made

    def differs(self, treatment: Treatment) -> bool:
        """Whether the register has this treatment, but only in other capitals."""
        if not self._written:
            return False
        written = self._written.get(_hash(folded(treatment.case), treatment.session))
        return written is not None and hash(treatment.case) not in written

    def as_held(self, case: str, session: int) -> str:
        """The very reference the register has for a case, so that its treatment is known again."""
        return self._odd.get(_hash(case, session), case) if self._odd else case


def _hash(case: str, session: int) -> int:
    return hash((case, session))
