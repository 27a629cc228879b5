"""What a planned day is: when what goes on which pit, who does what when, and how sure it is.

Records only; they are what sheets, pages and the command line show.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from pitreckon import catalog
from pitreckon.cook.plan import StagePlan
from pitreckon.plan.fuel.tending import Tending
from pitreckon.plan.wishes import Wishes
from pitreckon.text.said import said


@dataclass(frozen=True, slots=True)
class Span:
    """An instant with its spread: 5, 50 and 95 % [UTC]."""

    p05: datetime
    p50: datetime
    p95: datetime


@dataclass(frozen=True, slots=True)
class Call:
    """A thing to be done.

    act: put on, wrap, unwrap, sauce, put back, take off, hold or serve, or one of ``TENDING`` or light, of a fire
    on: the item's or the pit's label
    at_utc: when, as planned; for_s: [s] how long it keeps one pair of hands
    wrap: what it is wrapped in, for wrap; note: how it is done, in words
    """

    at_utc: datetime
    act: str
    on: str
    for_s: float = 0.0
    wrap: str = ""
    note: str = ""

    @property
    def words(self) -> str:
        """What is done, in a cook's words; what it is done to stands in ``on``."""
        if self.act == "do":
            return self.note
        if self.act == "wrap" and self.wrap:
            wrap = said(catalog.wrap(self.wrap).name.partition(",")[0].lower())
            return said("{doing} in {wrap}", doing=said("wrap"), wrap=wrap)
        return said(ACT_WORDS.get(self.act, self.act))


ACT_WORDS = {
    "hold": "into the warm place",
    "put back": "put back on",
    "feed": "feed the fire",
    "water": "top up the water pan",
    "ash": "knock the ash down",
}
TENDING: Final = frozenset({"feed", "water", "ash", "shut down", "do"})
"""What a fire wants beside being lit, and what is done beside the meat: it has no pair of hands kept for it."""


@dataclass(frozen=True, slots=True)
class Trip:
    """One walk to the pit with all that is done on it."""

    at_utc: datetime
    calls: tuple[Call, ...]


TELLS: Final = 0.06
"""Chances closer than this are the same on the scenarios of a plan of many items."""
SMALLEST: Final = "The smallest change that does it"
NO_TENDING: Final = Tending()


@dataclass(frozen=True, slots=True)
class PlannedPit:
    """A pit that is used. set_c: [degC] for the whole occasion; lit_utc: None where it burns already; fuel_kg.

    wants: fuel, water and ash while it burns
    """

    label: str
    kind: str
    set_c: float
    lit_utc: datetime | None
    off_utc: datetime
    fuel_kg: float
    wants: Tending = NO_TENDING


@dataclass(frozen=True, slots=True)
class Alone:
    """A fire that nobody is with, from one moment to another [UTC].

    words: of it, and what a careful cook does; counts_on: what the promise counts on, where its fuel does not last so
    long, "" where it does
    """

    pit: str
    from_utc: datetime
    until_utc: datetime
    words: str
    counts_on: str = ""


@dataclass(frozen=True, slots=True)
class PlannedItem:
    """An item as planned.

    stages: its course on the pit and its rest, without the hold
    off_utc: by then its last piece is off the pit in 95 of 100 scenarios; ready: when its last piece can be served
    hold_s: [s] how long its first piece is held, mean; chance: that it alone is on time
    """

    label: str
    cut: str
    pieces: int
    mass_kg: float
    pit: str
    set_c: float
    wrapped: bool
    stages: tuple[StagePlan, ...]
    put_on_utc: datetime
    off_utc: datetime
    ready: Span
    hold_s: float
    hold_c: float
    chance: float
    begun: bool = False


@dataclass(frozen=True, slots=True)
class Schedule:
    """A planned day.

    chance: that all is ready to serve together, by scenarios that the choice has not seen; sampled: by those it has
    alone: fires that nobody is with
    """

    name: str
    zone: str
    serve_utc: datetime
    pits: tuple[PlannedPit, ...]
    items: tuple[PlannedItem, ...]
    trips: tuple[Trip, ...]
    chance: float
    sampled: float
    fuel_kg: float
    notes: tuple[str, ...] = ()
    alone: tuple[Alone, ...] = ()

    @property
    def calls(self) -> tuple[Call, ...]:
        """Everything that is to be done, in order of time."""
        return tuple(call for trip in self.trips for call in trip.calls)

    def held_s(self, label: str) -> float:
        """How long an item is in the warm place by this timetable [s]; 0: it is not, or it is served from the pit."""
        into = [call.at_utc for call in self.calls if call.on == label and call.act in {"hold", "take off"}]
        served = [call.at_utc for call in self.calls if call.on == label and call.act == "serve"]
        item = self.item(label)
        end = served[0] if served else self.serve_utc
        return max((end - into[-1]).total_seconds(), 0.0) if into and item.hold_s > 0.0 else 0.0

    def onto(self, call: Call) -> str:
        """The pit that meat goes on by a call, where there are several to choose among; "" for all else."""
        return self.item(call.on).pit if call.act in {"put on", "put back"} and len(self.pits) > 1 else ""

    def item(self, label: str) -> PlannedItem:
        """The item of this label. Raises KeyError when there is none."""
        for item in self.items:
            if item.label == label:
                return item
        raise KeyError(label)


@dataclass(frozen=True, slots=True)
class Change:
    """A change that would help.

    what: in words; size: what it asks of the cook, 1 is the least
    chance: that all is on time with it; None: not told; wishes: with it, to be planned so; None: nothing to plan
    does: it makes the day possible as it was asked
    """

    what: str
    size: float
    chance: float | None = None
    wishes: Wishes | None = None
    does: bool = True


@dataclass(frozen=True, slots=True)
class Solving:
    """How the answer was found. status: optimal, feasible, infeasible, unknown; gap: 0 is proved, of the worst aim.

    members: scenarios of the choice; unseen: of the promise
    """

    status: str
    gap: float
    seconds: float
    scenarios_s: float
    members: int
    slots: int
    unseen: int = 0


@dataclass(frozen=True, slots=True)
class Answer:
    """What planning found.

    schedule: a day that does what was asked; None: there is none
    nearest: then the one with the best chance, where there is one at all
    why: why it cannot be done, in plain sentences; changes: what would help, the one that helps most first, up to three
    wishes: as they were planned: those asked for, but for an item that goes in lots; None: as asked for
    timed_out: the search ended before it had looked at everything: what was not found may be there all the same
    """

    schedule: Schedule | None
    nearest: Schedule | None
    why: tuple[str, ...]
    changes: tuple[Change, ...]
    solving: Solving
    notes: tuple[str, ...] = field(default=())
    wishes: Wishes | None = None
    timed_out: bool = False

    @property
    def lead(self) -> str:
        """What the first of the changes is to the others, in words."""
        chances = [change.chance or 0.0 for change in self.changes if change.does]
        return said(SMALLEST if chances and max(chances) > chances[0] + TELLS else "What helps most")

    @property
    def best(self) -> Schedule | None:
        """The schedule that was asked for, else the nearest that can be done; None: there is neither."""
        return self.schedule or self.nearest
