"""Alembic's entry: runs the migrations inside the transaction that `upgrade` has opened."""

from __future__ import annotations

from alembic import context

from drainwright.storage.upgrade import VERSION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    version_table=VERSION_TABLE,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
