"""Import of a spreadsheet. Good rows go in, bad rows are set aside with reasons, in one transaction:
a crash half-way leaves the register as it was."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import islice
from pathlib import Path

from consentpack.model import Measurement
from consentpack.normal import folded
from consentpack.register.aside import AsideGroup, aside_csv, grouped
from consentpack.register.cells import shortened
from consentpack.register.doubting import Doubt, doubts
from consentpack.register.how_read import Reading
from consentpack.register.intake import Asked, Intake, Place, Taken, take
from consentpack.register.left_out import Left
from consentpack.register.limits import DETAILS
from consentpack.register.merging import Differs, Merging
from consentpack.register.opening import Register
from consentpack.register.reading import Wanted
from consentpack.register.repairs import Repair
from consentpack.register.rows import Aside, SetAside
from consentpack.register.spelling import Spellings
from consentpack.register.store import Store
from consentpack.register.treatment import Treatment

_BATCH = 2000
"""Rows held in memory at a time."""


@dataclass(frozen=True)
class ImportResult:
    """What one import did. The counts add up: read = added + updated + unchanged + set aside."""

    file: str
    read: int
    added: int
    updated: int
    unchanged: int
    rows_set_aside: int
    set_aside: tuple[SetAside, ...]
    """Why, cell by cell: at most `limits.DETAILS`."""
    doubts: tuple[Doubt, ...]
    """At most as many."""
    kept_older: int
    """Rows set aside whose treatment is in the register as an earlier import left it."""
    not_in_file: int
    """Treatments in the register that the file no longer holds. They stay."""
    ignored_columns: tuple[str, ...]
    dry_run: bool = False
    more_set_aside: int = 0
    """Reasons there are besides those of `set_aside`."""
    more_doubts: int = 0
    differs: tuple[Differs, ...] = ()
    """What was entered by hand, or from a diary, and is something else in the file."""
    overwritten: bool = False
    """Whether the file went before what was entered by hand there."""
    blanked: int = 0
    """Outcomes that an earlier file brought and that are blank now: not recorded any more."""
    unread: tuple[str, ...] = ()
    """Outcomes that were kept although the file has no column for them any more."""
    last_seen_read: bool = True
    """Whether the file has a column for the day a patient was last seen."""
    without_last_seen: int = 0
    """Rows that say what was seen or not, and not when the patient was last seen."""
    place: Place = field(default_factory=Place)
    """The sheet and the rows of the headers that were found."""
    repairs: tuple[Repair, ...] = ()
    """What was read otherwise than it is typed, by word."""
    more_repairs: int = 0
    """Cells read otherwise besides."""
    left_out: tuple[Left, ...] = ()
    """Rows that are no treatments, by kind. They are not among those read."""

    @property
    def aside_groups(self) -> tuple[AsideGroup, ...]:
        """Why rows were set aside, by reason."""
        return grouped(self.set_aside)


class _DryRun(Exception):
    """Takes a dry run's transaction back."""


@dataclass
class _Pass:
    """One pass over a file: what has been read so far."""

    spellings: Spellings
    called: Mapping[str, str]
    measurements: Mapping[str, Measurement]
    read: int = 0
    rows_set_aside: int = 0
    reasons: int = 0
    doubted: int = 0
    set_aside: list[SetAside] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    without_last_seen: int = 0
    held: set[tuple[str, int]] = field(default_factory=set)
    """Case and session of rows that were set aside: the file holds them all the same."""
    first_rows: dict[int, int] = field(default_factory=dict)
    """Hash of case and session -> its row: a whole key per row would fill the memory."""

    def treatments(self, rows: Iterable[Taken]) -> Iterator[tuple[int, Treatment]]:
        """The good rows with their numbers; the others are set aside."""
        for number, found in rows:
            self.read += 1
            if isinstance(found, Aside):
                self._put_aside(found)
            elif reason := self._second(found, number):
                self._put_aside(Aside((reason,), (found.case, found.session)))
            else:
                found_doubts = doubts(number, found, self.measurements)
                self.doubted += len(found_doubts)
                self.doubts += found_doubts[: DETAILS - len(self.doubts)]
                self.without_last_seen += bool(found.outcomes) and found.watched_days is None
                yield number, self._as_held(found)

    def _put_aside(self, row: Aside) -> None:
        self.rows_set_aside += 1
        self.reasons += len(row.reasons)
        self.set_aside += row.reasons[: DETAILS - len(self.set_aside)]
        if row.key:
            case, session = row.key
            self.held.add((self.spellings.as_held(case, session), session))

    def _as_held(self, found: Treatment) -> Treatment:
        case = self.spellings.as_held(found.case, found.session)
        return found if case == found.case else replace(found, case=case)

    def _second(self, treatment: Treatment, number: int) -> SetAside | None:
        """Why a row must not go in although it can be read: its treatment is there already."""
        if self.spellings.differs(treatment):
            reason = "is in the register in other capital or small letters; write it in the same way."
            return SetAside(number, self.called.get("case", "case"), shortened(treatment.case), reason)
        first = self.first_rows.setdefault(_key(treatment.case, treatment.session), number)
        if first == number:
            return None
        reason = f"row {first} has the same case and session; only that one went in."
        return SetAside(number, self.called.get("session", "session"), str(treatment.session), reason)


