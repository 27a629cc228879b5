"""The mixes of the house: each a mix file's text under a key, with the names of the mixes in it."""

from collections.abc import Mapping
from typing import Final

from sqlalchemy import Connection, delete, insert, select, text

from pitreckon.forms.checks import is_label
from pitreckon.ledger.store.documents import check_long_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.records import MixRow
from pitreckon.ledger.store.schema import mix_parts, mixes
from pitreckon.ledger.store.store import Store

_LONGEST_MIX: Final = 200_000


def all_mixes(store: Store) -> dict[str, MixRow]:
    """Every mix by its key, in the order of the keys."""
    return store.read(_all)


def change_mixes(
    store: Store, seen: Mapping[str, MixRow], *, save: MixRow | None = None, drop: str | None = None
) -> bool:
    """Keep a mix in place of the one of its key, or throw one away, if all mixes are still as they were seen.

    What may be in what is for the caller to know, and it takes all of them: so nothing is done, and False returned,
    where somebody else was quicker.

    Raises InputError: a name or a text that no store can keep.
    """
    if save is not None:
        is_label("name", save.name)
        check_long_text("mix", save.mix_toml, _LONGEST_MIX)

    def work(connection: Connection) -> bool:
        if connection.dialect.name == "postgresql":  # SQLite has one writer anyway
            connection.execute(text("LOCK TABLE mixes IN SHARE ROW EXCLUSIVE MODE"))
        if _all(connection) != dict(seen):
            return False
        gone = drop if save is None else save.id
        connection.execute(delete(mix_parts).where(mix_parts.c.mix_id == gone))
        if save is None:
            connection.execute(delete(mixes).where(mixes.c.id == gone))
            return True
        put(connection, mixes, {"id": save.id, "name": save.name, "mix_toml": save.mix_toml})
        parts = [{"mix_id": save.id, "place": n, "part_name": name} for n, name in enumerate(save.parts)]
        if parts:
            connection.execute(insert(mix_parts), parts)
        return True

    return store.write(work)


def _all(connection: Connection) -> dict[str, MixRow]:
    parts: dict[str, list[str]] = {}
    for row in connection.execute(select(mix_parts).order_by(mix_parts.c.mix_id, mix_parts.c.place)):
        parts.setdefault(row.mix_id, []).append(row.part_name)
    rows = connection.execute(select(mixes).order_by(mixes.c.id))
    return {row.id: MixRow(row.id, row.name, row.mix_toml, tuple(parts.get(row.id, ()))) for row in rows}
