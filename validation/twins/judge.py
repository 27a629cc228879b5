"""Asks the forecaster about a twin cook at the moments that count, and scores what it says."""

from __future__ import annotations

import math
import time
from collections.abc import Container

import numpy as np
from numpy.typing import NDArray

from pitreckon.ledger import Ledger, Look
from pitreckon.reckon.forecast import ItemRun, reckon_runs
from pitreckon.units import instant_after
from validation.twins import scores, timetable
from validation.twins.baselines import straight_line_s
from validation.twins.day import Day
from validation.twins.deal import ITEM
from validation.twins.regression import features
from validation.twins.store import Row

Floats = NDArray[np.float64]

CAP_S = 30 * 3600.0
"""Members that never reach a mark count as reaching it then [s since put-on], in the CRPS."""
EARLIEST_S = 300.0
NOT_YET = "ready"
LEAST_LEFT = 1e-6
LEVELS = {"p05": 0.05, "p25": 0.25, "p50": 0.5, "p75": 0.75, "p95": 0.95}
COLUMNS = (
    *(
        "world",
        "seed",
        "index",
        "rows",
        "kind",
        "members",
        "cut",
        "pit",
        "attempt",
        "mark",
        "by",
        "moment",
        "now",
        "truth",
    ),
    *LEVELS,
    *("crps", "place", "reached", "effective", "tempered", "prior_crps", "timetable", "line_left", "line_by"),
    *("features", "took_s"),
)
"""Times are minutes since put-on; ``line_left`` from now; ``place``: share of the forecast before the truth;
``by``: what "done" is to this cook, tender or core_done; ``kind``: the class of the cook; ``world``: that he is of.
After put-on a forecast is scored as the plain ways are: given that the mark has not come by now. The ledger says so by
a look, "not yet", and what the members still put before now does not count."""


def moments_of(marks: dict[str, float]) -> list[tuple[str, str, float]]:
    """(mark, moment, seconds since put-on) of every question to the forecaster."""
    out = []
    for mark, at_s in marks.items():
        if mark == "glaze_set":  # before it is sauced, it hangs on when the cook cares to come
            continue
        asked = {"put-on": 0.0, "half-way": 0.5 * at_s, "60 min": at_s - 3600.0, "30 min": at_s - 1800.0}
        for moment, now_s in asked.items():
            if moment == "put-on" or now_s >= EARLIEST_S:
                out.append((mark, moment, 60.0 * math.floor(now_s / 60.0)))
    return out


LEARN, LEARN_EVERY_S = "learn", 1200.0
"""Moments at which a rival learns: every twenty minutes, so that it does not know when it will be asked."""


def lessons_of(day: Day) -> list[tuple[float, str]]:
    """(time [s], features) of a cook at all the moments that a rival learns at."""
    at = np.arange(LEARN_EVERY_S, day.marks.get("done", 0.0), LEARN_EVERY_S)
    return [(float(now_s), _features_at(day, float(now_s))[0]) for now_s in at]


def _features_at(day: Day, now_s: float) -> tuple[str, float, str]:
    """What the ledger says by now, the straight line's time left [s] and what it goes by."""
    twin = day.twin
    goal_c = min(twin.meat.value("core_done_c"), twin.meat.value("boil_c") - 1.0)
    until = day.ledger.until(instant_after(twin.put_on_utc, now_s))
    line_s, line_by = straight_line_s(until, now_s, twin.put_on_utc.timestamp(), goal_c)
    usual_s = 3600.0 * timetable.hours(twin.item.cut, twin.fire.set_c, twin.item.mass_kg, "done")
    return features(twin, until, now_s, usual_s, line_s), line_s, line_by


def acts_alone(ledger: Ledger) -> Ledger:
    """What the prior alone is given."""
    return Ledger.of([*ledger.all_acts, *(look for look in ledger.all_looks if look.kind == NOT_YET)])


def with_not_yet(day: Day, now_s: float) -> Ledger:
    """The ledger with the word of the cook at a moment after put-on."""
    if now_s < EARLIEST_S:
        return day.ledger
    word = Look(instant_after(day.twin.put_on_utc, now_s), ITEM, None, NOT_YET, 0.0, "not yet")
    return Ledger.of([*day.ledger.events, word])


def given_not_yet(values: Floats, weights: Floats, now_s: float) -> tuple[Floats, Floats]:
    """A forecast without what lies before now; where nothing is left, between now and half as long again."""
    if now_s < EARLIEST_S:
        return values, weights
    left = ~(values <= now_s) & (weights > 0.0)  # never is later than now
    if weights[left].sum() < LEAST_LEFT:
        return now_s * np.linspace(1.02, 1.5, 7), np.ones(7)
    return values[left], weights[left]


