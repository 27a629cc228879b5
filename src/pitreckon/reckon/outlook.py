"""What is reckoned: marks and windows with their spread, as frozen records without any presentation."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pitreckon.reckon.quantiles import Spread
from pitreckon.units import instant_after

MARK_NAMES = ("colour_set", "tender", "glaze_set", "ready", "past_best")


@dataclass(frozen=True, slots=True)
class StageOutlook:
    """One stage of an item.

    kind: open, wrapped, sauced, rest or hold; until: what ends it, in words; until_core_c: the core temperature
        that does [degC], if one does; wrap: what is on the piece
    begins_s, ends_s: since put-on [s]; done: the ledger says it is over; now: share of the members in it now
    """

    kind: str
    until: str
    until_core_c: float | None
    wrap: str | None
    begins_s: Spread
    ends_s: Spread
    done: bool
    now: float


@dataclass(frozen=True, slots=True)
class ItemOutlook:
    """One item: where it is and where it is heading.

    put_on_utc: zero of its seconds; put_on_planned: it is not on yet
    marks: spread of each of ``MARK_NAMES`` [s since put-on]
    core_c, loss_fraction, colour, gelatin: now; loss is water lost as a share of the raw weight, colour a level
        of the colour scale (0 raw, 1 set, 1.3 too dark)
    pit_c: air at the grate now; on_time: chance that it is ready, and not past its best, at serving
    least_core: share of the members whose core reaches the official minimum before ready
    effective: members that still count; tempered: share of the evidence that was used
    notes: what the cook should know, in plain sentences
    """

    label: str
    cut: str
    cut_name: str
    pieces: int
    put_on_utc: datetime
    put_on_planned: bool
    stages: tuple[StageOutlook, ...]
    marks: dict[str, Spread]
    core_c: Spread
    loss_fraction: Spread
    colour: Spread
    gelatin: Spread
    pit_c: Spread
    on_time: float | None
    least_core: float
    effective: float
    tempered: float
    failed: int
    notes: tuple[str, ...]

    def instant(self, seconds: float) -> datetime:
        """UTC instant of a time since this item's put-on."""
        return instant_after(self.put_on_utc, seconds)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Everything reckoned at one moment; a pure function of cook, ledger, moment, members and seed."""

    cook: str
    zone: str
    now_utc: datetime
    serve_utc: datetime | None
    members: int
    seed: int
    items: tuple[ItemOutlook, ...]
    rejected: tuple[str, ...]

    def item(self, label: str) -> ItemOutlook:
        """The item of this label. Raises KeyError when there is none."""
        for item in self.items:
            if item.label == label:
                return item
        raise KeyError(label)
