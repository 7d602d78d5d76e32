"""Projects, documents, revisions, words, field entries, attachments.

Never imports the tables of `schema`: a migration stays what it was.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    _documents()
    _beside_documents()


def _documents() -> None:
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "project",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("key", text, nullable=False, unique=True),
    )
    op.create_table(
        "document",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("project_id", sa.Integer, sa.ForeignKey("project.id"), nullable=False),
        sa.Column("kind", text, nullable=False),
        sa.Column("key", text, nullable=False),
        sa.Column("sort_key", text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("lateral_key", text, nullable=False),
        sa.Column("segment", text, nullable=False),
        sa.Column("street", text, nullable=False),
        sa.Column("stage", text, nullable=False),
        sa.Column("fitness", text, nullable=False),
        sa.Column("dated", sa.Date),
        sa.UniqueConstraint("project_id", "kind", "key", name="document_key"),
    )
    for name, columns in {
        "document_order": ["withdrawn", "sort_key", "key"],
        "document_lateral": ["lateral_key"],
        "document_segment": ["segment"],
        "document_street": ["street"],
        "document_stage": ["withdrawn", "stage", "fitness"],
    }.items():
        op.create_index(name, "document", ["project_id", "kind", *columns])
    op.create_table(
        "revision",
        sa.Column("document_id", sa.Integer, sa.ForeignKey("document.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
    )
    op.create_table(
        "word",
        sa.Column("project_id", sa.Integer, sa.ForeignKey("project.id"), primary_key=True),
        sa.Column("kind", text, primary_key=True),
        sa.Column("word", text, primary_key=True),
        sa.Column("document_id", sa.Integer, sa.ForeignKey("document.id"), primary_key=True),
        sqlite_with_rowid=False,
    )
    op.create_index("word_document", "word", ["document_id"])


def _beside_documents() -> None:
    text = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.create_table(
        "entry",
        sa.Column("project_id", sa.Integer, sa.ForeignKey("project.id"), primary_key=True),
        sa.Column("device", text, primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("received_by", sa.Text, nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
    )
    op.create_table(
        "attachment",
        sa.Column("project_id", sa.Integer, sa.ForeignKey("project.id"), primary_key=True),
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.Column("media", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("taken", sa.Text, nullable=False),
        sa.Column("latitude", sa.Double),
        sa.Column("longitude", sa.Double),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
    )
