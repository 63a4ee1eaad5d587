"""The table of what people could say of what they were told: one row for each question of a talk.

It names nobody but by the clinic's own reference, as treatments do. A marking is an entry of the history, and
is taken back as one: its rows stay and are counted no more.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, SmallInteger, String, Table, Text

from consentpack.register.schema import IMPORTS, METADATA

KIND = "talk-back"
"""The kind of entry in the history that brings marks."""

TALK_BACKS = Table(
    "talk_backs",
    METADATA,
    Column("import_id", ForeignKey(IMPORTS.c.id), primary_key=True),
    # what was asked, such as 'serious': one of each in a talk
    Column("question", String, primary_key=True),
    Column("case_ref", String, nullable=False),
    # the day of the talk; days since 1 January of year 1, as of treatments
    Column("day", Integer, nullable=False),
    Column("clinician", String, nullable=False),
    Column("language", String, nullable=False),
    # folder and id of the text that was asked about, and its digest as it was in the papers of the talk
    Column("module", String, nullable=False),
    Column("digest", String(64), nullable=False),
    # the sentence of the form that answers, as those papers had it
    Column("sentence", Text, nullable=False),
    # 2: said it; 1: said it after it was explained again; 0: not yet. What was not asked has no row
    Column("mark", SmallInteger, nullable=False),
    # SHA-256 of the row, by which it is told when something else has changed it
    Column("row_digest", String(64), nullable=False),
    Index("talk_backs_by_case", "case_ref", "day"),
)
