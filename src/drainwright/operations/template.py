"""An empty, explained table to be filled in (read; needs no store)."""

from __future__ import annotations

from drainwright.errors import NotFoundError
from drainwright.exchange.columns import TABLES
from drainwright.exchange.templates import template_csv, template_xlsx
from drainwright.units import UnitSystem

KINDS = tuple(TABLES)


def template(kind: str, *, form: str, units: UnitSystem) -> bytes:
    """The template of one kind as `csv` or `xlsx`; `NotFoundError` for another."""
    if form == "csv":
        return template_csv(kind, units)
    if form == "xlsx":
        return template_xlsx(kind, units)
    raise NotFoundError(f"a template can't be written as {form}; choose csv or xlsx")
