"""The temperature history of a piece at its middle and its outside, with what is not known of it."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon.arrays import Bools, Floats
from pitreckon.errors import InputError
from pitreckon.safety.history.bounds import LONGEST_GAP_S, Path

MEASURED, RECKONED, REJECTED, MISSING = "measured", "reckoned", "rejected", "missing"
MARKS: Final = (MEASURED, RECKONED, REJECTED, MISSING)
PHASES: Final = ("thaw", "cook", "rest", "hold", "out", "cool", "chilled", "reheat")
LONE_S: Final = 300.0
"""A single rejected reading with good ones so near on both sides does not part them; anything more does [s]."""

WIDER, MODEL_ERROR_K = 2.0, 2.0
"""Members end somewhere, and the next one drawn may lie beyond: before "met" is said of them, each is taken twice as
far from their mean, and the model as off by so much besides (common practice, no source; held against twin cooks)."""


@dataclass(frozen=True)
class Series:
    """Temperatures of one place.

    at_s: times, rising, shape (samples,) [s]
    temp_c: shape (samples, members) [degC]; one member for what was measured; nan where there is none
    marks: what each sample is, one of ``MARKS``, shape (samples,)
    parted: no line runs from the sample before to this one, as when a probe was moved; shape (samples,)
    """

    at_s: Floats
    temp_c: Floats
    marks: NDArray[np.str_]
    parted: Bools

    @classmethod
    def of(
        cls,
        at_s: ArrayLike,
        temp_c: ArrayLike,
        marks: str | Sequence[str] = MEASURED,
        parted: ArrayLike | None = None,
    ) -> Series:
        """A series; ``marks`` one for all or one each. A value that is no number is missing, whatever it is marked.

        Raises InputError: times that do not rise, shapes that do not fit, a mark that is none
        """
        times = np.array(at_s, dtype=np.float64)
        temps = np.array(temp_c, dtype=np.float64)
        temps = temps[:, None] if temps.ndim == 1 else temps
        n = times.size
        if times.ndim != 1 or temps.ndim != 2 or temps.shape[0] != n:
            raise InputError(
                f"{n} times and temperatures of shape {temps.shape} do not go together", "Give one row of them a time"
            )
        if not np.isfinite(times).all() or (np.diff(times) <= 0.0).any():
            raise InputError("the times of a history do not rise", "Sort them and give each instant once")
        each = np.full(n, marks) if isinstance(marks, str) else np.array(list(marks), dtype=np.str_)
        if each.shape != (n,) or not set(each.tolist()) <= set(MARKS):
            raise InputError("a sample has no mark that is known", f"Mark each as one of {', '.join(MARKS)}")
        none = ~np.isfinite(temps).any(axis=1) & (each != REJECTED)
        each = np.where(none, MISSING, each)
        cut = np.zeros(n, dtype=bool) if parted is None else np.array(parted, dtype=bool)
        return cls(times, np.where(np.isfinite(temps), temps, np.nan), each, cut)

    @classmethod
    def reckoned(cls, at_s: Floats, temp_c: Floats) -> Series:
        """A series from members; a member's nan is the end of its day."""
        n = at_s.size
        return cls(at_s, np.ascontiguousarray(temp_c), np.full(n, RECKONED), np.zeros(n, dtype=bool))

    @property
    def members(self) -> int:
        """How many."""
        return int(self.temp_c.shape[1])

    @property
    def used(self) -> Bools:
        """Which samples count, shape (samples,)."""
        return np.asarray((self.marks == MEASURED) | (self.marks == RECKONED))

    def until(self, at_s: float) -> Series:
        """What of it lies at or before a time; a reckoned one gets a sample there on its straight line."""
        keep = self.at_s <= at_s
        times, temps, marks, parted = self.at_s[keep], self.temp_c[keep], self.marks[keep], self.parted[keep]
        after = int(keep.sum())
        if 0 < after < self.at_s.size and times[-1] < at_s and self.marks[after - 1] == self.marks[after] == RECKONED:
            share = (at_s - times[-1]) / (self.at_s[after] - times[-1])
            here = (1.0 - share) * temps[-1] + share * self.temp_c[after]
            return Series(
                np.append(times, at_s), np.vstack((temps, here)), np.append(marks, RECKONED), np.append(parted, False)
            )
        return Series(times, temps, marks, parted)

    def wider(self, weights: Floats, factor: float) -> Series:
        """The same with every member so much further from their mean at each moment."""
        there = np.isfinite(self.temp_c)
        share = np.where(there, weights, 0.0)
        total = share.sum(axis=1, keepdims=True)
        summed = np.sum(np.where(there, self.temp_c, 0.0) * share, axis=1, keepdims=True)
        mean = np.divide(summed, total, out=np.zeros_like(summed), where=total > 0.0)
        return replace(self, temp_c=mean + factor * (self.temp_c - mean))

    def path(self, begin_s: float, end_s: float, error_k: float) -> Path:
        """Between which bounds the place was at every moment of a stretch of time."""
        used = self.used & (self.at_s >= begin_s) & (self.at_s <= end_s)
        at = np.flatnonzero(used)
        times, temps = self.at_s[at], self.temp_c[at]
        joined = self._joined(at)
        ends_itself = bool(self.used.any()) and bool((self.marks[self.used] == RECKONED).all())
        return Path.through(times, temps, joined, begin_s, end_s, error_k, ends_itself=ends_itself)

    def _joined(self, at: NDArray[np.int64]) -> Bools:
        """May a straight line run from each of these samples to the next?"""
        gap_s = np.diff(self.at_s[at])
        parted = np.diff(np.cumsum(self.parted)[at]) > 0
        rejected = np.diff(np.cumsum(self.marks == REJECTED)[at])
        calm = (rejected == 0) | ((rejected == 1) & (gap_s <= LONE_S))
        return np.asarray((gap_s <= LONGEST_GAP_S) & ~parted & calm)


