"""Alembic's way in: the steps run in the transaction of the connection that ``upgrade`` hands over."""

from alembic import context

from pitreckon.ledger.store.schema import VERSION_TABLE, metadata


def run() -> None:
    """Run the steps that are due."""
    context.configure(
        connection=context.config.attributes["connection"], target_metadata=metadata, version_table=VERSION_TABLE
    )
    context.run_migrations()


if __name__ == "env_py":  # the name that Alembic gives this file; any other import only reads it
    run()
