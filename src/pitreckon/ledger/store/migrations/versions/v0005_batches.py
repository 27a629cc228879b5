"""The fifth state: batches that were made for sale are recorded, linked as entries are.

Written out as SQL, as the others. On the way back the records go into a setting of a name that the fourth state does
not know; from there they come again.
"""

import json
from typing import Any, Final

import sqlalchemy as sa
from alembic import op

from pitreckon.ledger.store.migrations import run_sql

revision = "0005"
down_revision = "0004"

_PUT_BY: Final = "batches/records"
_COLUMNS: Final = ("seq", "lot", "content", "recorded_us", "by_whom", "link")
_settings = sa.table("settings", sa.column("name"), sa.column("content"))
_batches = sa.table("batches", *(sa.column(name) for name in _COLUMNS))


def upgrade() -> None:
    """Make the table, and take back into it what was in it once."""
    bind = op.get_bind()
    run_sql("0005")
    run_sql(f"0005-{bind.dialect.name}")
    kept: Any = bind.execute(sa.select(_settings.c.content).where(_settings.c.name == _PUT_BY)).scalar()
    bind.execute(sa.delete(_settings).where(_settings.c.name == _PUT_BY))
    rows = [dict(zip(_COLUMNS, row, strict=True)) for row in json.loads(kept or "[]")]
    if rows:
        bind.execute(sa.insert(_batches), rows)


def downgrade() -> None:
    """Put the records by, and drop the table."""
    bind = op.get_bind()
    rows = sorted(list(row) for row in bind.execute(sa.select(*(_batches.c[name] for name in _COLUMNS))))
    if rows:
        bind.execute(sa.insert(_settings), {"name": _PUT_BY, "content": json.dumps(rows)})
    op.drop_table("batches")
    if bind.dialect.name == "postgresql":
        op.execute("DROP FUNCTION batches_only_grow()")