@dataclass(frozen=True)
class Phase:
    """A stretch of a piece's day: its kind, and when it began and ended [s]; shape (members,) or (1,).

    inf: not yet.
    """

    kind: str
    begin_s: Floats
    end_s: Floats

    @classmethod
    def of(cls, kind: str, begin_s: ArrayLike, end_s: ArrayLike = np.inf) -> Phase:
        """A phase of one of ``PHASES``.

        Raises InputError: no such kind
        """
        if kind not in PHASES:
            raise InputError(f"there is no phase '{kind}'", f"Write one of {', '.join(PHASES)}")
        begin, end = np.atleast_1d(np.asarray(begin_s, float)), np.atleast_1d(np.asarray(end_s, float))
        return cls(kind, begin, end)

    def until(self, at_s: float) -> Phase:
        """As it looked at a time: what ended later had not ended."""
        return Phase(self.kind, self.begin_s, np.where(self.end_s <= at_s, self.end_s, np.inf))


@dataclass(frozen=True)
class History:
    """What is known of a piece, from one basis.

    basis: measured or reckoned
    core: its middle, the coldest place while it heats and the hottest while it cools
    outer: under the face, two thirds of the way from the middle; surface: the face itself. None: not known
    phases: of its day, in order; begin_s, end_s: what the history covers [s]; over: nothing more will happen to it.
        Whoever makes one has to say so: a history that ends a moment before its day does is not over
    weights: of the members, sum 1; error_k: what the instrument may be off by [K], counted against the piece
    learned_k: of that, what is there because the house has learned that a thermometer is off
    before: weights of the members before anything was seen of the piece, sum 1; None: as they are
    blind_s: reckoned: from then on nothing was heard of the piece or its pit while it was on [s]
    began_c: how warm it may have been when it went on, by a reading of soon after and what that may be off [degC]
    warms_k_per_s: how fast its middle can warm; 0: what it was soon after it went on is what it was then
    start_seen: a reading bears out how it began; False: it is told, or taken as usual, and no more
    zero_utc: instant of second 0, if there is one; whole: of which it is the part up to its end;
    kept: what has been worked out from it
    """

    basis: str
    core: Series | None
    outer: Series | None = None
    surface: Series | None = None
    phases: tuple[Phase, ...] = ()
    begin_s: float = 0.0
    end_s: float = 0.0
    over: bool = False
    weights: Floats = field(default_factory=lambda: np.ones(1))
    error_k: float = 0.0
    learned_k: float = 0.0
    before: Floats | None = None
    blind_s: float = np.inf
    start_seen: bool = True
    warms_k_per_s: float = 0.0
    began_c: float = -np.inf
    zero_utc: datetime | None = None
    whole: History | None = field(default=None, compare=False, repr=False)
    kept: dict[Hashable, tuple[Floats, Floats]] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def measured(
        cls, at_s: ArrayLike, core_c: ArrayLike, surface_c: ArrayLike | None = None, **more: object
    ) -> History:
        """One piece's measured temperatures, all good, with its day ending at the last of them; see ``History``."""
        core = Series.of(at_s, core_c)
        surface = None if surface_c is None else Series.of(at_s, surface_c)
        given = {"begin_s": float(core.at_s[0]), "end_s": float(core.at_s[-1]), "over": True} | more
        return cls(MEASURED, core, surface=surface, **given)  # type: ignore[arg-type]

    @property
    def members(self) -> int:
        """How many."""
        return int(self.weights.size)

    def until(self, at_s: float) -> History:
        """The history as it stood at a time, when the piece was not yet through."""

        def cut(series: Series | None) -> Series | None:
            return None if series is None else series.until(at_s)

        return replace(
            self,
            core=cut(self.core),
            outer=cut(self.outer),
            surface=cut(self.surface),
            phases=tuple(phase.until(at_s) for phase in self.phases if phase.begin_s.min() <= at_s),
            end_s=min(self.end_s, at_s),
            over=self.over and self.end_s <= at_s,
            whole=self,
            kept={},
        )

    def of_kind(self, *kinds: str) -> tuple[Phase, ...]:
        """Its phases of some kinds."""
        return tuple(phase for phase in self.phases if phase.kind in kinds)

    def begin_of(self, *kinds: str) -> Floats:
        """When the first phase of some kinds began in each member [s]; inf: never."""
        first = np.full(self.members, np.inf)
        for phase in self.of_kind(*kinds):
            first = np.minimum(first, phase.begin_s)
        return first

    @cached_property
    def wider(self) -> History:
        """The same, as far apart as its members would have to be for their worst to stand for what was not drawn."""

        def of(series: Series | None) -> Series | None:
            return None if series is None else series.wider(self.weights, WIDER)

        return replace(
            self,
            core=of(self.core),
            outer=of(self.outer),
            surface=of(self.surface),
            error_k=max(self.error_k - self.learned_k, MODEL_ERROR_K) + self.learned_k,
            whole=None if self.whole is None else self.whole.wider,
            kept={},
        )

    @cached_property
    def core_path(self) -> Path:
        """Bounds of the middle."""
        return self._path(self.core)

    @cached_property
    def surface_path(self) -> Path:
        """Bounds of the face."""
        return self._path(self.surface)

    @cached_property
    def outer_path(self) -> Path:
        """Bounds of the outer part: under the face if that is known, else the face."""
        return self._path(self.outer if self.outer is not None else self.surface)

    def _path(self, series: Series | None) -> Path:
        end_s = max(self.end_s, self.begin_s)
        if series is None:
            return Path.unknown(self.begin_s, end_s, self.members)
        return series.path(self.begin_s, end_s, self.error_k)
