"""What earlier cooks of a house say of the next one: lessons, and how far they are believed.

A lesson is what one item of a finished cook told of all that was not known of it: a few straight lines, each with an
error of its own. What it tells of another piece hangs on what the two have in common (``levels``): the model and the
kind of cut and pit always, the pit itself where it is the same, the less the longer ago; what pieces of one item have
in common in part, where the cut is the same. So a prior with lessons is the old prior and a quadratic on top, as what
other pieces of the same cook say is. Nothing learned: exactly the old prior.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from scipy.special import chdtri

from pitreckon import __version__, catalog
from pitreckon.arrays import Floats
from pitreckon.reckon.hands import THERMOMETER, Hands, HandTold, hands_of
from pitreckon.reckon.levels import OF_THE_DAY, PIT_UNKNOWNS, ROW, UNKNOWNS, Levels, levels_of
from pitreckon.reckon.update import Information, LinearObs, from_others

if TYPE_CHECKING:
    from pitreckon.reckon.changed import Change, Told

PIT_KEEPS_S: Final = 365.0 * 86400.0
"""Time in which what sets a pit apart from others of its kind changes by as much as it differs (seals, fuel, weather):
a judgement, not measured."""
SAME_SOURCE: Final = 0.5
"""Share of what pieces of one item have in common that pieces of the same cut in a later cook have too (one butcher,
one hand that trims): a judgement, not measured."""
MOST_LESSONS: Final = 24
"""Only so many of the latest are looked at: what is older says little more."""
UNUSUAL: Final = 0.05
"""A lesson that is further off than so many in a hundred would be is doubted."""
DOUBTED: Final = 1.5
"""A lesson whose errors are taken for so many times as large is said to be doubted."""
Tells = Literal["", "how long", "offset", "grate"]
HOW_LONG: Final = "how long"
OFFSET: Final = "offset"
GRATE: Final = "grate"
"""What a line of a lesson tells: the logarithm of the time that it took; how far the grate of the pit is over its
gauge, by all that was seen of the meat; and that by a thermometer laid on it."""
ASTRAY: Final = 0.12
"""Spread of the logarithm of how long a piece takes by what no model of it has (a thick end, lids lifted without a
word, a cook's ways): chosen on twins, ``validation/README.md``."""
BY_MEAT: Final = 2.25
"""So many times its own variance is what the meat tells of the pit's offset off: chosen on the same twins."""
SURE: Final = 8.0
"""That a house's cooks stray from what is foretold as far as is thought is believed as if so many had shown it."""
OF_MISFIT: Final = 0.25
"""Share of the variance that cooks stray by anyway which is taken off before that is asked: all of it made houses of
the forecaster's own world surer than they may be, none of it made others wider than need be."""
LEAST_STRAY, MOST_STRAY = 0.5, 2.5
"""Bounds of that, of the variance."""
MADE_WITH: Final = f"{__version__}, lessons 2"
"""Kept with what was learned of a cook: the number is another one where other things are learned."""
DOUBTS: Final = 8
"""So many times each lesson is held against the others."""
LASTING: Final = tuple(ROW[name] for name in PIT_UNKNOWNS if name not in OF_THE_DAY)
"""Rows of what is a pit's own and outlasts a day."""


@dataclass(frozen=True, eq=False)
class Lesson:
    """What one item of a finished cook told, or what somebody said of a pit outright.

    cook, item, piece: where it was learned (None: on any of its pieces); at_utc: when it ended
    cut, kind: catalog keys of meat and pit; pit: its label; of what was said there is neither item nor cut ("")
    wrap, measured, many: as of ``levels.levels_of``; seen: entries that it rests on
    hand: whose looks it rests on, or who said it; None: several, or nobody knows
    hands: what it told of the biases of those who looked
    not_believed: what of its ledger it did not believe, in sentences
    slope: of each line, by the unknowns' departures from their middles in their units, (lines, unknowns)
    value, sd: what each line came to and its error, (lines,); what: each tells (``howlong``)
    """

    cook: str
    item: str
    piece: int | None
    at_utc: datetime
    cut: str
    pit: str
    kind: str
    wrap: str | None
    measured: bool
    many: bool
    seen: int
    slope: Floats
    value: Floats
    sd: Floats
    hand: str | None = None
    hands: tuple[HandTold, ...] = ()
    not_believed: tuple[str, ...] = ()
    what: tuple[Tells, ...] = ()

    @property
    def was_said(self) -> bool:
        """Did a person say it, and no cook?"""
        return not self.item

    @cached_property
    def levels(self) -> Levels:
        """Of the piece that it was learned on, of the pit alone where it was said."""
        cut, pit = catalog.cut(self.cut) if self.cut else None, catalog.pit(self.kind)
        return levels_of(cut, pit, self.wrap, measured=self.measured, many=self.many)

    @cached_property
    def line(self) -> LinearObs:
        """The lines by independent standard numbers."""
        levels = self.levels
        return LinearObs(self.slope * levels.sd @ levels.mix, self.value, np.diag(self.sd**2 + self.misfit))

    @property
    def tells(self) -> tuple[Tells, ...]:
        """What each line tells, (lines,)."""
        nothing: Tells = ""
        return (self.what or (nothing,) * self.value.size)[: self.value.size]

    @property
    def misfit(self) -> Floats:
        """Of each line the variance by which a cook strays from the model besides, (lines,)."""
        what = np.array(self.tells, dtype=np.str_)
        strayed = np.where(what == HOW_LONG, ASTRAY**2, 0.0)
        return np.asarray(np.where(what == OFFSET, (BY_MEAT - 1.0) * self.sd**2, strayed))


@dataclass(frozen=True)
class ThermometerSaid:
    """What a person said outright of the thermometer that spot temperatures are taken with.

    key: of what was said, its own; whose: of whom it is; at_utc: from when it is so
    told: by how much it reads over the truth; None: it is another one since then
    """

    key: str
    whose: str
    at_utc: datetime
    told: HandTold | None = None


@dataclass(frozen=True, eq=False)
class Lessons:
    """All that a house has learned.

    lessons: of all cooks; anew: since when a pit, by its label, is another (a new gasket, moved)
    same: up to when a pit is the same, as somebody said, whatever its cooks seem to tell
    thermometers: what was said of them outright
    """

    lessons: tuple[Lesson, ...] = ()
    anew: Mapping[str, datetime] = field(default_factory=dict)
    same: Mapping[str, datetime] = field(default_factory=dict)
    thermometers: tuple[ThermometerSaid, ...] = ()

    def __reduce__(self) -> tuple[type[Lessons], tuple[object, ...]]:
        """Between processes goes what was learned, and not what was worked out of it."""
        return Lessons, (self.lessons, dict(self.anew), dict(self.same), self.thermometers)

    def of(self, lessons: Sequence[Lesson]) -> Lessons:
        """Others, and what was said of the pits and the thermometers."""
        return replace(self, lessons=tuple(lessons))

    def without(self, cook: str) -> Lessons:
        """As if a cook had not been."""
        return self.of([each for each in self.lessons if each.cook != cook])

    def plus(self, lessons: Sequence[Lesson]) -> Lessons:
        """With more; what was learned of the same item of the same cook before is replaced."""
        new = {(each.cook, each.item) for each in lessons}
        kept = [each for each in self.lessons if (each.cook, each.item) not in new]
        by_time = sorted([*kept, *lessons], key=lambda each: (each.at_utc, each.cook, each.item, each.piece or 0))
        return self.of(by_time)

    def before(self, at: datetime) -> Lessons:
        """What was known at a moment: a cook learns nothing from what comes after it, nor from itself."""
        known = tuple(each for each in self.lessons if each.at_utc < at)
        same = {pit: until for pit, until in self.same.items() if until < at}
        said = tuple(each for each in self.thermometers if each.at_utc < at)
        if (len(known), len(same), len(said)) == (len(self.lessons), len(self.same), len(self.thermometers)):
            return self
        return replace(self, lessons=known, same=same, thermometers=said)

    def first(self, n: int) -> Lessons:
        """As if only the first so many of ``used`` had been."""
        made = self.of(self.used[:n])
        # Its cached property: of those that are there it is the same.
        made.__dict__["_if_same"] = self._if_same[:n, :n]
        return made

    @cached_property
    def used(self) -> tuple[Lesson, ...]:
        """The latest of those that tell something."""
        telling = [each for each in self.lessons if each.value.size or each.hands]
        return tuple(sorted(telling, key=lambda each: each.at_utc)[-MOST_LESSONS:])

    @cached_property
    def doubts(self) -> tuple[float, ...]:
        """How many times as large the errors of each of ``used`` are taken, in variance: the others contradict it."""
        return _doubts(self)

    @cached_property
    def strays(self) -> float:
        """How far the house's cooks stray from what is foretold, over what is thought of cooks.

        A variance of which one knows only that it is about 1 goes with how long all of them took, as far as it was not
        foretold by the others (a scaled inverse chi-square, Gelman et al., Bayesian Data Analysis, from memory).
        """
        long = [np.array([what == HOW_LONG for what in each.tells], dtype=bool) for each in self.used]
        chosen = np.concatenate([np.zeros(0, dtype=bool), *long])
        if not chosen.any():
            return 1.0
        signal, took, rows = _joined(self, self.among)
        error = np.zeros(took.size)
        for each, at, doubt in zip(self.used, rows, self.doubts, strict=True):
            error[at] = (each.sd**2 + OF_MISFIT * each.misfit) * doubt
        root = np.linalg.cholesky((signal + np.diag(error))[np.ix_(chosen, chosen)])
        squares = np.linalg.solve(root, took[chosen]) ** 2
        cooks = np.repeat([each.cook for each in self.used], [one.sum() for one in long])
        # The meats of one cook have its day in common, whatever the levels say: each cook counts once.
        by_cook = [float(squares[cooks == cook].mean()) for cook in dict.fromkeys(cooks)]
        scale = (SURE + sum(by_cook)) / (SURE + len(by_cook))
        return float(np.sqrt(np.clip(scale, LEAST_STRAY, MOST_STRAY)))

    @cached_property
    def lines(self) -> tuple[LinearObs, ...]:
        """Of ``used``, with their doubts, for pieces whose levels are as much wider as the house's cooks stray."""
        return tuple(
            LinearObs(line.slope, line.innovation / self.strays, line.covariance * doubt)
            for line, doubt in zip((each.line for each in self.used), self.doubts, strict=True)
        )

    def hands(self, at: datetime) -> Hands:
        """What is known of those who looked, and of their thermometers, at a moment."""
        told = [*self.of_hands().values(), *((said.at_utc, said.told) for said in self.thermometers if said.told)]
        return hands_of([each for each in told if not self.is_another(each[1], each[0], at)], at)

    def is_another(self, told: HandTold, then: datetime, at: datetime) -> bool:
        """Is the thermometer that something was told of another one by now?"""
        since = [said.at_utc for said in self.thermometers if said.told is None and said.whose == told.by]
        return told.kind == THERMOMETER and any((then < each) != (at < each) for each in since)

    def of_hands(self) -> dict[tuple[str, str, str], tuple[datetime, HandTold]]:
        """By cook, person and scale when it ended and what it told; of its pieces the one that tells most counts."""
        best: dict[tuple[str, str, str], tuple[datetime, HandTold]] = {}
        for lesson in self.lessons:
            for each in lesson.hands:
                key = (lesson.cook, each.by, each.kind)
                if key not in best or each.sd < best[key][1].sd:
                    best[key] = (lesson.at_utc, each)
        return best

    def shares(self, one: Lesson, label: str, kind: str, cut: str, at: datetime) -> tuple[float, float]:
        """Of the pit's and of the item's own, what a lesson has in common with a piece of a later cook."""
        change = self.change(label, kind)
        kept = 1.0 if change is None else change.kept(one.at_utc, at)
        return kept * self._share_if_same(one, label, kind, at), (SAME_SOURCE if one.cut == cut else 0.0)

    def _share_if_same(self, one: Lesson, label: str, kind: str, at: datetime) -> float:
        """Of the pit's own, unless it changed and nobody said so."""
        since = self.anew.get(label)
        mine = one.pit == label and one.kind == kind and (since is None or (one.at_utc < since) == (at < since))
        age_s = abs((at - one.at_utc).total_seconds())
        return float(np.exp(-age_s / PIT_KEEPS_S)) if mine else 0.0

    def change(self, label: str, kind: str) -> Change | None:
        """Since when a pit is likely another one, though nobody said so; None: it seems the same."""
        return next((each for each in self.changes if (each.pit, each.kind) == (label, kind)), None)

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """The pits that are likely others than they were."""
        from pitreckon.reckon.changed import change_of  # noqa: PLC0415  linear algebra that a first cook does without

        used = self.used
        pits = dict.fromkeys((each.pit, each.kind) for each in used if not each.was_said)
        many = {
            pit: len({each.cook for each in used if (each.pit, each.kind) == pit and not each.was_said}) for pit in pits
        }
        found = (change_of(*pit, self.told(*pit), self.same.get(pit[0])) for pit in pits if many[pit] > 1)
        return tuple(each for each in found if each is not None)

    def told(self, label: str, kind: str) -> Told:
        """What all of ``used`` told, for the question whether a pit changed."""
        from pitreckon.reckon.changed import Told  # noqa: PLC0415

        used = self.used
        signal, value, rows = _joined(self, self._if_same)
        error = np.concatenate([np.zeros(0), *[np.diag(each.line.covariance) for each in used]])
        mine = [(each.pit, each.kind) == (label, kind) for each in used]
        own = np.zeros((value.size, len(LASTING)))
        for each, at, here in zip(used, rows, mine, strict=True):
            if here:
                own[at] = (each.slope * each.levels.own)[:, LASTING]
        share = np.array([[self._share_if_same(one, label, kind, each.at_utc) for each in used] for one in used])
        return Told(
            at=[each.at_utc for each in used],
            cook=[each.cook for each in used],
            said=[each.was_said for each in used],
            mine=mine,
            rows=rows,
            error=error,
            value=value,
            covariance=signal + np.diag(error),
            own=own,
            share=share,
        )

    def correlation(self, one: Lesson, levels: Levels, place: tuple[str, str, str, datetime]) -> Floats:
        """Of the unknowns of a lesson's piece and of another; ``place``: its pit, the pit's kind, its cut, its time."""
        pit, item = self.shares(one, *place)
        return one.levels.correlation(levels, same_pit=pit, same_item=item, another_day=True)

    def _between(self, one: Lesson, other: Lesson, pit: float) -> Floats:
        """Of two lessons' pieces; pit: what they have in common of the pit's own."""
        if one.cook == other.cook:
            alike = {"same_pit": one.pit == other.pit, "same_item": one.item == other.item}
            return one.levels.correlation(other.levels, **alike)
        item = SAME_SOURCE if one.cut == other.cut else 0.0
        return one.levels.correlation(other.levels, same_pit=pit, same_item=item, another_day=True)

    def says(self, levels: Levels, place: tuple[str, str, str, datetime]) -> Information:
        """Of the unknowns of a piece; ``place``: as for ``correlation``.

        Where the house's cooks stray further than is thought it takes back some of what the prior says.
        """
        k, many = len(UNKNOWNS), len(self.used)
        if not many:
            return Information.none(k)
        told = self._says(levels, place)
        strays = self.strays
        precision = (np.eye(k) + told.precision) / strays**2
        return Information(precision - np.eye(k), told.vector / strays)

    def _says(self, levels: Levels, place: tuple[str, str, str, datetime]) -> Information:
        """The same of a piece whose levels are as much wider as the house's cooks stray."""
        k, many = len(UNKNOWNS), len(self.used)
        correlation = np.zeros((many + 1, many + 1, k, k))
        correlation[:many, :many] = self.among
        correlation[many, many] = np.eye(k)
        for i, one in enumerate(self.used):
            correlation[i, many] = self.correlation(one, levels, place)
            correlation[many, i] = correlation[i, many].T
        return from_others(many, [*self.lines, _none()], correlation)

    def taught(self, z: Floats, levels: Levels, place: tuple[str, str, str, datetime]) -> Floats:
        """Members of the prior as they are once the house has told what it knows, (unknowns, members).

        The symmetric root keeps each member as near to what it was as can be, so that pieces that share an unknown go
        on sharing it. Nothing learned: the very same members.
        """
        if not self.used:
            return z
        move = self._moves.get((levels, place))
        if move is None:  # a plan asks the same for each way of cooking a piece
            says = self.says(levels, place)
            size, vectors = np.linalg.eigh(np.eye(len(UNKNOWNS)) + says.precision)
            root = vectors / np.sqrt(size) @ vectors.T
            move = self._moves[levels, place] = root, root @ says.vector[:, None]
        root, toward = move
        return np.asarray(root @ (toward + z))

    @cached_property
    def _moves(self) -> dict[tuple[Levels, tuple[str, str, str, datetime]], tuple[Floats, Floats]]:
        """What ``taught`` has worked out: the root, and where the middle goes before it."""
        return {}

    @cached_property
    def among(self) -> Floats:
        """Correlations of the unknowns of all of ``used``, (lesson, lesson, unknown, unknown)."""
        if not self.changes:
            return self._if_same
        out = self._if_same.copy()
        for i, one in enumerate(self.used):
            for j, other in enumerate(self.used[:i]):
                if one.cook != other.cook and (one.pit, one.kind) == (other.pit, other.kind):
                    pit, _ = self.shares(one, other.pit, other.kind, other.cut, other.at_utc)
                    out[i, j] = self._between(one, other, pit)
                    out[j, i] = out[i, j].T
        return out

    @cached_property
    def _if_same(self) -> Floats:
        """The same, unless a pit changed and nobody said so."""
        k, many = len(UNKNOWNS), len(self.used)
        out = np.zeros((many, many, k, k))
        for i, one in enumerate(self.used):
            out[i, i] = np.eye(k)
            for j, other in enumerate(self.used[:i]):
                out[i, j] = self._between(one, other, self._share_if_same(one, other.pit, other.kind, other.at_utc))
                out[j, i] = out[i, j].T
        return out


def _none() -> LinearObs:
    return LinearObs(np.zeros((0, len(UNKNOWNS))), np.zeros(0), np.zeros((0, 0)))


def _joined(lessons: Lessons, among: Floats) -> tuple[Floats, Floats, list[slice]]:
    """Of the lines of all lessons: covariance of what is not error, values, and which rows are whose."""
    lines = [each.line for each in lessons.used]
    ends = np.cumsum([0, *(line.innovation.size for line in lines)])
    rows = [slice(int(a), int(b)) for a, b in pairwise(ends)]
    k = len(UNKNOWNS)
    slope = np.zeros((ends[-1], len(lines) * k))
    for i, (line, at) in enumerate(zip(lines, rows, strict=True)):
        slope[at, i * k : (i + 1) * k] = line.slope
    whole = np.concatenate([np.concatenate(list(row), axis=1) for row in among], axis=0)
    return slope @ whole @ slope.T, np.concatenate([line.innovation for line in lines]), rows


def _doubts(lessons: Lessons) -> tuple[float, ...]:
    """Each held against what all others, as far as they are believed, foretell of it.

    Begun with belief in all; one that is far off bends what is foretold of the others until it is doubted itself, so
    it is done again, half-way each time lest two that contradict each other are believed in turn.
    """
    if not lessons.used:
        return ()
    lines = [each.line for each in lessons.used]
    signal, y, rows = _joined(lessons, lessons.among)
    errors = np.concatenate([np.diag(line.covariance) for line in lines])
    doubt = np.ones(len(lines))
    for turn in range(DOUBTS):
        times = np.concatenate([np.full(line.innovation.size, d) for d, line in zip(doubt, lines, strict=True)])
        inverse = np.linalg.inv(signal + np.diag(times * errors))
        off = inverse @ y
        for i, part in enumerate(rows):
            size = part.stop - part.start
            if size:
                foretold = np.linalg.inv(inverse[part, part])  # covariance of it about what the others foretell
                miss = foretold @ off[part]
                believed = foretold - np.diag((doubt[i] - 1.0) * errors[part])
                square = float(miss @ np.linalg.solve(believed, miss)) / size
                now = max(1.0, square / (float(chdtri(size, UNUSUAL)) / size))
                doubt[i] = now if turn == 0 else np.sqrt(doubt[i] * now)
    return tuple(float(each) for each in doubt)
