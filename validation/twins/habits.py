"""What the cook does: comes by, looks, feeds the fire, and ends each stage at the first visit at which it is due.

A cook comes by every 20 to 60 minutes (sooner over quick pieces), about twice as often when it is nearly there, sleeps
through part of a long night, and hears an alarm where a probe watches the core. Where it takes far longer than such a
piece usually does, he sets the pit higher. Every visit opens the lid; none of that is in the ledger but the acts.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from pitreckon.cook import StagePlan
from pitreckon.section.trace import Trace
from validation.twins import truth
from validation.twins.deal import Twin
from validation.twins.fire import KNOT_S, Opening

GIVEN_UP_S = 26 * 3600.0
"""A cook whose meat is not done by then is dealt anew: nobody waits so long."""
NEAR = {"colour": 0.65, "tender": 0.8, "core": 0.72, "glaze": -9.0}
"""Progress from which a cook comes by more often; a glaze is watched from the start."""
LEAST_GAP_S = 360.0
FEEDS_AT_K = 8.0
PATIENCE = (1.35, 1.7, 2.1)
"""When the pit is set higher, over the usual time."""
RAISED_K = 14.0


@dataclass(frozen=True)
class Visit:
    """One walk to the pit [s since put-on]; ``act``: what was done to the meat, "" for a look only."""

    at_s: float
    lasting_s: float
    fed: bool = False
    act: str = ""
    wrap: str = ""
    raised_k: float = 0.0

    @property
    def opening(self) -> Opening:
        """The open lid that goes with it."""
        return Opening(self.at_s, self.lasting_s, self.fed, self.raised_k)


@dataclass(frozen=True)
class Habit:
    """How this cook goes about it."""

    every_s: float
    sleeps: tuple[float, float]
    alarm: bool


@dataclass
class Life:
    """A whole cook as it went. ``thick``, ``thin``: traces of the piece's two ends; ``ends_s``: of its stages."""

    ends_s: list[float] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    thick: Trace | None = None
    thin: Trace | None = None

    @property
    def openings(self) -> list[Opening]:
        """Every opening of the lid so far."""
        return [visit.opening for visit in self.visits]


def habit_of(twin: Twin) -> Habit:
    """Draw a cook's habits."""
    rng = twin.stream("habit")
    usual = twin.usual_s
    every = min(float(rng.uniform(1200.0, 3600.0)), float(rng.uniform(0.12, 0.22)) * usual)
    sleeps = (np.inf, np.inf)
    if usual > 9 * 3600.0 and rng.random() < 0.35:
        start = float(rng.uniform(1.0, 3.0)) * 3600.0
        sleeps = (start, start + float(rng.uniform(5.0, 6.5)) * 3600.0)
    return Habit(max(every, LEAST_GAP_S), sleeps, alarm=twin.kind in {"probe", "all"})


def live(twin: Twin) -> Life | None:
    """Cook the piece; None where it would not be done in ``GIVEN_UP_S``."""
    habit = habit_of(twin)
    life = Life()
    for i, stage in enumerate(twin.stages):
        if not _through(twin, habit, life, i, stage):
            return None
    until = life.ends_s[-1]
    life.thick = truth.follow(twin, life.ends_s, life.openings, until)
    life.thin = truth.follow(twin, life.ends_s, life.openings, until, thin=True)
    return life


