"""The end of the update: straight lines in the logarithm of time, where few members fit what was seen.

Weights say which members fit. Where the evidence is sharp, few are left, and to keep enough of them the likelihood is
tempered, which leaves the forecast wider than it need be and where the members happen to lie. So a straight line is
fitted through the members near the answer: the logarithm of the time at which a stage ends, on all that is not known;
with the linear operator of what was seen (``update``) normal algebra then says where that time lies and how wide it is,
all evidence used. The members are moved there, each by what brings their weighted mean and spread in line: later marks
with it, past and present untouched. (A regression adjustment, as in Beaumont, Zhang and Balding 2002, Genetics 162,
after a tempered importance sampling; from memory.) Chosen on twins of one seed, reported on another
(``validation/README.md``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.reckon.evidence import Predicted
from pitreckon.reckon.met import met_s
from pitreckon.reckon.stages import PIT_KINDS, Stage
from pitreckon.reckon.update import Information, LinearObs, ess, temper
from pitreckon.section.members import Members
from pitreckon.section.records import BLANK
from pitreckon.section.trace import CHANNELS, Trace

HALF = 0.5
"""Share of an ensemble that counts for its fit: those nearer to what was seen count more."""
RIDGE = 0.05
LEAST_KNOWN = 0.5
"""Weight of the members that get to a stage's end, below which no line is drawn."""
MOST_SHIFT = 0.7
"""No member is moved by more than this, of the logarithm of its time."""
MOST_WIDER = 1.5
LEAST_STEP_S = 60.0


@dataclass(frozen=True)
class Pace:
    """How the rest of a course goes, over the run: time ``was`` comes to be time ``then`` [s since put-on].

    was, then: at the present and at the end of each stage that was moved, in order, (knots, members)
    """

    now_s: float
    was: Floats
    then: Floats

    def of(self, times_s: Floats) -> Floats:
        """Times in every member as they come to be, shape (..., members); nan stays nan."""
        flat = np.atleast_2d(times_s)
        out = np.empty_like(flat)
        for m in range(flat.shape[1]):
            was, then = self.was[:, m], self.then[:, m]
            moved = np.interp(flat[:, m], was, then)
            moved = np.where(flat[:, m] > was[-1], flat[:, m] + then[-1] - was[-1], moved)
            out[:, m] = np.where(flat[:, m] <= self.now_s, flat[:, m], moved)
        return out.reshape(np.shape(times_s))

    def take(self, index: np.ndarray) -> Pace:
        """Some of the members."""
        return Pace(self.now_s, self.was[:, index], self.then[:, index])

    def factor(self) -> Floats:
        """How much longer the rest of the moved stages takes, in every member."""
        left = self.was[-1] - self.now_s
        longer = (self.then[-1] - self.now_s) / np.maximum(left, LEAST_STEP_S)
        return np.where(left > LEAST_STEP_S, np.clip(longer, 0.3, 3.0), 1.0)

    def applied(self, trace: Trace, stages: Sequence[Stage]) -> Trace:
        """A trace as it comes to be: the past as it was, every record after the present at its own new time."""
        times = trace.time_s
        ends = self.of(trace.stage_end_s)
        for i, stage in enumerate(stages):
            if stage.plan.until.ends_by == "clock":
                ends[i] = np.maximum(trace.stage_end_s[i], ends[i - 1] if i else 0.0)
        ahead = int(np.searchsorted(times, self.now_s, side="right"))
        if ahead >= times.size:
            return replace(trace, marks_s=self.of(trace.marks_s), stage_end_s=ends)
        source = np.empty((times.size - ahead, trace.members))
        for m in range(source.shape[1]):
            was, then = self.was[:, m], self.then[:, m]
            back = np.interp(times[ahead:], then, was)
            source[:, m] = np.where(times[ahead:] > then[-1], times[ahead:] - then[-1] + was[-1], back)
        high = np.clip(np.searchsorted(times, source), 1, times.size - 1)
        share = np.clip((source - times[high - 1]) / (times[high] - times[high - 1]), 0.0, 1.0)
        recorded = Stretched.of(trace, ahead, high, share)
        return replace(trace, recorded=recorded, marks_s=self.of(trace.marks_s), stage_end_s=ends)


