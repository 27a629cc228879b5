"""What a house's lessons come to, in a cook's words and with what is not known yet."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.reckon.changed import Change
from pitreckon.reckon.learned import DOUBTED, HOW_LONG, Lesson, Lessons
from pitreckon.reckon.levels import ROW, Levels
from pitreckon.text.said import said
from pitreckon.units import Scale, format_difference

MOMENT: Final = timedelta(seconds=1)
LEAST_TOLD: Final = 0.95
LEAST_MOVED: Final = 0.4
"""What is known no better than so many times the spread of before, and has not moved by so many, is not told."""
EASY_K: Final = 0.5
LEAST_LONGER: Final = 1.5
"""Less than this [%] is as long as was foretold."""
LEAST_STRAYS: Final = 5.0
"""That windows are so much wider or narrower [%] is worth telling."""
EVEN: Final = 0.5
WELL_K: Final = 2.4
"""An offset that is known so well is within 3 K eight times in ten."""
NEARLY: Final = 0.95
"""A chance from which on one is told to be nearly sure."""


@dataclass(frozen=True)
class Doubt:
    """A cook whose lesson the others contradict, so that it counts for less; or what somebody (hand) said of a pit.

    times: as large as they seemed its errors are taken for, in variance
    """

    cook: str
    item: str
    times: float
    pit: str = ""
    hand: str | None = None

    @property
    def line(self) -> str:
        """In words."""
        share = f"{100.0 / self.times:.0f} %"
        whose = f"{self.cook}, {self.item}" if self.item else f"what {self.hand or 'somebody'} said of {self.pit}"
        return f"{whose}: the other cooks say otherwise; it counts for {share} of what it would"


@dataclass(frozen=True)
class Belief:
    """One thing that was learned.

    of: the pit's label, or the cut's name; what: "offset", "convection" or "how long"
    mean, sd: departure from others of the kind, as it is known now, in its unit (K, or of a logarithm)
    before: the spread of it without lessons; cooks: that it rests on; line: in words
    key: the pit's label, or the cut's in the catalog; kind: of the pit, "" for a cut
    usual: what is so of others of the kind: how far their grates run over their gauges [K], else 0
    said_by: who said something of it outright; doubted: cooks, and what was said, that the others contradict
    """

    of: str
    what: str
    mean: float
    sd: float
    before: float
    cooks: tuple[str, ...]
    line: str
    key: str = ""
    kind: str = ""
    usual: float = 0.0
    said_by: tuple[str, ...] = ()
    doubted: tuple[Doubt, ...] = ()

    @property
    def same(self) -> tuple[str, str, str]:
        """What it is about."""
        return self.what, self.key, self.kind


@dataclass(frozen=True)
class Step:
    """What was believed after a cook, or after something was said. mean, sd: as of ``Belief``"""

    cook: str
    at_utc: datetime
    mean: float
    sd: float


def beliefs_of(lessons: Lessons, scale: Scale = "F") -> list[Belief]:
    """What is known of each pit and each cut of a house, those that moved."""
    if not lessons.used:
        return []
    now = max([*(each.at_utc for each in lessons.used), *lessons.anew.values()]) + MOMENT
    return [
        each
        for each in _all(lessons, now, scale)
        if each.sd < LEAST_TOLD * each.before * lessons.strays or abs(each.mean) > LEAST_MOVED * each.before
    ]


def steps_of(lessons: Lessons) -> dict[tuple[str, str, str], list[Step]]:
    """How each belief moved, from cook to cook that it rests on, by what it is about; of a pit that was started anew
    what was believed of the old one comes first.
    """
    found: dict[tuple[str, str, str], list[Step]] = {}
    used = lessons.used
    for n, one in enumerate(used, start=1):
        if n < len(used) and used[n].cook == one.cook:
            continue
        of_cook = [each for each in used[:n] if each.cook == one.cook]
        mine = {(each.pit, each.kind) for each in of_cook} | {(each.cut, "") for each in of_cook}
        for each in _all(lessons.first(n), one.at_utc + MOMENT, "F", mine):
            found.setdefault(each.same, []).append(Step(one.cook, one.at_utc, each.mean, each.sd))
    return found


def doubts_of(lessons: Lessons) -> list[Doubt]:
    """The lessons that are not believed in full."""
    told = zip(lessons.used, lessons.doubts, strict=True)
    return [
        Doubt(each.cook, each.item, doubt, each.pit, each.hand if each.was_said else None)
        for each, doubt in told
        if doubt > DOUBTED
    ]


def _all(
    lessons: Lessons, now: datetime, scale: Scale, only: Collection[tuple[str, str]] | None = None
) -> list[Belief]:
    """only: of these pits, by label and kind, and of these cuts, with no kind"""
    doubts = doubts_of(lessons)
    pits = sorted({(each.pit, each.kind) for each in lessons.used})
    cuts = sorted({each.cut for each in lessons.used if each.cut})
    if only is not None:
        pits, cuts = [each for each in pits if each in only], [each for each in cuts if (each, "") in only]
    return [*_of_pits(lessons, pits, doubts, now, scale), *_of_cuts(lessons, cuts, doubts, now)]


def _of_pits(
    lessons: Lessons, pits: Sequence[tuple[str, str]], doubts: Sequence[Doubt], now: datetime, scale: Scale
) -> Iterator[Belief]:
    for label, kind in pits:
        last = next(each for each in reversed(lessons.used) if (each.pit, each.kind) == (label, kind))
        known = _known(lessons, last.levels, (label, kind, last.cut, now))
        here = [each for each in lessons.used if counts(lessons, each, label, kind, now)]
        if not here:
            continue
        rests = _rests_on(here, doubts)
        usual = catalog.pit(kind).air.offset_k.value
        mean, sd, before = known.of("offset")
        line = _offset_line(label, usual + mean, sd, rests, scale)
        yield Belief(label, "offset", mean, sd, before, rests.cooks, line, label, kind, usual, *rests.more)
        mean, sd, before = known.of("convection")
        line = _air_line(label, mean, sd, rests)
        yield Belief(label, "convection", mean, sd, before, rests.cooks, line, label, kind, 0.0, *rests.more)


def _of_cuts(lessons: Lessons, cuts: Sequence[str], doubts: Sequence[Doubt], now: datetime) -> Iterator[Belief]:
    for key in cuts:
        of_it = [each for each in lessons.used if each.cut == key]
        took = [row for each in of_it for row, what in zip(each.slope, each.tells, strict=True) if what == HOW_LONG]
        if not took:
            continue
        last = of_it[-1]
        known = _known(lessons, last.levels, (last.pit, last.kind, key, now))
        mean, sd, before = known.along(np.mean(took, axis=0))
        rests, name = _rests_on(of_it, doubts), catalog.cut(key).name
        line = _meat_line(name, mean, sd, rests)
        yield Belief(name, HOW_LONG, mean, sd, before, rests.cooks, line, key, "", 0.0, *rests.more)


@dataclass(frozen=True)
class _RestsOn:
    cooks: tuple[str, ...]
    said_by: tuple[str, ...]
    doubted: tuple[Doubt, ...]

    @property
    def more(self) -> tuple[tuple[str, ...], tuple[Doubt, ...]]:
        return self.said_by, self.doubted


def _rests_on(here: Sequence[Lesson], doubts: Sequence[Doubt]) -> _RestsOn:
    cooks = dict.fromkeys(each.cook for each in here if not each.was_said)
    said_by = dict.fromkeys(each.hand or "" for each in here if each.was_said)
    mine = {(each.cook, each.item) for each in here}
    return _RestsOn(tuple(cooks), tuple(said_by), tuple(each for each in doubts if (each.cook, each.item) in mine))


@dataclass(frozen=True)
class _Known:
    """Mean and covariance of the unknowns' departures, in their units, and their covariance before."""

    mean: Floats
    covariance: Floats
    before: Floats

    def along(self, slope: Floats) -> tuple[float, float, float]:
        """Of what hangs on them by a straight line."""
        sd, before = (float(np.sqrt(slope @ each @ slope)) for each in (self.covariance, self.before))
        return float(slope @ self.mean), sd, before

    def of(self, name: str) -> tuple[float, float, float]:
        at = ROW[name]
        return self.along(np.eye(self.mean.size)[at])


