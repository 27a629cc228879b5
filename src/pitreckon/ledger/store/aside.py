"""Messages of devices of which it is not clear whose they are: kept until somebody says so, or their hour is over."""

import json
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete, select

from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.schema import settings, us_of, utc_of
from pitreckon.ledger.store.store import Store

_HEAD = "aside "


@dataclass(frozen=True, slots=True)
class AsideMessage:
    """A message as it came. label: the device's; kind: its content type; fits: ids of cooks that it fits"""

    label: str
    at_utc: datetime
    body: str
    kind: str
    fits: tuple[str, ...]
    key: str = ""


def keep_aside(store: Store, message: AsideMessage) -> str:
    """Keep a message; the key by which it is let go again."""
    key = f"{_HEAD}{us_of(message.at_utc):020d} {secrets.token_hex(4)}"
    content = {
        "label": message.label,
        "at_us": us_of(message.at_utc),
        "body": message.body,
        "kind": message.kind,
        "fits": message.fits,
    }
    store.write(lambda connection: put(connection, settings, {"name": key, "content": json.dumps(content)}))
    return key


def all_aside(store: Store) -> list[AsideMessage]:
    """Every message that is kept, in order of time."""
    asked = select(settings).where(settings.c.name.startswith(_HEAD)).order_by(settings.c.name)
    rows = store.read(lambda connection: connection.execute(asked).all())
    found = []
    for row in rows:
        kept = json.loads(row.content)
        at_utc, fits = utc_of(kept["at_us"]), tuple(kept["fits"])
        found.append(AsideMessage(kept["label"], at_utc, kept["body"], kept["kind"], fits, row.name))
    return found


def let_go(store: Store, keys: Collection[str]) -> None:
    """Keep these no longer."""
    if keys:
        store.write(lambda connection: connection.execute(delete(settings).where(settings.c.name.in_(list(keys)))))
