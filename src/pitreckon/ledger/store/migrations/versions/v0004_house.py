"""The fourth state: what the house has learned, and how cooks came out, have tables of their own.

Written out as SQL, as the others. On the way back all of it goes into settings of names that the third state does not
know; from there it comes again.
"""

import json
from typing import Any, Final

import sqlalchemy as sa
from alembic import op

from pitreckon.ledger.store.migrations import run_sql

revision = "0004"
down_revision = "0003"

_DOUBLE: Final = {"sqlite": "DOUBLE", "postgresql": "DOUBLE PRECISION"}
_HOUSE: Final = "house/"
_TABLES: Final = {
    "house_lessons": ("cook_id", "seq", "plan_version", "made_with", "ended_us", "learned_us", "content"),
    "left_out": ("cook_id", "said_us", "said_by"),
    "came_out": ("cook_id", "said_by", "said_us", "rating", "note"),
    "pits_anew": ("pit", "since_us", "said_us", "said_by"),
    "pits_said": ("id", "pit", "pit_kind", "what", "amount", "give", "since_us", "said_us", "said_by"),
}
_settings = sa.table("settings", sa.column("name"), sa.column("content"))
_cooks = sa.table("cooks", sa.column("id"))


def upgrade() -> None:
    """Make the tables, and take back into them what was in them once."""
    bind = op.get_bind()
    run_sql("0004", double=_DOUBLE[bind.dialect.name])
    there = set(bind.execute(sa.select(_cooks.c.id)).scalars())
    for name, columns in _TABLES.items():
        rows = [dict(zip(columns, row, strict=True)) for row in _taken(f"{_HOUSE}{name}")]
        rows = [row for row in rows if row.get("cook_id") is None or row["cook_id"] in there]
        if rows:
            bind.execute(sa.insert(_table(name)), rows)


def downgrade() -> None:
    """Put all of it by, and drop the tables."""
    bind = op.get_bind()
    for name in _TABLES:
        table = _table(name)
        rows = sorted(list(row) for row in bind.execute(sa.select(table)))
        if rows:
            bind.execute(sa.insert(_settings), {"name": f"{_HOUSE}{name}", "content": json.dumps(rows)})
        op.drop_table(name)


def _table(name: str) -> Any:
    return sa.table(name, *(sa.column(each) for each in _TABLES[name]))


def _taken(name: str) -> list[Any]:
    """What was put by under a name, which is a setting no longer."""
    kept: Any = op.get_bind().execute(sa.select(_settings.c.content).where(_settings.c.name == name)).scalar()
    op.get_bind().execute(sa.delete(_settings).where(_settings.c.name == name))
    return list(json.loads(kept or "[]"))
