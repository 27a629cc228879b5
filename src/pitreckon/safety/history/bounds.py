"""Bounds of a temperature between samples: what surely was, and what may have been.

Between two samples at most half an hour apart a place is taken to have been no colder and no hotter than the two, as
the guideline that asks for a reading every 30 min lets one do (FSIS-GD-2021-14, p. 73-75). No credit is given for the
part of a straight line that lies past a limit: where only one of two samples is past it, the stretch between them
is not. Whoever says that something was *not* reached must allow for a peak between the samples, as high as the piece
has shown itself able to change, and half as fast again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Bools, Floats

LONGEST_GAP_S: Final = 1800.0
"""Longest gap between samples that a line may cross [s]: FSIS-GD-2021-14, p. 75."""
CLIMB, LEAST_CLIMB_K_PER_S = 1.5, 0.002
"""How much faster than its fastest seen a piece may have warmed unseen, and the least that is allowed for
(common practice, no source)."""
UNSEEN_CLIMB_K_PER_S: Final = 0.1
"""Where a stretch is not known it may have climbed faster than anywhere else: so fast at least, as no meat does."""
SLACK_S: Final = 1e-6
SLACK_K: Final = 1e-9


@dataclass(frozen=True)
class Path:
    """Nodes and the intervals between them; every moment of the history lies in one.

    at_s: (nodes,) [s]; temp_c: (nodes, members) [degC], nan where not known
    low_c, high_c: bounds in each interval by the two nodes, (intervals, members); -inf and inf where nothing is known
    peak_c: the upper bound when a peak between the nodes is allowed for
    there: is there anything of the member in this interval?
    error_k: what is to be taken off or put on a sample, whichever is worse; the bounds have it
    """

    at_s: Floats
    temp_c: Floats
    low_c: Floats
    high_c: Floats
    peak_c: Floats
    there: Bools
    error_k: float

    @classmethod
    def unknown(cls, begin_s: float, end_s: float, members: int) -> Path:
        """A stretch of which nothing is known."""
        none = np.zeros(0, dtype=bool)
        return cls.through(np.zeros(0), np.zeros((0, members)), none, begin_s, end_s, 0.0, ends_itself=False)

    @classmethod
    def through(
        cls, at_s: Floats, temp_c: Floats, joined: Bools, begin_s: float, end_s: float, error_k: float, *,
        ends_itself: bool,
    ) -> Path:  # fmt: skip
        """Through used samples, shape (n,) and (n, members); ``joined`` (n - 1,): a line may run between them.

        ends_itself: a member's nan after its last number is the end of its day, not a gap
        """
        members = temp_c.shape[1]
        nothing = np.full((1, members), np.nan)
        if at_s.size == 0 or at_s[0] > begin_s:
            at_s, temp_c = np.insert(at_s, 0, begin_s), np.vstack((nothing, temp_c))
            joined = np.insert(joined, 0, False) if at_s.size > 1 else joined
        if at_s[-1] < end_s:
            at_s, temp_c = np.append(at_s, end_s), np.vstack((temp_c, nothing))
            joined = np.append(joined, False)
        gap_s = np.diff(at_s)[:, None]
        a, b = temp_c[:-1], temp_c[1:]
        known = np.isfinite(a) & np.isfinite(b) & joined[:, None]
        lower, upper = np.minimum(a, b), np.maximum(a, b)
        spread = upper - lower
        there = np.ones_like(known)
        if ends_itself:
            alive = np.flip(np.logical_or.accumulate(np.flip(np.isfinite(temp_c), axis=0), axis=0), axis=0)
            there = alive[1:] | ~alive.any(axis=0)
        # By what came before alone: so what is said of an hour stays said, whatever the next one shows.
        fastest = np.maximum.accumulate(np.where(known, spread / gap_s, 0.0), axis=0)
        # What was not known before the first reading says nothing of how fast it changes after it.
        begun = np.logical_or.accumulate(known, axis=0)
        holed = np.logical_or.accumulate(begun & there & ~known, axis=0)
        climb = np.maximum(CLIMB * fastest, np.where(holed, UNSEEN_CLIMB_K_PER_S, LEAST_CLIMB_K_PER_S))
        peak = upper + error_k + np.maximum(0.5 * (climb * gap_s - spread), 0.0)
        return cls(
            *(at_s, temp_c),
            np.where(known, lower - error_k, -np.inf),
            np.where(known, upper + error_k, np.inf),
            np.where(known, peak, np.inf),
            *(there, error_k),
        )

    @property
    def members(self) -> int:
        """How many."""
        return int(self.temp_c.shape[1])

    @property
    def gap_s(self) -> Floats:
        """Length of each interval [s]."""
        return np.diff(self.at_s)

    @property
    def unknown_s(self) -> Floats:
        """How long nothing is known, in each member [s]."""
        nothing = self.there & ~np.isfinite(self.low_c)
        return np.asarray(np.sum(np.where(nothing, self.gap_s[:, None], 0.0), axis=0))

    def overlap_s(self, begin_s: Floats, end_s: Floats) -> Floats:
        """How much of each interval lies in each member's own stretch of time [s], (intervals, members)."""
        first = np.maximum(self.at_s[:-1, None], begin_s[None, :])
        last = np.minimum(self.at_s[1:, None], end_s[None, :])
        return np.asarray(np.where(self.there, np.maximum(last - first, 0.0), 0.0))

    def at(self, when_s: Floats) -> Floats:
        """Temperature at each member's own moment by the straight line [degC]; nan where none runs."""
        when = np.broadcast_to(when_s, (self.members,))
        safe = np.where(np.isfinite(when), when, self.at_s[0])
        member = np.arange(self.members)
        i = np.clip(np.searchsorted(self.at_s, safe, side="right") - 1, 0, max(self.at_s.size - 2, 0))
        if self.at_s.size < 2:
            value = self.temp_c[0]
            return np.asarray(np.where(safe == self.at_s[0], value, np.nan))
        share = (safe - self.at_s[i]) / (self.at_s[i + 1] - self.at_s[i])
        a, b = self.temp_c[i, member], self.temp_c[i + 1, member]
        line = np.where(np.isfinite(self.low_c[i, member]), (1.0 - share) * a + share * b, np.nan)
        line = np.where(share == 0.0, a, np.where(share == 1.0, b, line))
        outside = (share < 0.0) | (share > 1.0) | ~np.isfinite(when)
        return np.asarray(np.where(outside, np.nan, line))


