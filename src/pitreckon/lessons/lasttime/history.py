"""How often an item was cooked in a house, and what was otherwise from time to time: what a card has learned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.lessons.lasttime.differ import facts

MOST_TOLD: Final = 3
"""Changes from one time to the next that a card tells, the latest."""


@dataclass(frozen=True, slots=True)
class Since:
    """What was otherwise from one time to the next. cook: the later one's name; words: each thing; spans [s]: on the
    pit, this time and the time before
    """

    cook: str
    at_utc: datetime
    words: tuple[str, ...]
    on_s: float
    before_s: float


@dataclass(frozen=True, slots=True)
class History:
    """times: how often this cut was cooked, this time with it; changes: between them, the latest first"""

    times: int
    changes: tuple[Since, ...]


def history_of(done: FinishedItem, earlier: Sequence[FinishedItem]) -> History:
    """Of an item and the earlier ones of its cut; those of other cuts and later ones do not count."""
    before = [e for e in earlier if e.item.cut == done.item.cut and e.put_on_utc < done.put_on_utc]
    every = [*sorted(before, key=lambda each: each.put_on_utc), done]
    changes = [
        Since(
            later.cook.name,
            later.put_on_utc,
            tuple(each.words for each in facts(later, sooner)),
            (later.off_utc - later.put_on_utc).total_seconds(),
            (sooner.off_utc - sooner.put_on_utc).total_seconds(),
        )
        for sooner, later in pairwise(every)
    ]
    return History(len(every), tuple(reversed(changes[-MOST_TOLD:])))
