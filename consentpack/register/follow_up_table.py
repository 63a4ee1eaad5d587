"""The table of who is asked no more: treatments marked as lost to follow-up, or as followed elsewhere.

Nothing is counted by it. A mark is an entry of the history, and is taken back as one: its rows stay and hold
no more. Rows are only ever added: what is marked last about a treatment holds.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, String, Table

from consentpack.register.schema import IMPORTS, METADATA

KIND = "follow-up"
"""The kind of entry in the history that brings these marks."""

FOLLOW_UPS = Table(
    "follow_ups",
    METADATA,
    Column("import_id", ForeignKey(IMPORTS.c.id), primary_key=True),
    # by the clinic's own reference and not by number: an import that is taken back and made again finds it
    Column("case_ref", String, primary_key=True),
    Column("session", Integer, primary_key=True),
    # the day from which it holds; days since 1 January of year 1, as of treatments
    Column("day", Integer, nullable=False),
    # 'lost', 'elsewhere', or 'again': to be asked as before
    Column("how", String, nullable=False),
    # who follows it up, one word of a list and never a name; empty unless 'elsewhere'
    Column("followed_by", String, nullable=False),
    # SHA-256 of the row, by which it is told when something else has changed it
    Column("row_digest", String(64), nullable=False),
    Index("follow_ups_by_case", "case_ref", "session"),
)
