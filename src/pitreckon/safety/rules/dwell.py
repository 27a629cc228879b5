"""Cooking rules: is any row of a table met at the coldest place?"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools, Floats
from pitreckon.safety.history.bounds import SLACK_K, SLACK_S, Path
from pitreckon.safety.history.history import History
from pitreckon.safety.outcome import CLOSE, FAILED, GAPS, MET, NOT_YET, UNSURE, Outcome
from pitreckon.safety.rules.tables import Row
from pitreckon.safety.wording import difference, temperature
from pitreckon.units import format_duration

AFTERWARDS = ("cool", "chilled", "reheat")
"""What is kept and warmed again is judged by rules of its own."""


def first_met(path: Path, rows: Sequence[Row], begin_s: Floats, end_s: Floats) -> tuple[Floats, Floats]:
    """When the first row is surely met in each member [s], nan: never; and its temperature [degC].

    A row counts when the place stayed at or above its temperature for its time without a break, inside
    [begin, end] of each member.
    """
    when, by = _reached(path, [row for row in rows if row.hold_s == 0.0], begin_s, end_s)
    held = [row for row in rows if row.hold_s > 0.0]
    if held:
        held_when, held_by = _held(path, path.low_c, held, begin_s, end_s, np.where(np.isnan(when), np.inf, when))
        sooner = np.where(np.isnan(held_when), False, ~(when <= held_when))
        when, by = np.where(sooner, held_when, when), np.where(sooner, held_by, by)
    return when, by


def span(history: History) -> tuple[Floats, Floats]:
    """Between which times of each member a cooking rule looks [s]."""
    begin = np.full(history.members, history.begin_s)
    return begin, np.minimum(history.begin_of(*AFTERWARDS), history.end_s)


def cooked(history: History, rows: Sequence[Row]) -> tuple[Floats, Floats]:
    """``first_met`` at the middle of a piece; kept with the history, as several rules ask for it."""
    key = tuple(rows)
    if history.whole is not None:  # what is met by its end, the whole of it met by then
        when, by_c = cooked(history.whole, rows)
        done = when <= history.end_s
        return np.where(done, when, np.nan), np.where(done, by_c, np.nan)
    if key not in history.kept:
        history.kept[key] = first_met(history.core_path, rows, *span(history))
    return history.kept[key]


def may_have_met(path: Path, rows: Sequence[Row], begin_s: Floats, end_s: Floats) -> NDArray[np.bool_]:
    """Could a row have been met, for all that the samples say?"""
    inside = path.overlap_s(begin_s, end_s) > 0.0
    at_once = [row.temp_c for row in rows if row.hold_s == 0.0]
    may = np.zeros(path.members, dtype=bool)
    if at_once:
        may |= np.any(inside & (path.peak_c >= min(at_once) - SLACK_K), axis=0)
    held = [row for row in rows if row.hold_s > 0.0]
    if held and not may.all():
        when, _ = _held(path, path.peak_c, held, begin_s, end_s, np.where(may, -np.inf, np.inf))
        may |= np.isfinite(when)
    return may


def _reached(path: Path, rows: Sequence[Row], begin_s: Floats, end_s: Floats) -> tuple[Floats, Floats]:
    """First sample at or above the lowest temperature that asks for no time."""
    none = np.full(path.members, np.nan)
    if not rows:
        return none, none
    least_c = min(row.temp_c for row in rows)
    times = path.at_s[:, None]
    hot = (path.temp_c - path.error_k >= least_c - SLACK_K) & (times >= begin_s) & (times <= end_s)
    when = np.where(hot.any(axis=0), path.at_s[np.argmax(hot, axis=0)], np.nan)
    return when, np.where(np.isnan(when), np.nan, least_c)


def _held(
    path: Path, bound_c: Floats, rows: Sequence[Row], begin_s: Floats, end_s: Floats, by_s: Floats
) -> tuple[Floats, Floats]:
    """When the first row is held long enough; what comes after ``by_s`` of a member is of no interest."""
    temps = np.array([row.temp_c for row in rows])[:, None]
    holds = np.array([row.hold_s for row in rows])[:, None]
    reached = (bound_c >= temps.min() - SLACK_K) & (path.at_s[:-1, None] < by_s)
    of_interest = np.flatnonzero(reached.any(axis=1))
    if not of_interest.size:
        return np.full(path.members, np.nan), np.full(path.members, np.nan)
    span_of = slice(int(of_interest[0]), int(of_interest[-1]) + 1)
    bound_c, reached = bound_c[span_of], reached[span_of]
    lasting_s = path.overlap_s(begin_s, end_s)[span_of]
    starts = np.maximum(path.at_s[:-1, None], begin_s)[span_of]
    if path.members == 1:
        when = _run_of_one(bound_c[:, 0], lasting_s[:, 0], starts[:, 0], temps, holds)
    else:
        when = _runs(bound_c, reached, lasting_s, starts, temps, holds)
    best = np.argmin(when, axis=0)
    soonest = when[best, np.arange(path.members)]
    found = np.isfinite(soonest)
    return np.where(found, soonest, np.nan), np.where(found, temps[best, 0], np.nan)


def _run_of_one(bound_c: Floats, lasting_s: Floats, starts: Floats, temps: Floats, holds: Floats) -> Floats:
    """When each row is held long enough by one long record [s], (rows, 1); inf: never."""
    warm = bound_c[None, :] >= temps - SLACK_K
    total = np.cumsum(np.where(warm, lasting_s, 0.0), axis=1)
    run = total - np.maximum.accumulate(np.where(warm, 0.0, total), axis=1)
    done = run >= holds - SLACK_S
    i = np.argmax(done, axis=1)
    row = np.arange(temps.size)
    when = starts[i] + lasting_s[i] - (run[row, i] - holds[:, 0])
    return np.where(done.any(axis=1), when, np.inf)[:, None]


def _runs(bound_c: Floats, reached: Bools, lasting_s: Floats, starts: Floats, temps: Floats, holds: Floats) -> Floats:
    """When each row is held long enough in each of many members [s], (rows, members); inf: never, or later than
    another row."""
    members = bound_c.shape[1]
    when = np.full((temps.size, members), np.inf)
    so_far = np.zeros_like(when)
    open_still, was = np.ones(members, dtype=bool), np.zeros(members, dtype=bool)
    for i in range(bound_c.shape[0]):
        warm = reached[i] & open_still
        so_far[:, was & ~warm] = 0.0
        was = warm
        some = np.flatnonzero(warm)  # few members are between the coldest row and a row that they have met
        if not some.size:
            continue
        before = so_far[:, some]
        total = np.where(bound_c[i, some] >= temps - SLACK_K, before + lasting_s[i, some], 0.0)
        so_far[:, some] = total
        done = np.where(total >= holds - SLACK_S, starts[i, some] + holds - before, np.inf)
        when[:, some] = done
        open_still[some] = ~np.isfinite(done).any(axis=0)  # a later row cannot be met sooner
    return when


def judge_dwell(history: History, rows: Sequence[Row]) -> Outcome:
    """A cooking rule over the middle of a piece, from the first moment until it is chilled or warmed again."""
    path = history.core_path
    begin, end = span(history)
    when, by_c = cooked(history, rows)
    met = ~np.isnan(when)
    ended = (end < history.end_s) | history.over
    state = np.where(met, MET, NOT_YET)
    if not met.all() and np.any(ended):
        may = may_have_met(path, rows, begin, end)
        state = np.where(~met & ended, np.where(may, UNSURE, FAILED), state)
    hottest = np.max(np.where(np.isfinite(path.temp_c), path.temp_c, -np.inf), axis=0, initial=-np.inf) - path.error_k
    goal_c = min((row.temp_c for row in rows if row.hold_s == 0.0), default=max(row.temp_c for row in rows))
    margin = np.where(np.isfinite(hottest), hottest - goal_c, np.nan)
    why, needs = _unsure(history, float(path.unknown_s.max(initial=0.0)))
    said = ""
    if history.members == 1:
        said = _said(rows, bool(met[0]), float(by_c[0]), float(hottest[0]))
    decided = np.where(state == FAILED, np.minimum(end, history.end_s), when)
    return Outcome(state, decided, margin, "K", "not met", why, needs, said)


def _unsure(history: History, unknown_s: float) -> tuple[str, str]:
    needs = "Measure the thickest part with a thermometer"
    if history.core is None or not history.core.used.any():
        return "there are no usable readings of the middle", needs
    if unknown_s > 0.0:
        return GAPS.format(long=format_duration(unknown_s)), needs
    return CLOSE, "Measure more often near the limit, or hold it there longer"


def _said(rows: Sequence[Row], met: bool, by_c: float, hottest_c: float) -> str:
    if met:
        row = next(row for row in rows if row.temp_c == by_c)
        long = f" for {format_duration(row.hold_s)}" if row.hold_s >= 60.0 else f" for {row.hold_s:g} s"
        return f"{temperature(by_c)}{long if row.hold_s else ' reached'}"
    if not np.isfinite(hottest_c):
        return ""
    goal_c = min((row.temp_c for row in rows if row.hold_s == 0.0), default=max(row.temp_c for row in rows))
    if hottest_c >= goal_c:
        return f"no row was held long enough; the hottest was {temperature(hottest_c, 1)}"
    short = difference(goal_c - hottest_c)
    return f"the hottest was {temperature(hottest_c, 1)}, {short} short of {temperature(goal_c)}"
