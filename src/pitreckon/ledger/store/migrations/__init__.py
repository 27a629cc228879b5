"""The states of a store, and the steps from one to the next."""

from pathlib import Path

from alembic import op


def run_sql(name: str, **words: str) -> None:
    """Run the statements of a file in ``sql``, which stand apart by blank lines. words: for what is in braces."""
    text = (Path(__file__).parent / "sql" / f"{name}.sql").read_text(encoding="utf-8")
    for statement in (text.format(**words) if words else text).split("\n\n"):
        op.get_bind().exec_driver_sql(statement)
