"""What a house's lessons come to, in a cook's words and with what is not known yet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.reckon.learned import DOUBTED, Lesson, Lessons
from pitreckon.reckon.levels import ROW, Levels, levels_of
from pitreckon.units import Scale, format_difference

MOMENT: Final = timedelta(seconds=1)
LEAST_TOLD: Final = 0.95
"""What is known no better than so many times the spread of before is not told as learned."""
EASY_K: Final = 0.5


@dataclass(frozen=True)
class Belief:
    """One thing that was learned.

    of: the pit's label, or the cut's name; what: "offset", "convection" or "gelatin"
    mean, sd: departure from others of the kind, as it is known now, in its unit (K, or of a logarithm)
    before: the spread of it without lessons; cooks: that it rests on; line: in words
    """

    of: str
    what: str
    mean: float
    sd: float
    before: float
    cooks: tuple[str, ...]
    line: str


@dataclass(frozen=True)
class Doubt:
    """A cook whose lesson the others contradict, so that it counts for less."""

    cook: str
    item: str
    times: float

    @property
    def line(self) -> str:
        """In words."""
        share = f"{100.0 / self.times:.0f} %"
        return f"{self.cook}, {self.item}: the other cooks say otherwise; it counts for {share} of what it would"


def beliefs_of(lessons: Lessons, scale: Scale = "F") -> list[Belief]:
    """What is known of each pit and each cut of a house, those that moved."""
    if not lessons.used:
        return []
    now = max([*(each.at_utc for each in lessons.used), *lessons.anew.values()]) + MOMENT
    found = [*_of_pits(lessons, now, scale), *_of_cuts(lessons, now)]
    return [each for each in found if each.sd < LEAST_TOLD * each.before]


def doubts_of(lessons: Lessons) -> list[Doubt]:
    """The lessons that are not believed in full."""
    told = zip(lessons.used, lessons.doubts, strict=True)
    return [Doubt(each.cook, each.item, doubt) for each, doubt in told if doubt > DOUBTED]


def _of_pits(lessons: Lessons, now: datetime, scale: Scale) -> Iterator[Belief]:
    for label, kind in sorted({(each.pit, each.kind) for each in lessons.used}):
        last = next(each for each in reversed(lessons.used) if (each.pit, each.kind) == (label, kind))
        known = _known(lessons, last.levels, (label, kind, last.cut, now))
        here = [each for each in lessons.used if lessons.shares(each, label, kind, "", now)[0] > 0.0]
        cooks = tuple(dict.fromkeys(each.cook for each in here))
        if not cooks:
            continue
        pit = catalog.pit(kind)
        mean, sd, before = known.of("offset")
        over_k = pit.air.offset_k.value + mean
        yield Belief(label, "offset", mean, sd, before, cooks, _offset_line(label, over_k, sd, cooks, scale))
        mean, sd, before = known.of("convection")
        yield Belief(label, "convection", mean, sd, before, cooks, _air_line(label, mean, sd, cooks))


def _of_cuts(lessons: Lessons, now: datetime) -> Iterator[Belief]:
    for key in sorted({each.cut for each in lessons.used}):
        of_it = [each for each in lessons.used if each.cut == key]
        cut, last = catalog.cut(key), of_it[-1]
        if cut.texture.done_by != "tender":
            continue
        levels = levels_of(cut, None, None, measured=False)
        known = _known(lessons, levels, ("", last.kind, key, now))
        mean, sd, before = known.of("gelatin")
        cooks = tuple(dict.fromkeys(each.cook for each in of_it))
        yield Belief(cut.name, "gelatin", mean, sd, before, cooks, _meat_line(cut.name, mean, sd, cooks))


@dataclass(frozen=True)
class _Known:
    """Mean and covariance of the unknowns' departures, in their units, and their spread before."""

    mean: Floats
    covariance: Floats
    before: Floats

    def of(self, name: str) -> tuple[float, float, float]:
        at = ROW[name]
        return float(self.mean[at]), float(np.sqrt(self.covariance[at, at])), float(self.before[at])


def _known(lessons: Lessons, levels: Levels, place: tuple[str, str, str, datetime]) -> _Known:
    said = lessons.says(levels, place)
    covariance = np.linalg.inv(np.eye(said.vector.size) + said.precision)
    to_units = levels.sd[:, None] * levels.mix
    return _Known(to_units @ (covariance @ said.vector), to_units @ covariance @ to_units.T, levels.sd)


def _from(cooks: tuple[str, ...]) -> str:
    return f"from {len(cooks)} cook{'s' if len(cooks) > 1 else ''}"


def _offset_line(label: str, over_k: float, sd: float, cooks: tuple[str, ...], scale: Scale) -> str:
    give = format_difference(1.645 * sd, scale).lstrip("+")
    if abs(over_k) < EASY_K:
        return f"{label}: the grate is as its gauge says, give or take {give}, {_from(cooks)}"
    far = format_difference(abs(over_k), scale).lstrip("+")
    side = "over" if over_k > 0.0 else "under"
    return f"{label}: the grate runs {far} {side} its gauge, give or take {give}, {_from(cooks)}"


def _air_line(label: str, mean: float, sd: float, cooks: tuple[str, ...]) -> str:
    percent, give = 100.0 * np.expm1(abs(mean)), 100.0 * np.expm1(1.645 * sd)
    side = "stronger" if mean > 0.0 else "weaker"
    than = f"{percent:.0f} % {side} than in others of its kind, give or take {give:.0f}"
    return f"{label}: its draught at the meat is {than}, {_from(cooks)}"


def _meat_line(name: str, mean: float, sd: float, cooks: tuple[str, ...]) -> str:
    percent, give = 100.0 * np.expm1(abs(mean)), 100.0 * np.expm1(1.645 * sd)
    side = "faster" if mean > 0.0 else "slower"
    return f"{name}: turns tender {percent:.0f} % {side} than is usual, give or take {give:.0f}, {_from(cooks)}"


def rests_on(lessons: Lessons) -> list[Lesson]:
    """What the house has, the latest first."""
    return sorted(lessons.lessons, key=lambda each: each.at_utc, reverse=True)
