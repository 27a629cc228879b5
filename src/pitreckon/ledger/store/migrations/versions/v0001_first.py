"""The first state: cooks, their events, and the small tables of the page.

Written out and not made from the tables' module: that one moves on, this one never changes.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_FORBID = {
    "sqlite": [
        f"""CREATE TRIGGER events_no_{verb} BEFORE {verb.upper()} ON events
        BEGIN SELECT RAISE(ABORT, 'the ledger only grows'); END"""
        for verb in ("update", "delete")
    ],
    "postgresql": [
        """CREATE FUNCTION events_only_grow() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION 'the ledger only grows'; END $$""",
        """CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON events
        FOR EACH STATEMENT EXECUTE FUNCTION events_only_grow()""",
    ],
}


def upgrade() -> None:
    """Make the tables, and the triggers that keep events as they are."""
    op.create_table(
        "cooks",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("plan_toml", sa.Text, nullable=False),
        sa.Column("plan_version", sa.Integer, nullable=False),
        sa.Column("created_us", sa.BigInteger, nullable=False),
        sa.Column("last_seq", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_cooks"),
    )
    op.create_table(
        "events",
        sa.Column("cook_id", sa.String(64), nullable=False),
        sa.Column("seq", sa.BigInteger, nullable=False, autoincrement=False),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("at_us", sa.BigInteger, nullable=False),
        sa.Column("recorded_us", sa.BigInteger, nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("on_label", sa.Text, nullable=False),
        sa.Column("piece", sa.Integer),
        sa.Column("value", sa.Double),
        sa.Column("rejected", sa.Text),
        sa.Column("source_line", sa.Integer),
        sa.Column("of_id", sa.String(64)),
        sa.Column("body", sa.Text),
        sa.Column("by_whom", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("cook_id", "seq", name="pk_events"),
        sa.ForeignKeyConstraint(["cook_id"], ["cooks.id"], name="fk_events_cook_id"),
        sa.CheckConstraint("kind IN ('reading', 'look', 'act', 'correction')", name=op.f("ck_events_kind")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_events_cook_id_id", "events", ["cook_id", "id"], unique=True)
    of_some = sa.text("of_id IS NOT NULL")
    op.create_index(
        "ix_events_cook_id_of_id",
        "events",
        ["cook_id", "of_id"],
        sqlite_where=of_some,
        postgresql_where=of_some,
    )
    op.create_table(
        "people",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("password_hash", sa.Text, nullable=False),
        sa.Column("prefs", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
        sa.UniqueConstraint("name", name="uq_people_name"),
    )
    op.create_table(
        "devices",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("token_hash", sa.Text, nullable=False),
        sa.Column("cook_id", sa.String(64)),
        sa.Column("created_us", sa.BigInteger, nullable=False),
        sa.Column("revoked_us", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        sa.UniqueConstraint("token_hash", name="uq_devices_token_hash"),
        sa.ForeignKeyConstraint(["cook_id"], ["cooks.id"], name="fk_devices_cook_id"),
    )
    op.create_table(
        "sessions",
        sa.Column("id_hash", sa.String(128), nullable=False),
        sa.Column("person_id", sa.String(64), nullable=False),
        sa.Column("created_us", sa.BigInteger, nullable=False),
        sa.Column("last_seen_us", sa.BigInteger, nullable=False),
        sa.Column("expires_us", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id_hash", name="pk_sessions"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_sessions_person_id", ondelete="CASCADE"),
    )
    op.create_index("ix_sessions_person_id", "sessions", ["person_id"])
    op.create_table(
        "acknowledged",
        sa.Column("cook_id", sa.String(64), nullable=False),
        sa.Column("alert_key", sa.String(200), nullable=False),
        sa.Column("at_us", sa.BigInteger, nullable=False),
        sa.Column("by_whom", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("cook_id", "alert_key", name="pk_acknowledged"),
        sa.ForeignKeyConstraint(["cook_id"], ["cooks.id"], name="fk_acknowledged_cook_id"),
    )
    op.create_table(
        "settings",
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
    for statement in _FORBID[op.get_bind().dialect.name]:
        op.execute(statement)