def _key(case: str, session: int) -> int:
    """The same for a case in other capitals: it is set aside and not merged, since it may be a slip."""
    return hash((folded(case), session))


def import_file(
    register: Register,
    path: Path,
    *,
    columns: Mapping[str, str],
    reading: Reading,
    now: datetime,
    by: str,
    dry_run: bool = False,
    overwrite_by_hand: bool = False,
    wanted: Wanted | None = None,
    before_commit: Callable[[ImportResult], None] = lambda _: None,
) -> ImportResult:
    """Import one file of a kind in `intake.SOURCES`: CSV or XLSX.

    `columns` maps the file's headers to fields and outcomes; `by` is who imports. `wanted` names the sheet
    and the rows of the headers. A dry run reports what would change and changes nothing. What was entered
    by hand or from a diary stays, unless `overwrite_by_hand`. `before_commit` may still stop it all by an
    error of its own. Raises RegisterError when the file as a whole cannot be read or the register cannot
    be written; a bad row never raises.
    """
    intake = take(path, Asked(columns, reading, now.date(), wanted or Wanted()))
    results: list[ImportResult] = []
    try:
        with register.writing() as connection:
            work = _Pass(Spellings.of(connection), intake.called, reading.measurements)
            store = Store.begin(
                connection, at=now, by=by, kind="import", file=intake.file, digest=intake.digest
            )
            store.merging = _merging(intake, reading, overwrite_by_hand)
            results.append(_imported(store, intake, work, dry_run))
            if dry_run:
                raise _DryRun
            before_commit(results[0])
    except _DryRun:
        pass
    return results[0]


def _merging(intake: Intake, reading: Reading, overwrite_by_hand: bool) -> Merging:
    """What the file speaks of: a column that is not there says nothing, not even blank."""
    listed = reading.list_covers if "outcomes_seen" in intake.called else ()
    outcomes = frozenset((*intake.outcomes, *listed))
    return Merging(outcomes, frozenset(intake.called), intake.noticed, overwrite_by_hand)


def _imported(store: Store, intake: Intake, work: _Pass, dry_run: bool) -> ImportResult:
    before = store.count()
    treatments = work.treatments(intake.rows)
    while batch := list(islice(treatments, _BATCH)):
        store.put(batch)
    # a treatment whose good row went in is not held as it was, though another row of it is set aside
    held = store.holds(key for key in work.held if _key(*key) not in work.first_rows)
    store.finish(rows_read=work.read, set_aside=work.rows_set_aside)
    return ImportResult(
        file=intake.file,
        read=work.read,
        added=store.added,
        updated=store.updated,
        unchanged=store.unchanged,
        rows_set_aside=work.rows_set_aside,
        set_aside=tuple(work.set_aside),
        doubts=tuple(work.doubts),
        kept_older=held,
        not_in_file=before - store.updated - store.unchanged - held,
        ignored_columns=intake.ignored,
        dry_run=dry_run,
        more_set_aside=work.reasons - len(work.set_aside),
        more_doubts=work.doubted - len(work.doubts),
        differs=store.differs,
        overwritten=store.merging.overwrite_by_hand,
        blanked=store.merging.blanked,
        unread=tuple(sorted(store.merging.unread)),
        last_seen_read="last_seen" in intake.called,
        without_last_seen=work.without_last_seen,
        place=intake.place,
        repairs=intake.repairs.all(),
        more_repairs=intake.repairs.more,
        left_out=intake.left_out.all(),
    )


def set_aside_csv(result: ImportResult) -> str:
    """The rows set aside as CSV text, to be mended and imported again."""
    return aside_csv(result.set_aside, more=result.more_set_aside)