def _known(lessons: Lessons, levels: Levels, place: tuple[str, str, str, datetime]) -> _Known:
    said = lessons.says(levels, place)
    covariance = np.linalg.inv(np.eye(said.vector.size) + said.precision)
    to_units = levels.to_units
    return _Known(to_units @ (covariance @ said.vector), to_units @ covariance @ to_units.T, to_units @ to_units.T)


def _from(rests: _RestsOn) -> str:
    parts = []
    if rests.cooks:
        parts.append(f"from {len(rests.cooks)} cook{'s' if len(rests.cooks) > 1 else ''}")
    if rests.said_by:
        parts.append(f"as {' and '.join(who or 'somebody' for who in rests.said_by)} said")
    return " and ".join(parts)


def _offset_line(label: str, over_k: float, sd: float, rests: _RestsOn, scale: Scale) -> str:
    give = format_difference(1.645 * sd, scale).lstrip("+")
    if abs(over_k) < EASY_K:
        return f"{label}: the grate is as its gauge says, give or take {give}, {_from(rests)}"
    far = format_difference(abs(over_k), scale).lstrip("+")
    side = "over" if over_k > 0.0 else "under"
    return f"{label}: the grate runs {far} {side} its gauge, give or take {give}, {_from(rests)}"


def _air_line(label: str, mean: float, sd: float, rests: _RestsOn) -> str:
    percent, give = 100.0 * np.expm1(abs(mean)), 100.0 * np.expm1(1.645 * sd)
    side = "stronger" if mean > 0.0 else "weaker"
    than = f"{percent:.0f} % {side} than in others of its kind, give or take {give:.0f}"
    return f"{label}: its draught at the meat is {than}, {_from(rests)}"