def _through(twin: Twin, habit: Habit, life: Life, i: int, stage: StagePlan) -> bool:
    """Add one stage to the life: its visits and its end."""
    rng = twin.stream(f"stage {i}")
    begin = life.ends_s[-1] if life.ends_s else 0.0
    if stage.until.ends_by == "minutes":
        end = _on_knot(begin + (stage.until.duration_s or 0.0) * float(rng.uniform(0.9, 1.35)))
        if stage.kind in truth.ON_PIT:
            life.visits.append(acting(twin, i, end, rng))
        life.ends_s.append(end)
        return True
    trace = _until_met(twin, life, life.openings, stage, begin)
    met = truth.met_s(twin, trace, stage, begin)
    visits = _schedule(twin, habit, life, stage, trace, begin, met + 3.0 * habit.every_s, rng)
    # The visits open the lid and delay what they look for, or hasten it: run it again with them.
    trace = _until_met(twin, life, [*life.openings, *(v.opening for v in visits)], stage, begin)
    met = truth.met_s(twin, trace, stage, begin)
    if not np.isfinite(met):
        return False
    if habit.alarm and stage.until.ends_by == "core":
        end = _on_knot(met + float(rng.uniform(60.0, 600.0)))
    else:
        due = [v.at_s for v in visits if v.at_s >= met]
        end = due[0] if due else _on_knot(met + float(rng.uniform(60.0, 600.0)))
    life.visits += [v for v in visits if v.at_s < end - KNOT_S]
    life.visits.append(acting(twin, i, end, rng))
    life.ends_s.append(end)
    return True


def _until_met(twin: Twin, life: Life, openings: list[Opening], stage: StagePlan, begin_s: float) -> Trace:
    """A run that is long enough for the present stage's criterion, or as long as anybody waits."""
    guess = max(1.15 * twin.usual_s, begin_s + 0.3 * twin.usual_s)
    if stage.kind == "sauced":
        guess = begin_s + 2400.0
    while True:
        trace = truth.follow(twin, life.ends_s, openings, min(guess, GIVEN_UP_S))
        if np.isfinite(truth.met_s(twin, trace, stage, begin_s)) or guess >= GIVEN_UP_S or trace.failed:
            return trace
        guess = begin_s + 1.7 * (guess - begin_s)


def _schedule(
    twin: Twin,
    habit: Habit,
    life: Life,
    stage: StagePlan,
    trace: Trace,
    begin_s: float,
    until_s: float,
    rng: np.random.Generator,
) -> list[Visit]:
    far = truth.progress(twin, trace, stage)
    fed = max([v.at_s for v in life.visits if v.fed], default=0.0)
    every = float(rng.uniform(300.0, 480.0)) if stage.kind == "sauced" else habit.every_s
    raised = sum(v.raised_k > 0.0 for v in life.visits)
    visits: list[Visit] = []
    at = begin_s
    while at < min(until_s, GIVEN_UP_S):
        row = min(int(at // KNOT_S), far.size - 1)
        near = far[row] >= NEAR[stage.until.ends_by] and stage.kind != "sauced"
        at = _on_knot(at + max(every * float(rng.uniform(0.7, 1.3)) * (0.5 if near else 1.0), 240.0))
        if habit.sleeps[0] <= at < habit.sleeps[1]:
            at = _on_knot(habit.sleeps[1])
        feeds = float(twin.fire.fade_k(np.array(at - fed))) > FEEDS_AT_K
        fed = at if feeds else fed
        lasting = float(rng.uniform(8.0, 35.0)) + (60.0 if feeds else 0.0)
        impatient = raised < len(PATIENCE) and stage.kind != "sauced" and at > PATIENCE[raised] * twin.usual_s
        raised += impatient
        visits.append(Visit(at, lasting, feeds, raised_k=RAISED_K if impatient else 0.0))
    return visits


def acting(twin: Twin, i: int, at_s: float, rng: np.random.Generator) -> Visit:
    """The visit that ends stage ``i``."""
    following = twin.stages[i + 1] if i + 1 < len(twin.stages) else None
    kind = following.kind if following is not None else "rest"
    act = {"wrapped": "wrapped", "sauced": "sauced", "open": "unwrapped"}.get(kind, "took off")
    wrap = following.wrap or "" if following is not None and kind == "wrapped" else ""
    return Visit(at_s, float(rng.uniform(40.0, 120.0)), act=act, wrap=wrap)


def _on_knot(at_s: float) -> float:
    return float(np.ceil(at_s / KNOT_S) * KNOT_S)
