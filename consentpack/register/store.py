"""Writing treatments: added, changed or left alone, always under the import that brought them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from operator import itemgetter
from types import MappingProxyType
from typing import Any

from sqlalchemy import Connection, RowMapping, Table, bindparam, delete, func, insert, select, update

from consentpack.register.merging import Differs, Merging
from consentpack.register.provenance import KINDS, Held, Source, read_held
from consentpack.register.schema import (
    CHANGES,
    COMBINATIONS,
    IMPORTS,
    OUTCOME_SOURCES,
    RETREATED,
    TAKEN_BACK,
    FieldColumns,
    add_field_columns,
    add_outcomes,
    treatments,
)
from consentpack.register.treatment import Treatment

Numbered = tuple[int | None, Treatment]
"""A treatment with its row in the spreadsheet; None when it was entered by hand."""


@dataclass(frozen=True)
class Back:
    """A treatment as it was and is to be again."""

    id: int | None
    """Its number among the treatments, where that was kept; it has it still where it is still there."""
    held: Held
    odd_digest: str | None
    """As `Held.odd_digest`."""

    @property
    def key(self) -> tuple[str, int]:
        return self.held.treatment.case, self.held.treatment.session


_SOME = 500  # older SQLite takes at most 999 values


@dataclass
class Store:
    """One import or entry while it is being written."""

    connection: Connection
    source: Source
    """What this import or entry is for what it brings."""
    merging: Merging = field(default_factory=Merging)
    """How a file's row and what is in the register become one."""
    added: int = 0
    updated: int = 0
    unchanged: int = 0
    _combinations: dict[tuple[str, ...], int] = field(default_factory=dict)

    @classmethod
    def begin(
        cls, connection: Connection, *, at: datetime, by: str, kind: str, file: str, digest: str
    ) -> Store:
        """Record that an import or entry begins."""
        counts = dict.fromkeys(("rows_read", "added", "updated", "unchanged", "set_aside"), 0)
        values = {"at": at, "by": by, "kind": kind, "file_name": file, "file_digest": digest} | counts
        made = connection.execute(insert(IMPORTS).values(undone=False, **values))
        return cls(connection, Source(int(made.inserted_primary_key[0]), KINDS[kind]))  # type: ignore[index]

    @property
    def differs(self) -> tuple[Differs, ...]:
        """What was entered by hand and is something else in the file."""
        return tuple(self.merging.differs)

    def count(self) -> int:
        """How many treatments the register holds."""
        return int(self.connection.execute(select(func.count()).select_from(treatments({}))).scalar_one())

    def holds(self, keys: Iterable[tuple[str, int] | None]) -> int:
        """How many of some treatments were in the register before this import touched anything."""
        wanted = {key for key in keys if key}
        known = self._known({case for case, _ in wanted})
        return sum(known[key]["added_by"] != self.source.entry for key in wanted if key in known)

    def put(self, batch: Sequence[Numbered]) -> None:
        """Write a batch of a file's rows. Unchanged treatments are left alone."""
        known = self._known({treatment.case for _, treatment in batch})
        new, others = [], []
        for number, treatment in batch:
            row = known.get((treatment.case, treatment.session))
            if row is None:
                new.append(Held(treatment, self.source, source_row=number))
            elif row["row_digest"] != treatment.digest:
                others.append((row["id"], row["row_digest"], number, treatment))
        before = read_held(self.connection, [id for id, *_ in others])
        changed = {}
        for id, digest, number, treatment in others:
            after = self.merging.merged(before[id], treatment, number, self.source)
            if after.digest != digest:
                changed[id] = (before[id], after)
        self.add(new)
        self.change(changed)
        self.unchanged += len(batch) - len(new) - len(changed)

    def add(self, new: Sequence[Held]) -> None:
        """Put new treatments into the register."""
        if new:
            columns, more = self._columns(new), self._more(new)
            made = [self._values(each, columns, more) | {"added_by": self.source.entry} for each in new]
            insert_all(self.connection, treatments(columns, more), made)
        self.added += len(new)

    def change(self, changed: dict[int, tuple[Held, Held]]) -> None:
        """Change treatments, by id in the register; what they were is kept."""
        if changed:
            kept = [
                {
                    "import_id": self.source.entry,
                    "case_ref": before.treatment.case,
                    "session": before.treatment.session,
                    "before": before.as_json(),
                    "source_row": before.source_row,
                    "row_digest": before.odd_digest,
                }
                for before, _ in changed.values()
            ]
            self.connection.execute(insert(CHANGES), kept)
            self.write({id: after for id, (_, after) in changed.items()})
        self.updated += len(changed)

    def write(self, rows: dict[int, Held], odd: Mapping[int, str] = MappingProxyType({})) -> None:
        """Make treatments, by id in the register, what is given; `odd` are digests that are not those of
        the values, by id."""
        columns, more = self._columns(rows.values()), self._more(rows.values())
        table = treatments(columns, more)
        values = [self._values(held, columns, more) | {"_id": id} for id, held in rows.items()]
        for row in values:
            row["row_digest"] = odd.get(row["_id"], row["row_digest"])
        names = [name for name in values[0] if name != "_id"]
        statement = update(table).where(table.c.id == bindparam("_id"))
        self.connection.execute(statement.values({n: bindparam(n) for n in names}), values)
        self._write_sources(rows, columns)

    def remove_added_after(self, last: int) -> None:
        """Take out the treatments that came after an import or entry."""
        table = treatments({})
        later = select(table.c.id).where(table.c.added_by > last)
        self.connection.execute(delete(OUTCOME_SOURCES).where(OUTCOME_SOURCES.c.treatment_id.in_(later)))
        self.connection.execute(delete(table).where(table.c.added_by > last))

    def put_back(self, rows: Sequence[Back]) -> None:
        """Make treatments what they were, whether they are still there or not."""
        held = [row.held for row in rows]
        columns, more = self._columns(held), self._more(held)
        known = self._known({each.treatment.case for each in held})
        there = [known[row.key]["id"] if row.key in known else None for row in rows]
        self._take_out([id for id in there if id is not None])
        free = self._free_ids()
        ids = [id or row.id or next(free) for id, row in zip(there, rows, strict=True)]
        values = [
            self._values(row.held, columns, more)
            | {"id": id, "added_by": row.held.added.entry}
            | ({"row_digest": row.odd_digest} if row.odd_digest else {})
            for id, row in zip(ids, rows, strict=True)
        ]
        self.connection.execute(insert(treatments(columns, more)), values)
        self._write_sources(dict(zip(ids, held, strict=True)), columns)

    def _take_out(self, ids: Sequence[int]) -> None:
        table = treatments({})
        for start in range(0, len(ids), _SOME):
            some = ids[start : start + _SOME]
            of_these = OUTCOME_SOURCES.c.treatment_id.in_(some)
            self.connection.execute(delete(OUTCOME_SOURCES).where(of_these))
            self.connection.execute(delete(table).where(table.c.id.in_(some)))

    def _free_ids(self) -> Iterator[int]:
        """Numbers that no treatment has or had, for one that something else has taken out."""
        used = (treatments({}).c.id, TAKEN_BACK.c.treatment_id)
        yield from count(1 + max(self.connection.scalar(select(func.max(each))) or 0 for each in used))

    def _write_sources(self, rows: dict[int, Held], columns: dict[str, str]) -> None:
        ids = list(rows)
        for start in range(0, len(ids), _SOME):
            some = OUTCOME_SOURCES.c.treatment_id.in_(ids[start : start + _SOME])
            self.connection.execute(delete(OUTCOME_SOURCES).where(some))
        found = [
            {
                "treatment_id": id,
                "outcome_id": int(columns[name][1:]),
                "import_id": source.entry,
                "looked_days": source.looked,
            }
            for id, held in rows.items()
            for name, source in held.sources.items()
        ]
        if found:
            self.connection.execute(insert(OUTCOME_SOURCES), found)

    def finish(self, *, rows_read: int, set_aside: int) -> None:
        """Complete the record of this import."""
        counts = {"added": self.added, "updated": self.updated, "unchanged": self.unchanged}
        statement = update(IMPORTS).where(IMPORTS.c.id == self.source.entry)
        self.connection.execute(statement.values(rows_read=rows_read, set_aside=set_aside, **counts))

    def _columns(self, rows: Iterable[Held]) -> dict[str, str]:
        """The outcome columns, with those made that some rows need."""
        return add_outcomes(
            self.connection, sorted({name for row in rows for name in row.treatment.outcomes})
        )

    def _more(self, rows: Iterable[Held]) -> FieldColumns:
        """The columns of what is kept beside outcomes, with those made that some rows need."""
        found = [row.treatment for row in rows]
        return add_field_columns(
            self.connection,
            strata=sorted({name for each in found for name in each.strata}),
            measurements=sorted({name for each in found for name in each.measurements}),
            days=sorted({name for each in found for name in _days(each)}),
        )

    def _known(self, cases: Iterable[str]) -> dict[tuple[str, int], RowMapping]:
        """Treatments of some cases already in the register, by case and session."""
        listed, found = sorted(cases), {}
        table: Table = treatments({})
        columns = [table.c[name] for name in ("id", "case_ref", "session", "row_digest", "added_by")]
        for start in range(0, len(listed), _SOME):
            some = table.c.case_ref.in_(listed[start : start + _SOME])
            for row in self.connection.execute(select(*columns).where(some)).mappings():
                found[row["case_ref"], row["session"]] = row
        return found

    def _values(self, held: Held, columns: dict[str, str], more: FieldColumns) -> dict[str, Any]:
        """A treatment as column values; what was not recorded is empty."""
        treatment = held.treatment
        get, days = treatment.outcomes.get, _days(treatment)
        return {
            "case_ref": treatment.case,
            "session": treatment.session,
            "day": treatment.day.toordinal(),
            "site": treatment.site,
            "watched_days": treatment.watched_days,
            "watched_by_hand": held.watched_by_hand,
            "operator": treatment.operator,
            "source_row": held.source_row,
            "row_digest": held.digest,
            "combination_id": self._combination(treatment.techniques),
            **{column: get(name) for name, column in columns.items()},
            **{column: treatment.strata.get(name) for name, column in more.strata.items()},
            **{column: treatment.measurements.get(name) for name, column in more.measurements.items()},
            **{column: days.get(name) for name, column in more.days.items()},
        }

    def _combination(self, techniques: tuple[str, ...]) -> int:
        """The id of a combination of techniques, made when it is new."""
        if techniques not in self._combinations:
            name = "+".join(techniques)
            query = select(COMBINATIONS.c.id).where(COMBINATIONS.c.techniques == name)
            id = self.connection.execute(query).scalar()
            if id is None:
                made = self.connection.execute(insert(COMBINATIONS).values(techniques=name))
                id = made.inserted_primary_key[0]  # type: ignore[index]
            self._combinations[techniques] = int(id)
        return self._combinations[techniques]


def insert_all(connection: Connection, table: Table, rows: Sequence[dict[str, Any]]) -> None:
    """Rows with the same columns, whose values are those of the database: SQLAlchemy would go over each of
    them once more."""
    made = insert(table).compile(dialect=connection.dialect, column_keys=list(rows[0]))
    order = made.positiontup
    values: Any = list(map(itemgetter(*order), rows)) if order else list(rows)
    connection.exec_driver_sql(str(made), values)


def _days(treatment: Treatment) -> dict[str, int]:
    """When each outcome was first noticed, and when the place was treated again, as the register keeps it."""
    again = treatment.retreated_days
    return dict(treatment.noticed) if again is None else {**treatment.noticed, RETREATED: again}