@dataclass(frozen=True)
class Stretched:
    """Records that come to be at other times: reckoned from those as they were run when somebody asks for them.

    ahead: the first record that is moved; high, share: between which of the old ones each lies, as the later one and
    the share of the way there, (written records past ``ahead``, members)
    """

    base: Trace
    ahead: int
    high: NDArray[np.int32]
    share: Floats

    @classmethod
    def of(cls, base: Trace, ahead: int, high: NDArray[np.int64], share: Floats) -> Stretched:
        """Without records past the last one that comes from something written, but for two."""
        written = base.written(CHANNELS[0]).shape[0]
        from_some = np.flatnonzero((high - 1 < written).any(axis=1))
        rows = min(int(from_some[-1]) + 1 + BLANK if from_some.size else BLANK, high.shape[0])
        return cls(base, ahead, high[:rows].astype(np.int32), share[:rows])

    @property
    def shape(self) -> tuple[int, int, int]:
        """Records, channels, members."""
        return self.base.time_s.size, len(CHANNELS), self.base.members

    @property
    def written(self) -> int:
        """Records that are not left out."""
        return self.ahead + int(self.high.shape[0])

    def series(self, channel: int) -> Floats:
        """A channel's written records, shape (written, members)."""
        old = self.base.written(CHANNELS[channel])
        new = np.full((self.written, self.base.members), np.nan)
        new[: min(self.ahead, old.shape[0])] = old[: self.ahead]
        new[self.ahead :] = self._between(old, self.high, self.share)
        return new

    def row(self, channel: int, record: int) -> Floats:
        """A channel at a record, shape (members,)."""
        if record < self.ahead:
            return self.base.row(CHANNELS[channel], record)
        if record >= self.written:
            return np.full(self.base.members, np.nan)
        old, here = self.base.written(CHANNELS[channel]), slice(record - self.ahead, record - self.ahead + 1)
        return np.asarray(self._between(old, self.high[here], self.share[here])[0])

    def take(self, index: NDArray[np.int64]) -> Stretched:
        """Some of the members."""
        return Stretched(self.base.take(index), self.ahead, self.high[:, index], self.share[:, index])

    @staticmethod
    def _between(old: Floats, high: NDArray[np.int32], share: Floats) -> Floats:
        last, member = old.shape[0] - 1, np.arange(old.shape[1])
        low = np.where(high - 1 <= last, old[np.minimum(high - 1, last), member], np.nan)
        up = np.where(high <= last, old[np.minimum(high, last), member], np.nan)
        return np.where(share <= 0.0, low, np.where(np.isfinite(up), (1.0 - share) * low + share * up, up))


def aims_of(stages: Sequence[Stage], *, there: bool = False) -> list[int]:
    """Stages that run or come, and end by what the meat does. there: with one that was felt to be over"""
    return [
        i
        for i, stage in enumerate(stages)
        if stage.ended_utc is None
        and (there or not stage.there)
        and stage.plan.kind in PIT_KINDS
        and stage.plan.until.ends_by in {"colour", "tender", "core"}
    ]


def pace_like(old: Pace, trace: Trace, stages: Sequence[Stage]) -> Pace | None:
    """For the same members under another course: the rest of it takes as much longer as that of the old one."""
    aims = aims_of(stages)
    if not aims:
        return None
    end = trace.stage_end_s[aims[-1]]
    at = np.where(np.isfinite(end), np.maximum(end, old.now_s + 1e-3), old.now_s + 1e-3)
    to = old.now_s + (at - old.now_s) * np.where(np.isfinite(end), old.factor(), 1.0)
    here = np.full(at.size, old.now_s)
    return Pace(old.now_s, np.array([here, at]), np.array([here, to]))


