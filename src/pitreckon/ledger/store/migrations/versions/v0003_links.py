"""The third state: entries are linked, an alert is told to each address, meat is described.

Each cook keeps the link of its latest entry (see ``ledger.store.links``), and each thousandth is kept beside it, so
that a byte that was changed in the file is found, and where. Entries of before are linked here, as they stand.

Written out as SQL, as the others. On the way back the addresses and what was said of the meat go into settings of names
that the second state does not know; from there they come again. Links are made anew; what a session knew of its
browser goes.
"""

import hashlib
import json
from typing import Any

import sqlalchemy as sa
from alembic import op

from pitreckon.ledger.store.migrations import run_sql

revision = "0003"
down_revision = "0002"

_EVERY = 1000
_TOLD_TO, _MEAT = "told to/", "meat said/"
_SAID = ("cook_id", "item", "number", "words", "said_us", "said_by")
_LINKED = (
    *("seq", "id", "at_us", "recorded_us", "kind", "what", "on_label", "piece", "value", "rejected"),
    *("source_line", "of_id", "body", "by_whom"),
)
_settings = sa.table("settings", sa.column("name"), sa.column("content"))
_cooks = sa.table("cooks", sa.column("id"), sa.column("link"))
_seals = sa.table("seals", sa.column("cook_id"), sa.column("seq"), sa.column("link"))
_told = sa.table("told_alerts", sa.column("cook_id"), sa.column("alert_key"))
_told_to = sa.table("told_to", sa.column("cook_id"), sa.column("alert_key"), sa.column("address"))
_meat = sa.table("meat_said", *(sa.column(name) for name in _SAID))
_events = sa.table("events", sa.column("cook_id"), *(sa.column(name) for name in _LINKED))


def upgrade() -> None:
    """Make the columns and tables, link what is there, and take the told alerts over."""
    run_sql("0003")
    for (cook_id,) in op.get_bind().execute(sa.select(_cooks.c.id)).all():
        _link(cook_id)
        _take_told_over(cook_id)
        for said in _taken(f"{_MEAT}{cook_id}"):
            op.get_bind().execute(sa.insert(_meat), dict(zip(_SAID, said, strict=True)))
    op.drop_table("told_alerts")


def downgrade() -> None:
    """Drop the links; an alert that some address took was told."""
    run_sql("0003-back")
    bind = op.get_bind()
    for (cook_id,) in bind.execute(sa.select(_cooks.c.id)).all():
        asked = sa.select(_told_to.c.alert_key, _told_to.c.address).where(_told_to.c.cook_id == cook_id)
        found = sorted((key, address) for key, address in bind.execute(asked))
        for key in sorted({key for key, _ in found}):
            bind.execute(sa.insert(_told), {"cook_id": cook_id, "alert_key": key})
        _keep(f"{_TOLD_TO}{cook_id}", [[key, address] for key, address in found if address])
        said = sa.select(*(_meat.c[name] for name in _SAID)).where(_meat.c.cook_id == cook_id)
        _keep(f"{_MEAT}{cook_id}", sorted(list(row) for row in bind.execute(said)))
    op.drop_table("meat_said")
    op.drop_table("told_to")
    op.drop_table("seals")
    op.drop_column("sessions", "browser")
    op.drop_column("cooks", "link")


def _link(cook_id: str) -> None:
    bind, after = op.get_bind(), 0
    link = hashlib.sha256(f"pitreckon ledger {cook_id}".encode()).hexdigest()
    while True:
        asked = sa.select(*(_events.c[name] for name in _LINKED)).where(
            _events.c.cook_id == cook_id, _events.c.seq > after
        )
        rows = bind.execute(asked.order_by(_events.c.seq).limit(_EVERY)).all()
        for row in rows:
            text = json.dumps(list(row), ensure_ascii=False, separators=(",", ":"))
            link = hashlib.sha256((link + text).encode()).hexdigest()
            if row.seq % _EVERY == 0:
                bind.execute(sa.insert(_seals), {"cook_id": cook_id, "seq": row.seq, "link": link})
        if len(rows) < _EVERY:
            break
        after = rows[-1].seq
    bind.execute(sa.update(_cooks).where(_cooks.c.id == cook_id).values(link=link))


def _keep(name: str, rows: list[Any]) -> None:
    if rows:
        op.get_bind().execute(sa.insert(_settings), {"name": name, "content": json.dumps(rows)})


def _taken(name: str) -> list[Any]:
    """What was kept under a name, which is a setting no longer."""
    kept: Any = op.get_bind().execute(sa.select(_settings.c.content).where(_settings.c.name == name)).scalar()
    op.get_bind().execute(sa.delete(_settings).where(_settings.c.name == name))
    return list(json.loads(kept or "[]"))


def _take_told_over(cook_id: str) -> None:
    bind = op.get_bind()
    told = [tuple(each) for each in _taken(f"{_TOLD_TO}{cook_id}")]
    named = {key for key, _ in told}
    keys = bind.execute(sa.select(_told.c.alert_key).where(_told.c.cook_id == cook_id)).scalars().all()
    told += [(key, "") for key in keys if key not in named]
    for key, address in told:
        bind.execute(sa.insert(_told_to), {"cook_id": cook_id, "alert_key": key, "address": address})
