"""Each field entry gets the lateral it names, so that a lateral's entries are found at once.

Never imports the program's own modules: a migration stays what it was.
"""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
PORTION = 1000


def upgrade() -> None:
    """Add the column, fill it from the entries' texts, and index it."""
    word = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
    op.add_column(
        "entry", sa.Column("lateral_key", word, nullable=False, server_default=sa.text("''"))
    )
    entry = sa.table("entry", sa.column("id"), sa.column("text"), sa.column("lateral_key"))
    connection = op.get_bind()
    last = ""
    while True:
        found = connection.execute(
            sa.select(entry.c.id, entry.c.text)
            .where(entry.c.id > last)
            .order_by(entry.c.id)
            .limit(PORTION)
        ).all()
        rows = [{"of": row.id, "lateral": _lateral(row.text)} for row in found]
        rows = [row for row in rows if row["lateral"]]
        if rows:
            change = sa.update(entry).where(entry.c.id == sa.bindparam("of"))
            connection.execute(change.values(lateral_key=sa.bindparam("lateral")), rows)
        if len(found) < PORTION:
            break
        last = found[-1].id
    op.create_index("entry_lateral", "entry", ["project_id", "lateral_key"])


def _lateral(text: str) -> str:
    try:
        found = json.loads(text)
    except ValueError:
        return ""
    lateral = found.get("lateral") if isinstance(found, dict) else None
    return lateral if isinstance(lateral, str) and lateral.isprintable() else ""
