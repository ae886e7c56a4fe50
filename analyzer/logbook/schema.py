"""The tables of a logbook.

What the analysis found and what the pilot wrote stand in columns of their own, so that analysing anew never touches an
edit. One log is one row of ``logbook_entries``; its bytes stand beside it, compressed, in ``logbook_files``.

Every change here needs a migration in ``migrations/versions`` (a test compares the two) and a new `HEAD`.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, ForeignKey, Integer, LargeBinary, MetaData, String, Table, Text

HEAD: Final = "0001"
"""The newest migration; they are numbered, so that an older program knows a newer logbook."""

VERSION_TABLE: Final = "logbook_version"
"""Where the migrations note how far they came; a name of its own, for a database that other programs share."""

metadata: Final = MetaData()

entries: Final = Table(
    "logbook_entries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sha256", String(64), nullable=False, unique=True),
    Column("log_name", Text, nullable=False),
    Column("added_at", String(32), nullable=False),
    # what the analysis found
    Column("started_at", String(40)),
    Column("log_place", Text, nullable=False),
    Column("motor_runs", Integer, nullable=False),
    Column("totals", Text, nullable=False),
    Column("summary", Text, nullable=False),
    Column("analyzer_version", String(40), nullable=False),
    Column("analysed_at", String(32), nullable=False),
    # what the pilot said
    Column("setup", Text),
    Column("coefficients", Text),
    Column("column_map", Text),
    Column("segmentation", Text),
    Column("propeller", Text, nullable=False, server_default=""),
    Column("place", Text, nullable=False, server_default=""),
    Column("day", String(10), nullable=False, server_default=""),
    Column("note", Text, nullable=False, server_default=""),
)

tags: Final = Table(
    "logbook_tags",
    metadata,
    Column("entry_id", Integer, ForeignKey("logbook_entries.id", ondelete="CASCADE"), primary_key=True),
    Column("key", String(100), primary_key=True),
    Column("value", Text, nullable=False),
)

files: Final = Table(
    "logbook_files",
    metadata,
    Column("entry_id", Integer, ForeignKey("logbook_entries.id", ondelete="CASCADE"), primary_key=True),
    Column("encoding", String(10), nullable=False),
    Column("size", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
)
