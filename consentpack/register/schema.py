"""The tables of the register, and opening it."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    DateTime,
    Engine,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    create_engine,
    event,
)
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from consentpack.errors import Problem, RegisterError

METADATA = MetaData()

IMPORTS = Table(
    "imports",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("at", DateTime, nullable=False),
    Column("file_name", String, nullable=False),
    Column("file_digest", String(64), nullable=False),
    Column("rows_read", Integer, nullable=False),
    Column("added", Integer, nullable=False),
    Column("updated", Integer, nullable=False),
    Column("unchanged", Integer, nullable=False),
    Column("set_aside", Integer, nullable=False),
)

TREATMENTS = Table(
    "treatments",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("case_ref", String, nullable=False),
    Column("session", Integer, nullable=False),
    Column("day", Date, nullable=False, index=True),
    Column("site", String, nullable=False),
    Column("skin_type", String),
    # days from treatment to the last time the patient was seen; empty when never seen again
    Column("watched_days", Integer),
    Column("row_digest", String(64), nullable=False),
    Column("import_id", ForeignKey("imports.id"), nullable=False),
    UniqueConstraint("case_ref", "session"),
)

TECHNIQUES = Table(
    "treatment_techniques",
    METADATA,
    Column("treatment_id", ForeignKey("treatments.id"), primary_key=True),
    Column("technique", String, primary_key=True),
    Index("by_technique", "technique", "treatment_id"),
)

OUTCOMES = Table(
    "treatment_outcomes",
    METADATA,
    # no row at all means: not recorded. Blank is never read as "no".
    Column("treatment_id", ForeignKey("treatments.id"), primary_key=True),
    Column("outcome", String, primary_key=True),
    Column("seen", Boolean, nullable=False),
)


def open_register(url: str, *, create: bool = False) -> Engine | None:
    """The register at a database URL; None when it does not exist yet and `create` is False.

    Raises RegisterError when it cannot be opened.
    """
    try:
        parsed = make_url(url)
        if parsed.get_backend_name() == "sqlite":
            return _open_sqlite(url, str(parsed.database), create)
        engine = create_engine(url)
        if create:
            METADATA.create_all(engine)
        return engine
    except (ArgumentError, SQLAlchemyError, ModuleNotFoundError) as error:
        reason = str(error).splitlines()[0]
        where = make_url(url).render_as_string(hide_password=True) if "://" in url else url
        what = f"the register cannot be opened ({reason})."
        raise RegisterError(Problem(where, what, "See 'register' in clinic.toml.")) from None


def _open_sqlite(url: str, database: str, create: bool) -> Engine | None:
    if not create and not Path(database).is_file():
        return None
    # no pool: a kept connection would go on reading a file that has been replaced
    engine = create_engine(url, poolclass=NullPool)
    event.listen(engine, "connect", lambda raw, _: raw.execute("PRAGMA foreign_keys = ON"))
    if create:
        METADATA.create_all(engine)
    return engine
