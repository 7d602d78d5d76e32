"""The store: SQLite and PostgreSQL."""
