"""``python -m validation.twins.ceiling``: how much a house could know at the most, and how much of it lessons reach.

What is not known of a cook is its house's (the model's constants, the kinds of cut and pit, the pit, the source, the
fold of the wrap, the hand) or the day's and the piece's own. An oracle tells a forecast all that is the house's, as it
is true of the twins, or all but one level of it; what is left is no lesson's to take away. At put-on the same is
reckoned by straight lines, too: how the logarithm of the time to done hangs on each unknown, and how much of its
variance is left if the house knew all that is its own; if of every earlier cook all were known; if of every earlier
cook it were known how long it took and no more; and with the lessons that its cooks gave. Runs anew each time.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.hands import OWN, Bias, Hands, usual
from pitreckon.reckon.learned import PIT_KEEPS_S, SAME_SOURCE, Lesson, Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import OF_THE_DAY, PITS, ROW, UNKNOWNS, Levels, levels_of
from pitreckon.reckon.update import LinearObs
from pitreckon.units import instant_after
from validation.marked import put
from validation.twins import judge, scores
from validation.twins.day import Day, day_of
from validation.twins.deal import PIT, Twin
from validation.twins.houses import COOKS, EVERY, aged, house_of
from validation.twins.neighbours import Still, times_of
from validation.twins.observe import COMES_AGAIN, HALF_STEP, PEOPLE
from validation.twins.run import in_order
from validation.twins.store import Row
from validation.twins.worlds import House, truth_of

Floats = NDArray[np.float64]

SEED, HOUSES, MEMBERS = 20261211, 8, 192
ASKED = (3, 5, 7, 11)
"""Cooks, from 0, at which it is asked; before each there were as many."""
WRAP = ("leak", "permeance", "gap", "sheen")
LEVELS = ("everywhere", "pit", "source", "wrap", "hand")
README = Path(__file__).resolve().parent.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.twins.ceiling: begin -->", "<!-- end of ceiling -->"
OF_OFFSET = ("how long each earlier cook took", "its lessons")
EXACT = 1e-3
"""Error of what an oracle says, over the spread of it."""


def shares() -> Floats:
    """Of the variance of an unknown's own spread what is the house's, as the twins are dealt, (unknowns,)."""
    some = levels_of(catalog.cut("st-louis-ribs"), catalog.pit("kettle"), None, measured=False)
    out = np.where(np.arange(len(UNKNOWNS)) < PITS, 1.0, SAME_SOURCE * (1.0 - some.piece))
    out[[ROW[name] for name in (*OF_THE_DAY, "scale")]] = 0.0  # a twin's thickness is dealt anew for every cook
    return np.asarray(out)


def of_level(level: str) -> Floats:
    """1 for the unknowns whose own spread a level has, (unknowns,)."""
    pit, wrap = np.arange(len(UNKNOWNS)) < PITS, np.isin(UNKNOWNS, WRAP)
    chosen = {"pit": pit, "wrap": wrap, "source": ~pit & ~wrap}.get(level, np.zeros(len(UNKNOWNS), dtype=bool))
    return chosen.astype(np.float64)


def of_house(levels: Levels, known: Sequence[str]) -> Floats:
    """Covariance of what is the house's of a piece's departures, as far as these levels of it go."""
    own = sum((of_level(level) for level in known), np.zeros(len(UNKNOWNS))) * shares() * levels.own**2
    everywhere = levels.loads @ levels.loads.T + np.diag(levels.memory**2)
    return np.asarray(np.diag(own) + ("everywhere" in known) * everywhere)


def prior(levels: Levels) -> Floats:
    """Covariance of a piece's departures before anything is known."""
    return levels.loads @ levels.loads.T + np.diag(levels.memory**2 + levels.own**2)


