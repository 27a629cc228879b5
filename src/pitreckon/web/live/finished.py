"""Which items of a cook are done, and which other cooks of the same cut are: for the card, and for last time."""

from dataclasses import dataclass
from datetime import datetime

from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Act
from pitreckon.ledger.events import OFF_ACTS
from pitreckon.ledger.store import CookRow
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.state import AppState

MOST_LOOKED_AT, LAST_ACTS, MOST_OFFERED = 60, 200, 12


def done_items(app_state: AppState, cook_id: str) -> tuple[str, ...]:
    """Labels of the items of a cook that are off the pit."""
    ledger = app_state.following.ledger(cook_id)
    plan = app_state.live_cook(cook_id)
    return tuple(i.label for i in plan.items if any(act.act in OFF_ACTS for act in ledger.acts(i.label)))


@dataclass(frozen=True, slots=True)
class Other:
    """A cook of the same cut. key: of it in an address; item: its label; at: when it is served, or begins"""

    row: CookRow
    item: str
    at: datetime
    date: str

    @property
    def key(self) -> str:
        """Cook and item in one word."""
        return f"{self.row.id}/{self.item}"


def others_of(app_state: AppState, row: CookRow, cook: Cook, item: str) -> list[Other]:
    """Cooks of the cut of an item that are off the pit: those before it first, the latest first."""
    cut = next(each.cut for each in cook.items if each.label == item)
    mine = cook.serve_utc or cook.start_utc
    found = []
    for each in app_state.store.cooks()[:MOST_LOOKED_AT]:
        if each.id == row.id:
            continue
        try:
            plan = cook_of(each.plan_toml)
        except PitreckonError:
            continue
        labels = [other.label for other in plan.items if other.cut == cut]
        if not labels or not each.last_seq:
            continue
        entries = app_state.store.entries(each.id, limit=LAST_ACTS, kinds=("act",), newest_first=True)
        acts = [e.event for e in entries if isinstance(e.event, Act) and e.corrected_by is None]
        off = {act.on for act in acts if act.act in OFF_ACTS}
        at = plan.serve_utc or plan.start_utc
        date = at.astimezone(plan.zone_info).strftime("%Y-%m-%d")
        found += [Other(each, label, at, date) for label in labels if label in off]
    return sorted(found, key=lambda other: (other.at > mine, -other.at.timestamp()))[:MOST_OFFERED]
