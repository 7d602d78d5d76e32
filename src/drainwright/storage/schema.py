"""The tables, the same on SQLite and PostgreSQL; migrations make them, this module names them.

A document's row holds what lists need, derived from its current revision. What counts is in
`revision`: nothing there is ever changed or deleted.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import sqlalchemy as sa

HEAD = "0003"
"""The schema this program writes: the newest migration."""
APPLICATION_ID = 0x4457_4C31
"""Marks an SQLite file as ours."""


class UtcTime(sa.TypeDecorator[dt.datetime]):
    """A time with its zone, kept in UTC."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: sa.Dialect) -> Any:
        """To UTC; SQLite keeps text and no zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a stored time needs its zone")
        utc = value.astimezone(dt.UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: Any, dialect: sa.Dialect) -> dt.datetime | None:
        """Back with its zone."""
        del dialect
        if value is None:
            return None
        time: dt.datetime = value
        return time.replace(tzinfo=dt.UTC) if time.tzinfo is None else time.astimezone(dt.UTC)


# compared byte by byte on both: SQLite's default, and "C" whatever the server's collation is
Word = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

metadata = sa.MetaData()

projects = sa.Table(
    "project",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("key", Word, nullable=False, unique=True),
    sa.Column("changes", sa.Integer, nullable=False, server_default=sa.text("0")),
)

# the order of lists, so that a page is read from an index alone
_HOME = ("project_id", "kind")
_ORDER = ("withdrawn", "sort_key", "key", "id")

documents = sa.Table(
    "document",
    metadata,
    sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("project_id", sa.ForeignKey("project.id"), nullable=False),
    sa.Column("kind", Word, nullable=False),
    sa.Column("key", Word, nullable=False),
    sa.Column("sort_key", Word, nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("withdrawn", sa.Boolean, nullable=False),
    sa.Column("lateral_key", Word, nullable=False),
    sa.Column("segment", Word, nullable=False),
    sa.Column("street", Word, nullable=False),
    sa.Column("stage", Word, nullable=False),
    sa.Column("fitness", Word, nullable=False),
    sa.Column("dated", sa.Date),
    sa.Column("brief", sa.Text, nullable=False, server_default=sa.text("''")),
    sa.UniqueConstraint("project_id", "kind", "key", name="document_key"),
    sa.Index("document_order", *_HOME, *_ORDER, "stage", "fitness"),
    sa.Index("document_lateral", *_HOME, "lateral_key"),
    sa.Index("document_segment", *_HOME, "segment", *_ORDER),
    sa.Index("document_street", *_HOME, "street", *_ORDER),
    sa.Index("document_stage", *_HOME, "withdrawn", "stage", "fitness"),
)

revisions = sa.Table(
    "revision",
    metadata,
    sa.Column("document_id", sa.ForeignKey("document.id"), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("content", sa.Text, nullable=False),
    sa.Column("sha256", sa.String(64), nullable=False),
    sa.Column("withdrawn", sa.Boolean, nullable=False),
    sa.Column("made_at", UtcTime, nullable=False),
    sa.Column("made_by", sa.Text, nullable=False),
    sa.Column("origin", sa.Text, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
)

words = sa.Table(
    "word",
    metadata,
    sa.Column("project_id", sa.ForeignKey("project.id"), primary_key=True),
    sa.Column("kind", Word, primary_key=True),
    sa.Column("word", Word, primary_key=True),
    sa.Column("document_id", sa.ForeignKey("document.id"), primary_key=True),
    sa.Index("word_document", "document_id"),
    sqlite_with_rowid=False,
)

entries = sa.Table(
    "entry",
    metadata,
    sa.Column("project_id", sa.ForeignKey("project.id"), primary_key=True),
    sa.Column("device", Word, primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("id", sa.String(36), nullable=False, unique=True),
    sa.Column("text", sa.Text, nullable=False),
    sa.Column("sha256", sa.String(64), nullable=False),
    sa.Column("received_at", UtcTime, nullable=False),
    sa.Column("received_by", sa.Text, nullable=False),
    sa.Column("origin", sa.Text, nullable=False),
    sa.Column("lateral_key", Word, nullable=False, server_default=sa.text("''")),
    # derived from the text; "" where it names no lateral
    sa.Index("entry_lateral", "project_id", "lateral_key"),
)

attachments = sa.Table(
    "attachment",
    metadata,
    sa.Column("project_id", sa.ForeignKey("project.id"), primary_key=True),
    sa.Column("sha256", sa.String(64), primary_key=True),
    sa.Column("size", sa.BigInteger, nullable=False),
    sa.Column("media", sa.Text, nullable=False),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("taken", sa.Text, nullable=False),
    sa.Column("latitude", sa.Double),
    sa.Column("longitude", sa.Double),
    sa.Column("made_at", UtcTime, nullable=False),
    sa.Column("made_by", sa.Text, nullable=False),
    sa.Column("origin", sa.Text, nullable=False),
    sa.Column("reason", sa.Text, nullable=False),
)