@dataclass(frozen=True, eq=False)
class Oracle(Lessons):
    """Lessons that are the truth about a house, for one piece of it. known: which levels it tells"""

    twin: Twin | None = None
    known: tuple[str, ...] = LEVELS
    root: Floats = field(default_factory=lambda: np.zeros((0, 0)))
    value: Floats = field(default_factory=lambda: np.zeros(0))

    @classmethod
    def about(cls, twin: Twin, levels: Levels, known: Sequence[str]) -> Oracle:
        """What is true of the house of a cook."""
        assert twin.house is not None
        cut, pit = catalog.cut(twin.item.cut), twin.fire.pit
        wrap = next((stage.wrap for stage in twin.stages if stage.wrap), None)
        true = truth_of(twin.world, cut, pit, wrap, Still(), twin.house)
        bare = truth_of(twin.world, cut, pit, wrap, Still(), _Everywhere(twin.house.seed, twin.house.number, pit.key))
        everywhere = np.array([bare.offs[name] for name in UNKNOWNS])
        own = np.array([true.offs[name] for name in UNKNOWNS]) - everywhere
        own[ROW["scale"]] = 0.0
        is_told = sum((of_level(level) for level in known), np.zeros(len(UNKNOWNS)))
        told = own * is_told + ("everywhere" in known) * everywhere
        size, axes = np.linalg.eigh(of_house(levels, known) / np.outer(levels.sd, levels.sd))
        keep = size > 1e-9
        root = axes[:, keep] * np.sqrt(size[keep])
        padded = np.zeros((len(UNKNOWNS), len(UNKNOWNS)))
        padded[:, : root.shape[1]] = root
        return cls((), {}, {}, (), twin, tuple(known), padded, np.linalg.pinv(padded) @ (told / levels.sd))

    def before(self, at: datetime) -> Lessons:
        """An oracle knows at any time."""
        return self

    @property
    def used(self) -> tuple[Lesson, ...]:  # type: ignore[override]
        """One, of which nothing is read."""
        return (_NOBODY,)

    @property
    def lines(self) -> tuple[LinearObs, ...]:  # type: ignore[override]
        """Its numbers, by independent standard ones."""
        k = len(UNKNOWNS)
        return (LinearObs(np.eye(k), self.value, EXACT**2 * np.eye(k)),)

    @property
    def among(self) -> Floats:  # type: ignore[override]
        """With itself."""
        return np.eye(len(UNKNOWNS))[None, None]

    def correlation(self, one: Lesson, levels: Levels, place: tuple[str, str, str, datetime]) -> Floats:
        """Of its numbers and a piece's."""
        return np.asarray(np.linalg.solve(levels.mix, self.root).T)

    def hands(self, at: datetime) -> Hands:
        """What comes again of the two who look."""
        if "hand" not in self.known or self.twin is None or self.twin.house is None:
            return {}
        found = {}
        for by in PEOPLE:
            drawn = self.twin.house.stream(f"hand {by}")
            for kind in ("colour", "probe feel"):
                mean = float(np.sqrt(COMES_AGAIN) * drawn.normal(0.0, HALF_STEP))
                found[by, kind] = Bias(mean, float(np.sqrt(1.0 - OWN)) * usual(kind).sd)
        return found


@dataclass(frozen=True)
class _Everywhere(House):
    """A house with the model's constants of another and nothing of its own."""

    def stream(self, label: str) -> np.random.Generator:
        everywhere = label == "constants" or label.startswith("everywhere ")
        return super().stream(label) if everywhere else Still()


_NOBODY = Lesson(
    *("", "", None, datetime.min.replace(tzinfo=UTC), "", "", "kettle", None, False, False, 0),
    *(np.zeros((0, len(UNKNOWNS))), np.zeros(0), np.zeros(0)),
)


# --- by straight lines


@dataclass(frozen=True)
class Asked:
    """A cook of a house at put-on: how the time to done hangs on its departures, and what its lessons told."""

    cut: str
    levels: Levels
    slope: Floats
    left: float


def variance(cook: Asked, covariance: Floats) -> float:
    """Of the logarithm of the time to done."""
    return float(cook.slope @ covariance @ cook.slope) + cook.left**2


