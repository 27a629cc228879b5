"""Houses that have their model's constants in common, as all houses of the real world have: whose lessons are pooled.

``houses`` draws the constants of each house anew; pooled lessons would then find what is true of nobody. Here a
universe has them, and the side to which its laws are off, and its houses differ in what is their own: pit and meat.
``rows_of`` cooks one house's first cook and keeps what it told: the lines of its lesson, what is true of the piece,
what is true in the middle of all such houses (the thing that pooling is after), and how the time to ready hangs on what
is not known before anything is seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.section import material
from validation.twins.day import Day, day_of
from validation.twins.deal import PITS, deal
from validation.twins.store import Row
from validation.twins.streams import pick, stream
from validation.twins.worlds import House, Truth, truth_of

Floats = NDArray[np.float64]

CUTS: Final = ("st-louis-ribs", "back-ribs", "country-style-ribs", "chicken-half", "pork-loin")
"""Cuts that are quick to run. A house that would cook another first comes again until it has one of these."""
HOUSES: Final = 4
"""Of each universe."""
RIDGE: Final = 1.0
"""Of the regression of the time to ready, in members: an ensemble is little larger than the unknowns are many."""
COLUMNS: Final = (
    "index",
    "rows",
    "universe",
    "cut",
    "kind",
    "wrap",
    "measured",
    "many",
    "what",
    "value",
    "sd",
    *UNKNOWNS,
)


class Still(np.random.Generator):
    """Draws nothing but middles."""

    def __init__(self) -> None:
        super().__init__(np.random.PCG64(0))

    def standard_normal(self, *_: Any, **__: Any) -> Any:
        """The middle."""
        return 0.0

    def uniform(self, low: Any = 0.0, high: Any = 1.0, size: Any = None) -> Any:
        """The middle."""
        return 0.5 * (low + high)


@dataclass(frozen=True)
class Neighbour(House):
    """A house of a universe. middle: that one in which nothing is the house's own."""

    universe: int = 0
    middle: bool = False

    def stream(self, label: str) -> np.random.Generator:
        """Random numbers: the universe's where they are of all houses."""
        if label == "constants" or label.startswith("everywhere "):
            return stream(self.seed, self.universe, f"universe {label}")
        return Still() if self.middle else super().stream(label)

    def sides(self, rng: np.random.Generator) -> Floats:
        """The laws are off to one side for all of them."""
        return stream(self.seed, self.universe, "universe sides").choice([-1.0, 1.0], 6)


def house_of(seed: int, index: int) -> Neighbour:
    """House ``index``; those of a universe follow each other."""
    return Neighbour(seed, index, pick(stream(seed, index, "house"), PITS), universe=index // HOUSES)


def rows_of(world: str, seed: int, index: int, members: int) -> list[Row]:
    """What the first cook of a house told, as rows."""
    house = house_of(seed, index)
    day = _first_day(world, seed, index, house)
    twin, cut = day.twin, catalog.cut(day.twin.item.cut)
    wrap = next((stage.wrap for stage in twin.stages if stage.wrap), None)
    of_world = stream(seed, twin.index, f"{twin.attempt} world")
    true = truth_of(world, cut, twin.fire.pit, wrap, of_world, house)
    still = Neighbour(seed, index, house.pit, universe=house.universe, middle=True)
    middle = truth_of(world, cut, twin.fire.pit, wrap, Still(), still)
    lesson = max(
        learn(twin.cook, day.ledger, "first", members=members, seed=twin.index + 1),
        key=lambda each: float(np.sum(each.sd**-2)),
        default=None,
    )
    lines = () if lesson is None else zip(lesson.slope, lesson.value, lesson.sd, strict=True)
    asked = times_of(day, 2 * members)
    rows = [
        _row("truth", float(np.log(day.marks["done"])), 0.0, _offs(true, cut)),
        _row("middle", 0.0, 0.0, _offs(middle, cut)),
        *(_row(what, *of_time) for what, of_time in asked.items()),
        *(_row("line", float(value), float(sd), slope) for slope, value, sd in lines),
    ]
    whose = {
        "index": str(index),
        "rows": str(len(rows)),
        "universe": str(house.universe),
        "cut": twin.item.cut,
        "kind": twin.fire.pit.key,
        "wrap": wrap or "",
        "measured": str(int(twin.item.thickness_m is not None)),
        "many": str(int(twin.item.pieces > 1)),
    }
    return [whose | row for row in rows]


def times_of(day: Day, members: int) -> dict[str, tuple[float, float, Floats]]:
    """Logarithms of the times to ready and done [s] as put-on has them: the middle, what no unknown explains (sd), and
    the slope on each unknown's departure in its unit.
    """
    twin = day.twin
    run = reckoning(twin.cook, now=twin.cook.begin_utc, members=members, seed=twin.index + 1, threads=1).runs[0]
    levels, w = run.main.track.levels, run.main.ensemble.z
    out = {}
    for what, at_s in {"ready": run.ready_s, "done": run.trace.mark(twin.done_mark)}.items():
        good = np.isfinite(at_s) & (at_s > 0.0)
        middle, left, of_w = _regressed(np.log(at_s[good]), w[:, good])
        out[what] = middle, left, np.linalg.solve(levels.mix.T, of_w) / levels.sd
    return out


def _regressed(y: Floats, w: Floats) -> tuple[float, float, Floats]:
    """Value at the middle of the unknowns, standard error of one value, and slopes."""
    w0, y0 = w.mean(axis=1, keepdims=True), float(y.mean())
    slope = np.linalg.solve((w - w0) @ (w - w0).T + RIDGE * np.eye(w.shape[0]), (w - w0) @ (y - y0))
    left = y - y0 - slope @ (w - w0)
    free = max(y.size - w.shape[0] - 1, 1)
    return y0 - float(slope @ w0[:, 0]), float(np.sqrt(left @ left / free)), slope


def _first_day(world: str, seed: int, index: int, house: Neighbour) -> Day:
    """Of the first cook of one of ``CUTS``."""
    numbers = (index * 1000 + n for n in range(1000))
    dealt = (number for number in numbers if deal(seed, number, 0, world, house).item.cut in CUTS)
    days = (day_of(seed, number, world, house) for number in dealt)  # a cook that is dealt anew may be of another cut
    return next(day for day in days if day.twin.item.cut in CUTS)


def _offs(true: Truth, cut: Cut) -> Floats:
    """By ``UNKNOWNS``; of the size what the forecaster calls scale: thickness and weight together."""
    offs = dict(true.offs)
    offs["scale"] = material.size_share(cut) * offs["thickness"] + offs["size"]
    return np.array([offs[name] for name in UNKNOWNS])


def _row(what: str, value: float, sd: float, numbers: Floats) -> Row:
    named = dict(zip(UNKNOWNS, (f"{number:.6g}" for number in numbers), strict=True))
    return {"what": what, "value": f"{value:.6g}", "sd": f"{sd:.6g}"} | named
