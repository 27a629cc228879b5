"""The first state: cooks, their events, and the small tables of the page.

Written out as SQL and not made from the tables' module: that one moves on, this one never changes.
"""

from alembic import op

from pitreckon.ledger.store.migrations import run_sql

revision = "0001"
down_revision = None

_WORDS = {
    "sqlite": {"double": "DOUBLE", "without_rowid": "WITHOUT ROWID"},
    "postgresql": {"double": "DOUBLE PRECISION", "without_rowid": ""},
}


def upgrade() -> None:
    """Make the tables, and the triggers that keep events as they are."""
    kind = op.get_bind().dialect.name
    run_sql("0001", **_WORDS[kind])
    run_sql(f"0001-{kind}")