def if_levels(cook: Asked, known: Sequence[str]) -> Floats:
    """Covariance of its departures with levels of the house known."""
    return prior(cook.levels) - of_house(cook.levels, known)


def between(one: Asked, other: Asked, days: float) -> Floats:
    """Covariance of the departures of pieces of two cooks of a house, as lessons have it."""
    kept = np.full(len(UNKNOWNS), np.exp(-days * 86400.0 / PIT_KEEPS_S))
    kept[PITS:] = SAME_SOURCE * (1.0 - one.levels.piece[PITS:]) * (one.cut == other.cut)
    kept[[ROW[name] for name in OF_THE_DAY]] = 0.0
    memory = one.levels.memory * other.levels.memory
    return one.levels.loads @ other.levels.loads.T + np.diag(memory + kept * one.levels.own * other.levels.own)


def if_earlier(cooks: Sequence[Asked], *, times_alone: bool) -> Floats:
    """Covariance of the last's departures if of every earlier one all were known, or how long it took and no more."""
    *earlier, last = cooks
    k, many = len(UNKNOWNS), len(earlier)
    every = EVERY.total_seconds() / 86400.0
    among = np.zeros((many * k, many * k))
    for i, one in enumerate(earlier):
        for j, other in enumerate(earlier):
            block = prior(one.levels) if i == j else between(one, other, every * abs(i - j))
            among[i * k : (i + 1) * k, j * k : (j + 1) * k] = block
    toward = np.concatenate([between(one, last, every * (many - i)) for i, one in enumerate(earlier)])
    if times_alone:
        read = np.zeros((many, many * k))
        for i, one in enumerate(earlier):
            read[i, i * k : (i + 1) * k] = one.slope
        noise = np.diag([one.left**2 for one in earlier])
    else:
        spread = np.concatenate([one.levels.sd for one in earlier])
        read, noise = np.diag(1.0 / spread), EXACT**2 * np.eye(many * k)
    heard = read @ toward
    return prior(last.levels) - heard.T @ np.linalg.solve(read @ among @ read.T + noise, heard)


def with_lessons(cook: Asked, lessons: Lessons, twin: Twin) -> Floats:
    """Covariance of its departures with what was learned."""
    levels = cook.levels
    says = lessons.says(levels, (PIT, twin.fire.pit.key, cook.cut, twin.put_on_utc))
    to_units = levels.to_units
    return to_units @ np.linalg.inv(np.eye(len(UNKNOWNS)) + says.precision) @ to_units.T


# --- houses


def rows_of(world: str, seed: int, number: int, members: int) -> list[Row]:
    """All that is asked of a house."""
    house = house_of(seed, number)
    cooks: list[Asked] = []
    learned: list[tuple[Lesson, ...]] = []
    rows: list[Row] = []
    for n in range(COOKS):
        day = day_of(seed, number * 1000 + n, world, house)
        asked = _asked(day, members)
        cooks.append(asked)
        if n in ASKED:
            lessons = aged(learned, n)
            total = variance(asked, prior(asked.levels))
            left = {
                "all that is the house's": if_levels(asked, LEVELS),
                **{f"all but {level}": if_levels(asked, [e for e in LEVELS if e != level]) for level in LEVELS[:4]},
                "all of every earlier piece": if_earlier(cooks, times_alone=False),
                "how long each earlier cook took": if_earlier(cooks, times_alone=True),
                "its lessons": with_lessons(asked, lessons, day.twin),
            }
            offset = ROW["offset"]
            for what, covariance in left.items():
                rows.append(_row(number, n, "lines, put-on", what, np.sqrt(variance(asked, covariance) / total)))
                if what in OF_OFFSET:
                    known = np.sqrt(covariance[offset, offset]) / asked.levels.sd[offset]
                    rows.append(_row(number, n, "offset of the pit", what, known))
            rows += _windows(number, n, day, asked.levels, lessons, members)
        learned.append(learn(day.twin.cook, day.ledger, f"cook {n}", seed=day.twin.index + 1))
    return [{**row, "rows": str(len(rows))} for row in rows]


