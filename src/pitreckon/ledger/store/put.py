"""One row in its place, whether there was one before or not: what every database here can do in one step."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite


def put(connection: Connection, table: Table, row: Mapping[str, Any]) -> None:
    """Insert a row; where there is one of its key, that takes its values."""
    make = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    keys = [column.name for column in table.primary_key]
    rest = {name: value for name, value in row.items() if name not in keys}
    statement = make(table).values(dict(row))
    if rest:
        connection.execute(statement.on_conflict_do_update(index_elements=keys, set_=rest))
    else:
        connection.execute(statement.on_conflict_do_nothing(index_elements=keys))
