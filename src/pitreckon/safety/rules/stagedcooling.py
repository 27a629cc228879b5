"""Rules of cooling in stages, and of reheating: a temperature reached in time."""

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.safety.history.bounds import SLACK_K, SLACK_S, Path
from pitreckon.safety.history.history import History
from pitreckon.safety.outcome import FAILED, MET, NOT_YET, UNSURE, Outcome
from pitreckon.safety.rules.dwell import first_met, may_have_met
from pitreckon.safety.rules.limits import _bounds, _ended, _number, _unsure
from pitreckon.safety.rules.rule import CoolingStage, Rule
from pitreckon.safety.wording import temperature
from pitreckon.units import format_duration


def judge_cooling(rule: Rule, history: History, path: Path) -> Outcome:
    """Every stage of cooling, from the last reading at or above its start to the first at or below its end.

    Only readings bound it, so that a reading that is missing can make it longer and never shorter. A stage is missed
    when a reading above its end lies later than allowed after the first one below its start.
    """
    n = history.members
    begin = history.begin_of("cool")
    over = _ended(history, "cool") | history.over
    state, when, margin = np.full(n, MET), np.full(n, -np.inf), np.full(n, np.inf)
    said = []
    for stage in rule.stages:
        taken_most, taken_least, reached = _taken(stage, path, begin)
        good = taken_most <= stage.most_s + SLACK_S
        bad = ~good & (taken_least > stage.most_s + SLACK_S)
        here = np.where(good, MET, np.where(bad, FAILED, np.where(over | np.isfinite(reached), UNSURE, NOT_YET)))
        rank = np.array([0, 3, 2, 1])  # MET, FAILED, UNSURE, NOT_YET by how much they count
        state = np.where(rank[here] > rank[state], here, state)
        when = np.fmax(when, np.where(good, reached, -np.inf))
        left = stage.most_s - np.where(bad, taken_least, taken_most)
        margin = np.fmin(margin, np.where(np.isfinite(left), left, np.inf))
        if n == 1 and np.isfinite(taken_most[0]):
            ends = f"{temperature(stage.from_c)} to {temperature(stage.to_c)}"
            said.append(f"{ends} in {format_duration(float(taken_most[0]))}")
    why, needs = _unsure(path)
    return Outcome(
        state,
        np.where((state == MET) & np.isfinite(when), when, np.nan),
        np.where(np.isfinite(margin), margin, np.nan),
        *("s", "missed", why, needs, "; ".join(said)),
    )


def _taken(stage: CoolingStage, path: Path, begin_s: Floats) -> tuple[Floats, Floats, Floats]:
    """The longest and the shortest that a stage can have taken [s], and when a reading first was past its end [s].

    Longest inf: its start or its end is in no reading. Shortest is to the last reading above the end.
    """
    times, temps, e = path.at_s[:, None], path.temp_c, path.error_k
    known = np.isfinite(temps)
    below = known & (temps + e < stage.from_c - SLACK_K) & (times >= begin_s)
    first_below = np.where(below.any(axis=0), path.at_s[np.argmax(below, axis=0)], np.inf)
    hot = known & (temps - e >= stage.from_c - SLACK_K) & (times < first_below)
    last = path.at_s.size - 1 - np.argmax(hot[::-1], axis=0)
    from_s = np.where(hot.any(axis=0) & np.isfinite(first_below), path.at_s[last], -np.inf)
    done = known & (temps + e <= stage.to_c + SLACK_K) & (times >= first_below)
    reached = np.where(done.any(axis=0), path.at_s[np.argmax(done, axis=0)], np.inf)
    warm = known & (temps - e > stage.to_c + SLACK_K) & (times >= first_below) & (times < reached)
    last_warm = np.where(warm.any(axis=0), path.at_s[path.at_s.size - 1 - np.argmax(warm[::-1], axis=0)], -np.inf)
    with np.errstate(invalid="ignore"):
        least = last_warm - first_below
    return reached - from_s, np.where(np.isfinite(least), least, -np.inf), reached


def judge_reach(rule: Rule, history: History, path: Path) -> Outcome:
    """A temperature held for its time, soon enough after a phase began."""
    n = history.members
    phase = history.of_kind(*rule.phases)[-1]
    begin, end = _bounds(phase, history)
    latest = end if rule.most_s is None else np.minimum(end, begin + rule.most_s + max(r.hold_s for r in rule.rows))
    when, _ = first_met(path, rule.rows, begin, latest)
    may = may_have_met(path, rule.rows, begin, latest)
    ended = _ended(history, *rule.phases) | history.over
    too_late = np.zeros(n, dtype=bool) if rule.most_s is None else history.end_s > begin + _number(rule.most_s)
    settled = ended | too_late
    met = ~np.isnan(when)
    state = np.where(met, MET, np.where(~settled, NOT_YET, np.where(may, UNSURE, FAILED)))
    margin = np.full(n, np.nan) if rule.most_s is None else begin + rule.most_s - when
    why, needs = _unsure(path)
    return Outcome(state, when, margin, "s", "missed", why, needs)