def _meat_line(name: str, mean: float, sd: float, rests: _RestsOn) -> str:
    percent, give = 100.0 * np.expm1(abs(mean)), 100.0 * np.expm1(1.645 * sd)
    if percent < LEAST_LONGER:
        return f"{name}: takes as long here as is foretold elsewhere, give or take {give:.0f} %, {_from(rests)}"
    side = "longer" if mean > 0.0 else "less long"
    than = f"{percent:.0f} % {side} here than is foretold elsewhere"
    return f"{name}: takes {than}, give or take {give:.0f}, {_from(rests)}"


def strays_words(lessons: Lessons) -> str:
    """By how much windows are wider or narrower than elsewhere, as the house's cooks stray from what was foretold; "":
    not by enough to be worth telling.
    """
    percent = 100.0 * (lessons.strays - 1.0)
    if abs(percent) < LEAST_STRAYS:
        return ""
    message = (
        "The cooks of this house stray further from what was foretold than is usual: windows are {n} % wider"
        if percent > 0.0
        else "The cooks of this house come nearer to what was foretold than is usual: windows are {n} % narrower"
    )
    return said(message, n=f"{abs(percent):.0f}")


def wants_a_thermometer(beliefs: Iterable[Belief]) -> bool:
    """Is the offset of a pit known so badly that a thermometer laid on its grate would tell most of it?

    beliefs: of the pit; without one of its offset: yes
    """
    return all(each.sd > WELL_K for each in beliefs if each.what == "offset")


def counts(lessons: Lessons, one: Lesson, label: str, kind: str, now: datetime) -> bool:
    """Does a lesson tell of a pit as it is now? Not if it was started anew, or likely changed, since."""
    change = lessons.change(label, kind)
    kept = 1.0 if change is None else change.kept(one.at_utc, now)
    return kept >= EVEN and lessons.shares(one, label, kind, "", now)[0] > 0.0


def change_line(change: Change) -> str:
    """In words, without what to do about it."""
    sure = f"{10.0 * change.chance:.0f} in 10" if change.chance < NEARLY else "nearly"
    return (
        f"{change.pit}: since {change.since:%Y-%m-%d} ({change.cook}) it runs as another pit would, {sure} sure; "
        f"what earlier cooks told of it counts for little"
    )


def rests_on(lessons: Lessons) -> list[Lesson]:
    """What the house has, the latest first."""
    return sorted(lessons.lessons, key=lambda each: each.at_utc, reverse=True)
