"""What the page's process tells a worker about a cook: which one, as it stands, and how it is or was reckoned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.ledger.store import Store
from pitreckon.web.live.plans import cook_of

Moment = tuple[int, datetime]
"""Number of the last entry that counted, and the server's clock."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A cook as it stands. The process reads its ledger itself: a long one would be slow to send.

    store: where it is kept; seq: number of the last entry that counts
    house: what the house had learned when it began, as one word; "": nothing, or it is reckoned without that
    """

    store: str
    cook_id: str
    plan_toml: str
    seq: int
    seed: int
    house: str = ""

    def plan(self) -> Cook:
        """Its plan, read."""
        return cook_of(self.plan_toml)

    def whole_ledger(self) -> Ledger:
        """Every reading of it, not one in ten seconds."""
        with Store.open(self.store) as store:
            return store.ledger(self.cook_id)


@dataclass(frozen=True, slots=True)
class Again:
    """How a cook was reckoned, or is to be: with it anybody reckons the same to the bit.

    now: by the server's clock; members: of each ensemble
    since: what it goes on from: when the whole was reckoned, then when parts of it were run again; none: it is whole
    """

    now: datetime
    members: int
    since: tuple[Moment, ...] = ()