def colder_of(one: Path, other: Path) -> Path:
    """The colder of two places at every moment; not known where either is not."""
    return _of_both(one, other, np.minimum)


def hotter_of(one: Path, other: Path) -> Path:
    """The hotter of two places at every moment; not known where either is not."""
    return _of_both(one, other, np.maximum)


def _of_both(one: Path, other: Path, pick: np.ufunc) -> Path:
    at_s = np.union1d(one.at_s, other.at_s)
    a, b = _on(one, at_s), _on(other, at_s)
    unknown = ~np.isfinite(a[1]) | ~np.isfinite(b[1])
    return Path(
        at_s,
        pick(a[0], b[0]),
        np.where(unknown, -np.inf, pick(a[1], b[1])),
        np.where(unknown, np.inf, pick(a[2], b[2])),
        np.where(unknown, np.inf, pick(a[3], b[3])),
        a[4] | b[4],
        max(one.error_k, other.error_k),
    )


def _on(path: Path, at_s: Floats) -> tuple[Floats, Floats, Floats, Floats, Bools]:
    """A path on a finer grid of times: nodes by straight lines, the bounds of the interval each new one lies in."""
    if at_s.size == path.at_s.size:
        return path.temp_c, path.low_c, path.high_c, path.peak_c, path.there
    k = np.clip(np.searchsorted(path.at_s, at_s, side="right") - 1, 0, path.at_s.size - 2)
    share = ((at_s - path.at_s[k]) / path.gap_s[k])[:, None]
    a, b = path.temp_c[k], path.temp_c[k + 1]
    line = np.where(np.isfinite(path.low_c[k]), (1.0 - share) * a + share * b, np.nan)
    line = np.where(share == 0.0, a, np.where(share == 1.0, b, line))
    temps = np.where((share < 0.0) | (share > 1.0), np.nan, line)
    middle = 0.5 * (at_s[:-1] + at_s[1:])
    i = np.clip(np.searchsorted(path.at_s, middle, side="right") - 1, 0, path.at_s.size - 2)
    return temps, path.low_c[i], path.high_c[i], path.peak_c[i], path.there[i]
