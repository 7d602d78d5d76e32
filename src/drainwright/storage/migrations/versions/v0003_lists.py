"""What lists show of a document, beside it; indexes in the lists' order; a count of changes.

Spelled out in full, as every migration: what `kinds` takes today is what this one takes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_PORTION = 500
_FIELDS = {
    "lateral": ("address", "street", "tap_distance", "tap_clock"),
    "segment": ("from_manhole", "to_manhole", "inside_diameter", "length", "street", "material"),
}
_REASON = ("outcome", "rule", "words", "distance")
_ORDER = ("withdrawn", "sort_key", "key", "id")
_INDEXES = {
    "document_order": (*_ORDER, "stage", "fitness"),
    "document_segment": ("segment", *_ORDER),
    "document_street": ("street", *_ORDER),
}
_NEXT = sa.text(
    "SELECT document.id, document.kind, revision.content FROM document"
    " JOIN revision ON revision.document_id = document.id"
    " AND revision.number = document.revision"
    " WHERE document.kind IN ('lateral', 'segment', 'work_sheet') AND document.id > :last"
    " ORDER BY document.id LIMIT :portion"
)
_SET = sa.text("UPDATE document SET brief = :brief WHERE id = :id")


def upgrade() -> None:
    """Add the columns and fill `brief` from each document's current revision."""
    op.add_column(
        "document", sa.Column("brief", sa.Text, nullable=False, server_default=sa.text("''"))
    )
    op.add_column(
        "project", sa.Column("changes", sa.Integer, nullable=False, server_default=sa.text("0"))
    )
    for name, columns in _INDEXES.items():
        op.drop_index(name, "document")
        op.create_index(name, "document", ["project_id", "kind", *columns])
    connection, last = op.get_bind(), 0
    while True:
        rows = connection.execute(_NEXT, {"last": last, "portion": _PORTION}).all()
        filled = [{"id": row.id, "brief": _brief(row.kind, row.content)} for row in rows]
        if filled:
            connection.execute(_SET, filled)
        if len(rows) < _PORTION:
            return
        last = rows[-1].id


def _brief(kind: str, text: str) -> str:
    try:
        content = json.loads(text)
        if kind == "work_sheet":
            told: Mapping[str, Any] = {
                "reasons": [_picked(one, _REASON) for one in content.get("reasons", ())]
            }
        else:
            told = _picked(content, _FIELDS[kind])
    except (ValueError, TypeError, AttributeError):
        return ""  # a damaged text: `verify` tells of it, the upgrade does not stop for it
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def _picked(content: Mapping[str, Any], names: tuple[str, ...]) -> Mapping[str, Any]:
    return {name: content[name] for name in names if name in content}
