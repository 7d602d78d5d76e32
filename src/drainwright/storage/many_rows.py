"""One statement for many rows, prepared once and given to the driver as it is.

SQLAlchemy would make each row's parameters anew, which takes longer than storing them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import Any

import sqlalchemy as sa

Rows = Sequence[Mapping[str, Any]]
Convert = Callable[[Any], Any]


def execute_many(
    connection: sa.Connection, statement: sa.Insert | sa.Update | sa.Delete, rows: Rows
) -> None:
    """Execute for each row; all rows have the same names as the first."""
    names = tuple(rows[0])
    dialect = connection.dialect
    compiled = statement.compile(dialect=dialect, column_keys=_set(statement, names))
    convert = _converters(statement.table, names, dialect)
    given: list[Any] = [
        {**row, **{name: to(row[name]) for name, to in convert.items()}} if convert else row
        for row in rows
    ]
    if compiled.positional:
        order = compiled.positiontup or []
        given = (
            list(map(itemgetter(*order), given))
            if len(order) > 1
            else [(row[order[0]],) for row in given]
        )
    connection.exec_driver_sql(str(compiled), given)


def _set(statement: sa.Insert | sa.Update | sa.Delete, names: Sequence[str]) -> list[str] | None:
    """The columns that get a value; the others are of the condition."""
    if isinstance(statement, sa.Delete):
        return None
    columns = statement.table.c
    return [name for name in names if name in columns]


@lru_cache(maxsize=64)
def _converters(
    table: sa.Table, names: tuple[str, ...], dialect: sa.Dialect
) -> Mapping[str, Convert]:
    """What turns a value into the driver's, for the columns that need it."""
    found: dict[str, Convert] = {}
    for name in names:
        if name in table.c:
            convert = table.c[name].type.dialect_impl(dialect).bind_processor(dialect)
            if convert is not None:
                found[name] = convert
    return found