def judge(day: Day, members: int, only: Container[tuple[str, str]] | None = None) -> list[Row]:
    """Every score of one cook, or only those of some (mark, moment), as rows of text."""
    twin = day.twin
    questions = [each for each in moments_of(day.marks) if only is None or each[:2] in only]
    lessons = lessons_of(day) if only is None else []
    asked: dict[float, tuple[ItemRun, ItemRun, float]] = {}
    rows = []
    for mark, moment, now_s in questions:
        if now_s not in asked:
            began = time.perf_counter()
            told = with_not_yet(day, now_s)
            run = _ask(day, told, now_s, members)
            took_s = time.perf_counter() - began
            # Half as many tell as much: an ensemble's CRPS is too high by about one part in its size.
            prior = _ask(day, acts_alone(told), now_s, max(members // 2, 32))
            asked[now_s] = (run, prior, took_s)
        run, prior, took_s = asked[now_s]
        truth = day.marks[mark]
        values, weights = given_not_yet(*forecast_of(run, mark, twin.done_mark), now_s)
        prior_values, prior_weights = given_not_yet(*forecast_of(prior, mark, twin.done_mark), now_s)
        usual_h = timetable.hours(
            twin.item.cut,
            twin.fire.set_c,
            twin.item.mass_kg,
            mark,
            sum(s.until.duration_s or 0.0 for s in twin.stages if s.kind == "rest"),
            sauced="glaze_set" in day.marks,
        )
        line_s, line_by, told_of = float("nan"), "", ""
        if mark == "done":
            told_of, line_s, line_by = _features_at(day, now_s)
        rows.append(
            {
                "world": twin.world,
                "seed": str(twin.seed),
                "index": str(twin.index),
                "rows": str(len(questions) + len(lessons)),
                "kind": twin.kind,
                "members": str(members),
                "cut": twin.item.cut,
                "pit": twin.fire.pit.key,
                "attempt": str(twin.attempt),
                "mark": mark,
                "by": twin.done_mark if mark == "done" else "",
                "moment": moment,
                "now": minutes(now_s),
                "truth": minutes(truth),
                **{name: minutes(scores.quantile(values, weights, level)) for name, level in LEVELS.items()},
                "crps": minutes(scores.crps(values, weights, truth, CAP_S)),
                "place": f"{scores.place(values, weights, truth):.3f}",
                "reached": f"{float(weights[np.isfinite(values)].sum() / weights.sum()):.3f}",
                "effective": f"{getattr(run.evidence, 'ess', math.nan):.0f}",
                "tempered": f"{getattr(run.evidence, 'tempering_exponent', math.nan):.2f}",
                "prior_crps": minutes(scores.crps(prior_values, prior_weights, truth, CAP_S)),
                "timetable": minutes(3600.0 * usual_h),
                "line_left": minutes(line_s),
                "line_by": line_by,
                "features": told_of,
                "took_s": f"{took_s:.2f}",
            }
        )
    for now_s, told_of in lessons:
        row = dict.fromkeys(COLUMNS, "") | {
            "world": twin.world,
            "seed": str(twin.seed),
            "index": str(twin.index),
            "kind": twin.kind,
            "rows": str(len(questions) + len(lessons)),
            "cut": twin.item.cut,
            "mark": "done",
            "moment": LEARN,
            "now": minutes(now_s),
            "truth": minutes(day.marks["done"]),
            "features": told_of,
        }
        rows.append(row)
    return rows


def minutes(seconds: float) -> str:
    """Seconds as minutes with one decimal; "" for no number."""
    return "" if math.isnan(seconds) else f"{seconds / 60.0:.1f}"


def _ask(day: Day, ledger: Ledger, now_s: float, members: int) -> ItemRun:
    now = instant_after(day.twin.put_on_utc, now_s)
    _, runs = reckon_runs(day.twin.cook, ledger, now=now, members=members, seed=day.twin.index + 1, threads=1)
    return runs[0]


def forecast_of(run: ItemRun, mark: str, done_mark: str) -> tuple[Floats, Floats]:
    """Times of a mark over the members [s since put-on], nan for never, and their weights."""
    weights = np.where(np.isnan(run.trace.failed_s), run.evidence.weights, 0.0)
    return run.trace.mark(done_mark if mark == "done" else mark), weights


__all__ = ["CAP_S", "COLUMNS", "ITEM", "acts_alone", "forecast_of", "judge", "moments_of"]
