"""What is reckoned: marks and windows with their spread, as frozen records without any presentation."""

import math
from dataclasses import dataclass
from datetime import datetime

from pitreckon.reckon.quantiles import Quantiles
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
    begins_s: Quantiles
    ends_s: Quantiles
    done: bool
    now: float


@dataclass(frozen=True, slots=True)
class Window:
    """When an act on an item can be done, and when it is too late for it.

    act: put on, wrap, unwrap, sauce, put back, take off or hold; wrap: what it is wrapped in then
    until: what the cook waits for, in words after "when"; until_core_c: the core temperature that it is [degC], if
        it is one
    opens_s, closes_s: since put-on [s]; closes_by: what makes it too late, in words, "" when nothing does
    open_now, too_late_now: chance of each at the outlook's moment; what is too late has been open
    """

    act: str
    wrap: str | None
    until: str
    until_core_c: float | None
    opens_s: Quantiles
    closes_s: Quantiles
    closes_by: str
    open_now: float
    too_late_now: float


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do on a trip, to all pieces of an item, or to a pit.

    item: the item's label, the pit's for what is done to its fire; act, wrap, until, until_core_c: as of its window,
        or one of ``fires.FIRE_ACTS``; pit: whose lid has to be opened, None: none
    open: chance that it can be done when the trip is at its time
    again_utc: when to come again if it cannot be done yet; None: it almost surely can
    planned_utc: when the plan has it; None: it does not say
    note: how it is done, in words; until_utc: up to when it is done again and again, None: once; every_s: [s] how often
    waited_for: what ``until`` was, where the cook has seen that it is there
    """

    item: str
    pieces: int
    act: str
    wrap: str | None
    pit: str | None
    until: str
    until_core_c: float | None
    open: float
    again_utc: datetime | None
    planned_utc: datetime | None = None
    note: str = ""
    every_s: float | None = None
    until_utc: datetime | None = None
    waited_for: str = ""


@dataclass(frozen=True, slots=True)
class Trip:
    """One walk to the pit, with everything to be done on it.

    at_utc: the time at which it is told everywhere: where the plan has one, that of the plan as long as the meat keeps
        to it, then when the thing can be done in half of the members; without a plan that of the least expected cost
    from_utc: from when a look is worth it; by_utc: the last time that is about as good
    """

    at_utc: datetime
    from_utc: datetime
    by_utc: datetime
    tasks: tuple[Task, ...]


@dataclass(frozen=True, slots=True)
class NextLook:
    """What a look, or two, at an item would buy: its running stage's end would be known so much better.

    kinds: of looks, all at each time; at_utc: when, one or two; width_s: 5 to 95 % of the stage's end as it is known
    now; after_s: expected once the looks are told
    """

    kinds: tuple[str, ...]
    at_utc: tuple[datetime, ...]
    width_s: float
    after_s: float


@dataclass(frozen=True, slots=True)
class ItemOutlook:
    """One item: where it is and where it is heading.

    put_on_utc: zero of its seconds; put_on_planned: it is not on yet
    marks: spread of each of ``MARK_NAMES`` [s since put-on]
    first_ready, last_ready: of its pieces [s since put-on]; the marks are those of any one of them
    core_c, loss_fraction, colour, gelatin: now; loss is water lost as a share of the raw weight, colour a level
        of the colour scale (0 raw, 1 set, 1.3 too dark)
    pit_c: air at the grate now; grate_k: how far the air round the piece lies over the pit's readout [K]
    on_time: chance that all its pieces are ready, and it is not past its best, at serving
    least_core: share of the members whose core reaches the official minimum before ready
    ess: members that still count; tempering_exponent: share of the evidence that was used
    notes: what the cook should know, in plain sentences
    windows: of the acts to come, in their order
    next_look: the look that would narrow its next window most; None: none buys a tenth
    ready_by: chance that all its pieces are ready by serving; at_best: that it is not past its best then
    spoils_by: what likeliest makes it past its best by then, "" where nothing does
    served_utc: when it was served, as recorded; None: it is not; serve_utc: when it is to be; None: not said
    """

    label: str
    cut: str
    cut_name: str
    pieces: int
    put_on_utc: datetime
    put_on_planned: bool
    stages: tuple[StageOutlook, ...]
    marks: dict[str, Quantiles]
    first_ready: Quantiles
    last_ready: Quantiles
    core_c: Quantiles
    loss_fraction: Quantiles
    colour: Quantiles
    gelatin: Quantiles
    pit_c: Quantiles
    grate_k: Quantiles
    on_time: float | None
    least_core: float
    ess: float
    tempering_exponent: float
    failed: int
    notes: tuple[str, ...]
    windows: tuple[Window, ...] = ()
    next_look: NextLook | None = None
    ready_by: float | None = None
    at_best: float | None = None
    spoils_by: str = ""
    served_utc: datetime | None = None
    serve_utc: datetime | None = None

    @property
    def stands_ready(self) -> bool:
        """Whether the ledger has it through its course: there is nothing left but to hold and to serve it."""
        return bool(self.stages) and all(stage.done for stage in self.stages if stage.kind != "hold")

    def instant(self, seconds: float) -> datetime:
        """UTC instant of a time since this item's put-on."""
        return instant_after(self.put_on_utc, seconds)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Everything reckoned at one moment; a pure function of cook, ledger, moment, members and seed.

    trips: of the cook to the pit, in order; the first is reckoned from where the meat is, those after it as if
        each act before were done the moment it can be
    thinking_again: it is a first answer, from members of the one before; the full one is on its way
    """

    cook: str
    zone: str
    now_utc: datetime
    serve_utc: datetime | None
    members: int
    seed: int
    items: tuple[ItemOutlook, ...]
    rejected: tuple[str, ...]
    trips: tuple[Trip, ...] = ()
    thinking_again: bool = False

    @property
    def free_until_utc(self) -> datetime | None:
        """Until when there is nothing to do at the pit; None: nothing more is to come."""
        return self.trips[0].from_utc if self.trips else None

    @property
    def be_back_utc(self) -> datetime | None:
        """By when the cook should be back at the pit; None: nothing more is to come."""
        return self.trips[0].by_utc if self.trips else None

    @property
    def on_time(self) -> float | None:
        """Chance that all items are on time, as if they did not hang together; None: no serving time."""
        chances = [item.on_time for item in self.items if item.on_time is not None]
        return math.prod(chances) if chances else None

    @property
    def ready_by(self) -> float | None:
        """Chance that all items are ready by serving, as if they did not hang together; None: no serving time."""
        chances = [item.ready_by for item in self.items if item.ready_by is not None]
        return math.prod(chances) if chances else None

    @property
    def at_best(self) -> float | None:
        """Chance that no item is past its best at serving, as if they did not hang together; None: no serving time."""
        chances = [item.at_best for item in self.items if item.at_best is not None]
        return math.prod(chances) if chances else None

    @property
    def served_utc(self) -> datetime | None:
        """When the last item was served; None: not all are."""
        served = [item.served_utc for item in self.items]
        return None if None in served or not served else max(at for at in served if at is not None)

    def item(self, label: str) -> ItemOutlook:
        """The item of this label. Raises KeyError when there is none."""
        for item in self.items:
            if item.label == label:
                return item
        raise KeyError(label)
