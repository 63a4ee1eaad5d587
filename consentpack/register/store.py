"""Writing treatments: added, changed or left alone, always under the import that brought them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, RowMapping, Table, bindparam, func, insert, select, update

from consentpack.register.rows import Treatment
from consentpack.register.schema import (
    CHANGES,
    COMBINATIONS,
    IMPORTS,
    add_outcomes,
    outcome_columns,
    treatments,
)

Numbered = tuple[int | None, Treatment]
"""A treatment with its row in the spreadsheet; None when it was entered by hand."""


@dataclass
class Store:
    """One import or entry while it is being written."""

    connection: Connection
    import_id: int
    added: int = 0
    updated: int = 0
    unchanged: int = 0
    keep_changes: bool = True
    """False while an import is taken back: that is not a change of its own."""
    _combinations: dict[tuple[str, ...], int] = field(default_factory=dict)

    @classmethod
    def begin(
        cls, connection: Connection, *, at: datetime, by: str, kind: str, file: str, digest: str
    ) -> Store:
        """Record that an import or entry begins."""
        counts = dict.fromkeys(("rows_read", "added", "updated", "unchanged", "set_aside"), 0)
        values = {"at": at, "by": by, "kind": kind, "file_name": file, "file_digest": digest} | counts
        made = connection.execute(insert(IMPORTS).values(undone=False, **values))
        return cls(connection, int(made.inserted_primary_key[0]))  # type: ignore[index]

    def count(self) -> int:
        """How many treatments the register holds."""
        return int(self.connection.execute(select(func.count()).select_from(treatments({}))).scalar_one())

    def holds(self, keys: Iterable[tuple[str, int] | None]) -> int:
        """How many of some treatments were in the register before this import touched anything."""
        wanted = {key for key in keys if key}
        known = self._known(treatments({}), {case for case, _ in wanted})
        return sum(known[key]["added_by"] != self.import_id for key in wanted if key in known)

    def put(self, batch: Sequence[Numbered]) -> None:
        """Write a batch. Unchanged treatments are left alone."""
        columns = add_outcomes(self.connection, sorted({name for _, t in batch for name in t.outcomes}))
        table = treatments(columns)
        known = self._known(table, {treatment.case for _, treatment in batch})
        new, changed = [], []
        for number, treatment in batch:
            row = known.get((treatment.case, treatment.session))
            if row is None:
                new.append(self._values(number, treatment, columns) | {"added_by": self.import_id})
            elif row["row_digest"] != treatment.digest:
                changed.append((row, number, treatment))
        if new:
            self.connection.execute(insert(table), new)
        if changed:
            self._change(table, columns, changed)
        self.added += len(new)
        self.updated += len(changed)
        self.unchanged += len(batch) - len(new) - len(changed)

    def finish(self, *, rows_read: int, set_aside: int) -> None:
        """Complete the record of this import."""
        counts = {"added": self.added, "updated": self.updated, "unchanged": self.unchanged}
        statement = update(IMPORTS).where(IMPORTS.c.id == self.import_id)
        self.connection.execute(statement.values(rows_read=rows_read, set_aside=set_aside, **counts))

    def _known(self, table: Table, cases: Iterable[str]) -> dict[tuple[str, int], RowMapping]:
        """Treatments of some cases already in the register, by case and session."""
        listed, found = sorted(cases), {}
        names = ("id", "case_ref", "session", "row_digest", "added_by", "source_row")
        columns = [table.c[name] for name in names]
        for start in range(0, len(listed), 500):  # older SQLite takes at most 999 values
            some = table.c.case_ref.in_(listed[start : start + 500])
            for row in self.connection.execute(select(*columns).where(some)).mappings():
                found[row["case_ref"], row["session"]] = row
        return found

    def _change(
        self,
        table: Table,
        columns: dict[str, str],
        changed: Sequence[tuple[RowMapping, int | None, Treatment]],
    ) -> None:
        """Update treatments, keeping what they were."""
        if self.keep_changes:
            self._keep({row["id"]: row["source_row"] for row, _, _ in changed})
        values = [
            self._values(number, treatment, columns) | {"_id": row["id"]}
            for row, number, treatment in changed
        ]
        names = [name for name in values[0] if name != "_id"]
        statement = update(table).where(table.c.id == bindparam("_id"))
        self.connection.execute(statement.values({n: bindparam(n) for n in names}), values)

    def _keep(self, source_rows: dict[int, int | None]) -> None:
        """Keep what treatments are before they are changed; their ids -> their rows in a sheet."""
        kept = [
            {
                "import_id": self.import_id,
                "case_ref": before.case,
                "session": before.session,
                "before": before.as_json(),
                "source_row": source_rows[id],
            }
            for id, before in read_treatments(self.connection, list(source_rows)).items()
        ]
        self.connection.execute(insert(CHANGES), kept)

    def _values(self, number: int | None, treatment: Treatment, columns: dict[str, str]) -> dict[str, Any]:
        """A treatment as column values; an outcome that was not recorded is empty."""
        outcomes = {column: treatment.outcomes.get(name) for name, column in columns.items()}
        return {
            "case_ref": treatment.case,
            "session": treatment.session,
            "day": treatment.day.toordinal(),
            "site": treatment.site,
            "skin_type": treatment.skin_type,
            "watched_days": treatment.watched_days,
            "operator": treatment.operator,
            "gauge": treatment.gauge,
            "volume_ml": treatment.volume_ml,
            "source_row": number,
            "row_digest": treatment.digest,
            "combination_id": self._combination(treatment.techniques),
            **outcomes,
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


def read_treatments(connection: Connection, ids: Sequence[int]) -> dict[int, Treatment]:
    """Whole treatments by their ids in the register."""
    columns = outcome_columns(connection)
    table = treatments(columns)
    query = select(table, COMBINATIONS.c.techniques).join(
        COMBINATIONS, COMBINATIONS.c.id == table.c.combination_id
    )
    found = {}
    for start in range(0, len(ids), 500):
        some = query.where(table.c.id.in_(ids[start : start + 500]))
        for row in connection.execute(some).mappings():
            found[row["id"]] = _treatment(row, columns)
    return found


def _treatment(row: RowMapping, columns: dict[str, str]) -> Treatment:
    outcomes = {name: row[column] for name, column in columns.items() if row[column] is not None}
    return Treatment(
        case=row["case_ref"],
        session=row["session"],
        day=date.fromordinal(row["day"]),
        techniques=tuple(row["techniques"].split("+")),
        site=row["site"],
        skin_type=row["skin_type"],
        watched_days=row["watched_days"],
        outcomes=outcomes,
        operator=row["operator"],
        gauge=row["gauge"],
        volume_ml=row["volume_ml"],
    )