def pace_of(
    trace: Trace,
    stages: Sequence[Stage],
    members: Members,
    z: Floats,
    weights: Floats,
    log_likelihood: Floats,
    predicted: Predicted,
    others: Information,
    now_s: float,
    zero: float,
) -> Pace | None:
    """How the members' futures are to be moved; None: nothing was seen, or no stage that runs or comes ends by itself.

    z: unknowns (unknowns, members); weights, log_likelihood: as the update has them; predicted: what was seen as
    numbers; others: what other pieces say; now_s: the present since put-on; zero: epoch of put-on [s]
    """
    aims = aims_of(stages)
    if not aims or now_s <= 0.0 or not (predicted.value.size or others.precision.any()):
        return None
    ends = trace.stage_end_s
    was, then = [np.full(weights.size, now_s)], [np.full(weights.size, now_s)]
    for i in aims:
        begin = ends[i - 1] if i else np.zeros(weights.size)
        met = ends[i]
        if stages[i].running:
            met = met_s(trace, members, stages[i].plan.until, (begin, ends[i]), now_s, zero)
        moved = _moved(met, z, weights, log_likelihood, predicted, others)
        if moved is None:
            continue
        known = np.isfinite(ends[i])
        at = np.where(known, np.maximum(ends[i], was[-1] + 1e-3), was[-1] + 1e-3)
        to = np.where(known, np.maximum(moved, now_s), now_s)
        was.append(at)
        then.append(np.maximum(np.where(known, to, then[-1]), then[-1] + 1e-3))
    if len(was) == 1:
        return None
    return Pace(now_s, np.array(was), np.array(then))


def _moved(
    met: Floats, z: Floats, weights: Floats, log_likelihood: Floats, predicted: Predicted, others: Information
) -> Floats | None:
    """Where the lines put a stage's end in every member [s since put-on]; None where no line can be drawn."""
    good = np.isfinite(met) & (met > 0.0) & np.isfinite(log_likelihood)
    if good.sum() <= z.shape[0] or weights[good].sum() < LEAST_KNOWN:
        return None
    near = temper(np.where(good, log_likelihood, -np.inf), HALF)
    near = np.where(good, near, 0.0)
    near /= near.sum()
    logs = np.log(np.where(good, met, 1.0))
    mean, sd = _line(logs[good], z[:, good], near[good], predicted.of(good), others)
    w = np.where(good, weights, 0.0)
    w /= w.sum()
    middle = float(w @ logs)
    spread = float(np.sqrt(w @ (logs - middle) ** 2))
    wider = min(sd / max(spread, 1e-6), MOST_WIDER)
    shift = np.clip(mean - middle + (wider - 1.0) * (logs - middle), -MOST_SHIFT, MOST_SHIFT)
    return np.where(good, met * np.exp(shift), np.nan)


class Through:
    """Members through which straight lines are laid by weighted ridge regression; ``near`` sums to 1."""

    def __init__(self, z: Floats, near: Floats) -> None:
        self.near, self._dz = near, z - (z @ near)[:, None]
        self._weighed = self._dz * near
        self._normal = self._weighed @ self._dz.T + RIDGE * np.eye(z.shape[0])
        self._many = ess(near)

    def line(self, value: Floats) -> tuple[Floats, float]:
        """Slopes of a line through what each member has, and the variance that it misses."""
        dy = value - self.near @ value
        slope = np.linalg.solve(self._normal, self._weighed @ dy)
        missed = float(self.near @ (dy - slope @ self._dz) ** 2)
        return np.asarray(slope), missed * self._many / max(self._many - self._dz.shape[0] - 1.0, self._many / 4.0)


def line_through(z: Floats, value: Floats, near: Floats) -> tuple[Floats, float]:
    """A straight line's slopes by weighted ridge regression, and the variance that it misses; ``near`` sums to 1."""
    return Through(z, near).line(value)


def _line(logs: Floats, z: Floats, near: Floats, predicted: Predicted, others: Information) -> tuple[float, float]:
    """Mean and standard deviation of the logarithm of a time, all evidence used; ``near``: weights of the fit."""
    unknowns = z.shape[0]
    seen = others
    if predicted.value.size:
        own = LinearObs.through(z, predicted, near).robust()
        seen = Information.of(own.slope, own.innovation, own.covariance).plus(others)
    covariance = np.linalg.inv(np.eye(unknowns) + seen.precision)
    middle = covariance @ seen.vector
    centre_z, centre = z @ near, float(near @ logs)
    slope, missed = line_through(z, logs, near)
    missed = min(missed, float(near @ (logs - centre) ** 2))
    return centre + float(slope @ (middle - centre_z)), float(np.sqrt(slope @ covariance @ slope + missed))
