"""Where each outcome came from, and what a treatment was before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

from sqlalchemy import Connection, RowMapping, select

from consentpack.register.schema import (
    COMBINATIONS,
    IMPORTS,
    OUTCOME_SOURCES,
    RETREATED,
    FieldColumns,
    field_columns,
    outcome_columns,
    treatments,
)
from consentpack.register.treatment import Treatment, from_values

Kind = Literal["file", "hand", "diary"]
KINDS: Mapping[str, Kind] = {"import": "file", "entry": "hand", "diary": "diary"}
"""Kind of entry in the history -> the kind of source it is for what it brought."""

_SOME = 500  # older SQLite takes at most 999 values


@dataclass(frozen=True)
class Source:
    """Where one outcome of a treatment came from."""

    entry: int
    """The import or entry that brought it, by its number in the history."""
    kind: Kind
    looked: int | None = None
    """Days from the treatment to the look; None when a file says only when it was seen last."""


@dataclass(frozen=True)
class Held:
    """A treatment with all that the register knows of it."""

    treatment: Treatment
    added: Source
    """What brought the treatment, and every outcome that `sources` does not name."""
    sources: Mapping[str, Source] = field(default_factory=dict)
    watched_by_hand: int | None = None
    source_row: int | None = None
    stored: str = field(default="", compare=False)
    """The digest that the register had for it when it was read."""

    def source(self, outcome: str) -> Source:
        return self.sources.get(outcome, self.added)

    @property
    def digest(self) -> str:
        """How an unchanged row is known: values, and what was not brought by a file.

        A row that came from a file alone has the digest of its treatment.
        """
        return self.digest_over(self.treatment.as_json())

    def digest_over(self, treatment: str) -> str:
        """The digest when the treatment is written like this, as JSON."""
        if not self.sources and self.added.kind == "file" and self.watched_by_hand is None:
            return hashlib.sha256(treatment.encode()).hexdigest()  # as nearly all rows of an import
        found = {name: self.source(name) for name in self.treatment.outcomes}
        others = {name: [s.kind, s.looked] for name, s in found.items() if s.kind != "file"}
        if not others and self.watched_by_hand is None:
            return hashlib.sha256(treatment.encode()).hexdigest()
        more = json.dumps([others, self.watched_by_hand], sort_keys=True)
        return hashlib.sha256((treatment + more).encode()).hexdigest()

    @property
    def odd_digest(self) -> str | None:
        """What the register had for its digest, where that is not the one of its values: something else
        has changed it. None for what is as this program wrote it."""
        return self.stored if self.stored not in ("", self.digest) else None

    def as_json(self) -> str:
        """All but where it stands in a sheet."""
        values = self.treatment.values()
        values["_added"] = vars(self.added)
        values["_sources"] = {name: vars(source) for name, source in self.sources.items()}
        values["_watched_by_hand"] = self.watched_by_hand
        return json.dumps(values, sort_keys=True)


def held_from_json(text: str, source_row: int | None) -> Held:
    """What `as_json` wrote."""
    values = json.loads(text)
    added = Source(**values.pop("_added"))
    sources = {name: Source(**source) for name, source in values.pop("_sources").items()}
    watched = values.pop("_watched_by_hand")
    return Held(from_values(values), added, sources, watched, source_row)


def read_held(
    connection: Connection, ids: Sequence[int], more: FieldColumns | None = None
) -> dict[int, Held]:
    """Whole treatments by their ids in the register; `more` are the columns of its field, where known."""
    columns = outcome_columns(connection)
    more = more or field_columns(connection)
    table = treatments(columns, more)
    query = (
        select(table, COMBINATIONS.c.techniques, IMPORTS.c.kind)
        .join(COMBINATIONS, COMBINATIONS.c.id == table.c.combination_id)
        .join(IMPORTS, IMPORTS.c.id == table.c.added_by)
    )
    found: dict[int, Held] = {}
    for start in range(0, len(ids), _SOME):
        some = ids[start : start + _SOME]
        sources = _sources(connection, some, columns)
        for row in connection.execute(query.where(table.c.id.in_(some))).mappings():
            found[row["id"]] = held_of(row, columns, sources.get(row["id"], {}), more)
    return found


def _sources(
    connection: Connection, ids: Sequence[int], columns: Mapping[str, str]
) -> dict[int, dict[str, Source]]:
    names = {int(column[1:]): name for name, column in columns.items()}
    query = (
        select(OUTCOME_SOURCES, IMPORTS.c.kind).join(IMPORTS).where(OUTCOME_SOURCES.c.treatment_id.in_(ids))
    )
    found: dict[int, dict[str, Source]] = {}
    for row in connection.execute(query):
        source = Source(row.import_id, KINDS[row.kind], row.looked_days)
        found.setdefault(row.treatment_id, {})[names[row.outcome_id]] = source
    return found


def held_of(
    row: RowMapping, columns: Mapping[str, str], sources: Mapping[str, Source], more: FieldColumns
) -> Held:
    """A treatment from its row, with the techniques and the kind of what added it."""
    noticed = _there(row, more.days)
    again = noticed.pop(RETREATED, None)
    treatment = Treatment(
        case=row["case_ref"],
        session=row["session"],
        day=date.fromordinal(row["day"]),
        techniques=tuple(row["techniques"].split("+")),
        site=row["site"],
        watched_days=row["watched_days"],
        outcomes=_there(row, columns),
        operator=row["operator"],
        strata=_there(row, more.strata),
        measurements=_there(row, more.measurements),
        noticed=noticed,
        retreated_days=again,
    )
    added = Source(row["added_by"], KINDS[row["kind"]])
    return Held(treatment, added, sources, row["watched_by_hand"], row["source_row"], row["row_digest"])


def _there(row: RowMapping, columns: Mapping[str, str]) -> dict[str, Any]:
    return {name: row[column] for name, column in columns.items() if row[column] is not None}
