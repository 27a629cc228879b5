"""A cook as it stands: its plan, its ledger and what is reckoned of it, asked in a page's terms."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Literal

from pitreckon.alerts.instruments import pit_of, setting_of
from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.reckon import Outlook

Standing = Literal["not on", "on", "off", "served"]


@dataclass(frozen=True)
class Scene:
    """Everything that a page of a cook is made of.

    outlook: None: not reckoned yet; now: the moment of the page
    """

    cook: Cook
    ledger: Ledger
    outlook: Outlook | None
    now: datetime

    @cached_property
    def _planned(self) -> dict[str, str]:
        return {item.label: item.pit for item in self.cook.items}

    def pit_of(self, label: str) -> str | None:
        """The pit that an item is on; None: it is not on, or off again."""
        return pit_of(self.ledger, label, self._planned[label])

    def set_c(self, pit: str) -> float:
        """What a pit is set to now [degC]."""
        planned = next(each.set_c for each in self.cook.pits if each.label == pit)
        return setting_of(self.ledger, pit, planned)[0]

    def standing(self, label: str) -> Standing:
        """How far an item has come, by what was recorded of the whole of it."""
        acts = [act for act in self.ledger.acts(label) if act.piece is None]
        if any(act.act == "served" for act in acts):
            return "served"
        if self.pit_of(label) is not None:
            return "on"
        return "off" if any(act.act != "moved" for act in acts) else "not on"