def _asked(day: Day, members: int) -> Asked:
    _, left, slope = times_of(day, 2 * members)["done"]
    item = day.twin.item
    wrap = next((stage.wrap for stage in day.twin.stages if stage.wrap), None)
    measured, many = item.thickness_m is not None, item.pieces > 1
    levels = levels_of(catalog.cut(item.cut), day.twin.fire.pit, wrap, measured=measured, many=many)
    return Asked(item.cut, levels, slope, left)


def _row(number: int, n: int, moment: str, what: str, width: float) -> Row:
    return {"index": str(number), "cook": str(n + 1), "moment": moment, "what": what, "width": f"{width:.4f}"}


def _windows(number: int, n: int, day: Day, levels: Levels, lessons: Lessons, members: int) -> Iterator[Row]:
    """Widths of the 90 % window over that of a house that knows nothing, by full reckonings."""
    done_s = day.marks["done"]
    for moment, now_s in (("put-on", 0.0), ("60 min", 60.0 * np.floor(done_s / 60.0 - 60.0))):
        if moment == "60 min" and now_s < judge.EARLIEST_S:
            continue
        plain = _width(day, now_s, Lessons(), members)
        told: dict[str, Lessons] = {"all that is the house's": Oracle.about(day.twin, levels, LEVELS)}
        if moment == "60 min":
            for level in LEVELS:
                rest = [each for each in LEVELS if each != level]
                told[f"all but {level}"] = Oracle.about(day.twin, levels, rest)
        told["its lessons"] = lessons
        for what, each in told.items():
            yield _row(number, n, moment, what, _width(day, now_s, each, members) / plain)


def _width(day: Day, now_s: float, lessons: Lessons, members: int) -> float:
    twin = day.twin
    told, now = judge.with_not_yet(day, now_s), instant_after(twin.put_on_utc, now_s)
    done = reckoning(twin.cook, told, now=now, members=members, seed=twin.index + 1, threads=1, lessons=lessons)
    values, weights = judge.given_not_yet(*judge.forecast_of(done.runs[0], "done", twin.done_mark), now_s)
    low, high = (scores.quantile(values, weights, level) for level in (0.05, 0.95))
    return max(float(high - low), 60.0)


def text_of(rows: Sequence[Row], seed: int, members: int) -> str:
    """The part of the page."""
    houses = len({row["index"] for row in rows})
    made = f"python -m validation.twins.ceiling --houses {houses} --write"
    parts = [f"Seed {seed}, {members} members, {houses} houses of the calibrated world. Made by\n\n```\n{made}\n```\n"]
    parts.append("Median width over that of a house that knows nothing, before the cook of that number:\n")
    numbers = [str(n + 1) for n in ASKED]
    parts.append(f"| asked | known | {' | '.join(numbers)} | all |\n|---|---|{'---|' * (len(numbers) + 1)}")
    for moment in ("lines, put-on", "offset of the pit", "put-on", "60 min"):
        of_moment = [row for row in rows if row["moment"] == moment]
        for what in dict.fromkeys(row["what"] for row in of_moment):
            mine = [row for row in of_moment if row["what"] == what]
            cells = [_median([row for row in mine if row["cook"] == number]) for number in numbers]
            parts.append(f"| {moment} | {what} | {' | '.join(cells)} | {_median(mine)} |")
    return "\n".join(parts)


def _median(rows: Sequence[Row]) -> str:
    values = [float(row["width"]) for row in rows if np.isfinite(float(row["width"]))]
    return f"{np.median(values):.2f}" if values else "none"


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.ceiling", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--houses", type=int, default=HOUSES)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--write", action="store_true", help="put the table into validation/README.md")
    given = parser.parse_args()
    rows = in_order(partial(rows_of, "calibrated"), given.houses, given.seed, given.members, given.workers)
    text = text_of(rows, given.seed, given.members)
    print(text)
    if given.write:
        put(f"{text}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
