"""The clinic's register: opened, made when it is wanted, and as it stands at one moment."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import Problem, RegisterError
from consentpack.ledger import Connection
from consentpack.model import Clinic
from consentpack.pipeline.place import Workplace
from consentpack.rates import AuditSource
from consentpack.rates.shrinking import PartSource
from consentpack.register import (
    Comparison,
    Entry,
    Moment,
    Part,
    Register,
    Tally,
    Window,
    entries,
    moment_of,
    open_register,
    shown,
    state_of,
    tally,
    tally_parted,
    tell,
)


@dataclass(frozen=True)
class Audit:
    """The audit as it stood at one moment."""

    source: AuditSource | None
    """Counts, as long as the moment is held; None for a clinic that keeps no audit."""
    digests: Mapping[str, str]
    """What the counts come from, for a manifest: imports by digest, entries by hand, the whole."""
    edited: int = 0
    """Treatments that something else than this program has changed."""
    parts: PartSource | None = None
    """Counts of the groups that treatments fall into, as long as the moment is held."""
    moment: Moment | None = None
    """Where the register stands, to which `as_it_stood` can go back; None where no audit is kept."""


@contextmanager
def audit_as_it_stands(place: Workplace) -> Iterator[Audit]:
    """The figures and the digests of one moment: an import in the meantime changes neither.

    Raises RegisterError when there is no register and the clinic has not said that it keeps none.
    """
    if not place.clinic.register_url:
        yield Audit(None, {})
        return
    with existing_register(place).connect() as connection:

        def parts(
            window: Window, watch_days: Mapping[str, int], strata: Sequence[str], techniques: Iterable[str]
        ) -> Iterable[Part]:
            return tally_parted(connection, window, watch_days, strata=strata, techniques=techniques)

        state = state_of(connection)
        digests = _digests(entries(connection)) | {"audit: the whole register": state.digest}
        if state.edited:
            digests["audit: treatments changed by another program"] = str(state.edited)
        yield Audit(_counting(connection), digests, state.edited, parts, moment_of(connection))


@contextmanager
def counts_alone(place: Workplace) -> Iterator[AuditSource | None]:
    """Counts of one moment without any digest, for who looks and keeps nothing: of a million treatments the
    digests alone take longer than all counts. Raises RegisterError as `audit_as_it_stands` does."""
    if not place.clinic.register_url:
        yield None
        return
    with existing_register(place).connect() as connection:
        yield _counting(connection)


def _counting(connection: Connection) -> AuditSource:
    def counts(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        return tally(connection, comparison, window, watch_days)

    return counts


def _digests(done: Iterable[Entry]) -> dict[str, str]:
    """Every file that changed the register, by digest; entries by hand by their number."""
    found = [e for e in done if not e.undone and e.added + e.updated]
    files = {f"audit: import {e.id}, {e.file_name}": e.file_digest for e in found if e.file_name}
    by_hand = sum(not entry.file_name for entry in found)
    return files | ({"audit: entries by hand": str(by_hand)} if by_hand else {})


def writable_register(place: Workplace) -> Register:
    """The clinic's register, made when it is not there yet; where it was made is said."""
    where = place.clinic.register_url
    refuse_none(place.clinic)
    register = open_register(where)
    if register is None:
        register = open_register(where, create=True)
        tell(f"there was no register yet; a new one was made: {shown(where)}")
    assert register is not None
    return register


def existing_register(place: Workplace) -> Register:
    """The clinic's register. Raises RegisterError when there is none."""
    clinic = place.clinic
    refuse_none(clinic)
    register = open_register(clinic.register_url)
    if register is None:
        what = "there is no audit register here, or nothing is in it. No figure can be counted without it."
        fix = (
            "Is 'register' under [audit] in clinic.toml right? To begin one: `consentpack audit import FILE` "
            'or `consentpack audit add`. A clinic that keeps no audit writes: register = "none"'
        )
        raise RegisterError(Problem(shown(clinic.register_url), what, fix))
    return register


def refuse_none(clinic: Clinic) -> None:
    if not clinic.register_url:
        what = "'register' under [audit] is \"none\", or there is no [audit]: this clinic keeps no audit."
        fix = 'Write there register = "register.sqlite", and dates = "day-first" or as you type them.'
        raise RegisterError(Problem(SETTINGS_FILE, what, fix))
