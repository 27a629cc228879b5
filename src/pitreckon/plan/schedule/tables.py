"""What a planner knows of a day, as numbers: the options for each item, scenario by scenario, and the means for it.

Scenarios are the ensemble's members: member 7 of one option is the same piece of meat as member 7 of another, so that
two options differ by what is done and by nothing else. Nothing here knows the kernel or the solver.
"""

from dataclasses import dataclass

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.cook.plan import StagePlan


@dataclass(frozen=True)
class Due:
    """An act of the cook on an item, scenario by scenario.

    act: wrap, unwrap, sauce, put back, take off or hold; wrap: what it is wrapped in
    opens_s, closes_s: from when it can be done and from when it is too late [s since put-on], (members,); inf: never
    carries: what is late here makes all after it late by as much, for sure
    """

    act: str
    opens_s: Floats
    closes_s: Floats
    carries: bool = True
    wrap: str = ""


@dataclass(frozen=True)
class Option:
    """One option for an item: on which pit, how hot, wrapped or not, and how long that takes, scenario by scenario.

    dues: acts after put-on in their order
    first_s, last_s: when the first and the last piece are ready to serve [s since put-on], (members,); inf: never
    off_s: when the last piece is off the pit [s since put-on]; past_s: past its best, if held; inf: not seen
    done: it is done, and its core got to the official minimum, when it is called ready
    area_m2: [m2] that all its pieces take on that pit; inf: they do not go on
    loss: share of its weight lost when ready [-], median
    """

    pit: str
    set_c: float
    wrapped: bool
    stages: tuple[StagePlan, ...]
    dues: tuple[Due, ...]
    first_s: Floats
    last_s: Floats
    off_s: Floats
    past_s: Floats
    done: Bools
    area_m2: float = 0.0
    loss: float = 0.0

    @property
    def members(self) -> int:
        """Number of scenarios."""
        return int(self.last_s.size)


@dataclass(frozen=True)
class Task:
    """An item that is to be done.

    pieces: how many; handfuls: how many times one reaches for them
    least_hold_s, most_hold_s: [s] between ready and served
    rest_s: [s] least rest by the official minimum that its course does not hold already
    put_on_s: when it has to go on, or went on [s from serving, negative]; None: open
    begun: it is on, and stays on its pit; only what lies ahead of now_s is an act
    serve_s: when it is on the table [s from serving, negative or 0]
    lot_of: the meat that it is a lot of; "": it is all of it
    """

    label: str
    pieces: int
    options: tuple[Option, ...]
    least_hold_s: float = 0.0
    most_hold_s: float = 4 * 3600.0
    rest_s: float = 0.0
    put_on_s: float | None = None
    begun: bool = False
    serve_s: float = 0.0
    handfuls: int | None = None
    lot_of: str = ""

    def work_s(self, act: str) -> float:
        """How long an act on all of it keeps one pair of hands [s]."""
        return work_s(act, self.pieces if self.handfuls is None else self.handfuls)


@dataclass(frozen=True)
class Place:
    """A pit: area_m2 of its grates; lit_s from lighting to steady heat; fuel_kg_h at each of sets_c; lit: it burns.

    lasts_s: how long what it holds burns at each of sets_c [s]; (): not asked, or for ever
    """

    label: str
    sets_c: tuple[float, ...]
    area_m2: float
    lit_s: float
    fuel_kg_h: tuple[float, ...]
    lit: bool = False
    lasts_s: tuple[float, ...] = ()

    def burns_s(self, set_c: float) -> float:
        """How long it burns at one of its temperatures with nobody there [s]; inf: as long as it is wanted."""
        return dict(zip(self.sets_c, self.lasts_s, strict=True))[set_c] if self.lasts_s else np.inf


@dataclass(frozen=True)
class Day:
    """The whole occasion; times are seconds from serving, before it negative.

    away: (from, until) in which nobody is at the pit
    earliest_s: before which nothing is done, no fire is lit; -inf: as early as need be
    hold_places: how many pieces the warm place takes; None: enough
    grid_s: put-ons lie on whole multiples of it
    unfed: nobody feeds a fire while nobody is there: none is left for longer than it lasts
    """

    tasks: tuple[Task, ...]
    places: tuple[Place, ...]
    cooks: int = 1
    away: tuple[tuple[float, float], ...] = ()
    earliest_s: float = -np.inf
    hold_places: int | None = None
    chance: float = 0.95
    grid_s: float = 600.0
    unfed: bool = False

    @property
    def members(self) -> int:
        """Number of scenarios."""
        return self.tasks[0].options[0].members

    def place(self, label: str) -> Place:
        """The pit of this label. Raises KeyError when there is none."""
        for place in self.places:
            if place.label == label:
                return place
        raise KeyError(label)


# Minutes of one pair of hands: a part for each time and a part for each handful. Common practice, no source.
WORK_MIN = {
    "light": (10.0, 0.0),
    "put on": (2.0, 0.5),
    "wrap": (2.0, 1.0),
    "unwrap": (2.0, 0.5),
    "sauce": (2.0, 0.75),
    "put back": (2.0, 0.5),
    "take off": (2.0, 0.5),
    "hold": (1.0, 0.25),
}
HANDFUL_KG = 0.45
"""What is taken at one reach with tongs or tossed in a bowl at once (common practice, no source)."""
LONGEST_WORK_MIN = 60.0
"""More than an hour's work at once is handed round: the rest of it is not counted."""


def handfuls_of(pieces: int, mass_kg: float) -> int:
    """How many times one reaches for so many pieces of a weight: wings go on by the pound, a butt by itself."""
    return int(min(pieces, np.ceil(pieces * mass_kg / HANDFUL_KG)))


def work_s(act: str, pieces: int) -> float:
    """How long an act keeps one pair of hands [s], in whole minutes."""
    once, each = WORK_MIN[act]
    return 60.0 * float(np.ceil(min(once + each * pieces, LONGEST_WORK_MIN)))
