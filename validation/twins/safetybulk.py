"""``python -m validation.twins.safetybulk``: verdicts on ten thousand twins, cheap enough to deal where rules decide.

Forty twins share one day: the same words of their cook and the same members, each with a truth of its own, with spot
temperatures or a probe of its own that weigh the members, and a probe that may lie. Some come warmer than their cook
says, are read by an instrument that is off, change it, lose power, or are not whole though their cook says so
(``safetyhostile``). Each is asked at two moments, in the middle of the day and at its end. Its true history, every ten
seconds, is held against the same rules.

A "met" is false when the truth has not met the rule by then; where even the truth cannot be told to the second, it is
counted apart. A false alarm is a "missed" or "not met" where the truth has missed nothing.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from rich.console import Console

from pitreckon.safety.history.bounds import LONGEST_GAP_S
from pitreckon.safety.history.checks import UNCHECKED, UNCHECKED_K, Allowed
from pitreckon.safety.history.fromrun import FASTER, LEAST_FASTEST_K_PER_S
from pitreckon.safety.history.history import MEASURED, RECKONED, History, Phase, Series
from pitreckon.safety.history.middle import SOON_S, Heard, Middle, middle_of
from pitreckon.safety.rules.judge import PieceSafety, judge_piece
from pitreckon.safety.rules.meat import Meat
from validation.twins import safetypage
from validation.twins.run import RESULTS, over
from validation.twins.safetyhostile import Hostile, hostile_of
from validation.twins.safetyplan import Plan, plan_of, truly
from validation.twins.safetypool import Places, cook_steps, members_of, phases_of, twins_of
from validation.twins.store import Row, Store
from validation.twins.streams import one_of, pick, stream

Floats = NDArray[np.float64]
SEED, DAYS, TWINS, MEMBERS = 20260705, 250, 40, 192
FINE_S: Final = 10.0
SPOT_SD_K, TOLD_SD_K, PROBE_SD_K = 1.0, 2.5, 3.0
"""How far a spot temperature is off, how far the members are told it may be, and how far a probe's readings [K]."""
LEAST_LEFT: Final = 32.0
"""Members that count at least: evidence that would leave fewer is taken for less certain."""
LIES: Final = ("gap", "air", "room", "swapped", "stuck", "spikes")
COLUMNS = ("index", "rows", "rule", "basis", "said", "true", "count")


@dataclass(frozen=True)
class Seen:
    """What one cook noted. spots: (time [s], [degC]); probe_s, probe_c: of a probe; probe, hand: their allowances."""

    spots: tuple[tuple[float, float], ...] = ()
    probe_s: Floats = field(default_factory=lambda: np.zeros(0))
    probe_c: Floats = field(default_factory=lambda: np.zeros(0))
    probe: Allowed = UNCHECKED
    hand: Allowed = UNCHECKED


def asked(seed: int, index: int, members: int, twins: int = TWINS) -> list[Row]:
    """Rows of one day: how often each rule said what of what, and what was true."""
    plan = plan_of(seed, index)
    steps = cook_steps(plan, seed, index)
    phases, end_s = phases_of(steps), sum(step.lasts_s for step in steps)
    pool = members_of(plan, steps, members, seed + index)
    hostile = [hostile_of(plan, phases, seed, index, i) for i in range(twins)]
    truths, weather = twins_of(plan, steps, hostile, seed, index)
    counts: Counter[tuple[str, str, str, str]] = Counter()
    for i in range(twins):
        if not np.isfinite(truths.core_c[:, i]).all():
            continue
        for each in asked_of(plan, pool, truths, i, hostile[i], phases, end_s, float(weather[i]), seed, index):
            counts.update([each[:4]])
    rows = [(rule, basis, what, real, str(n)) for (rule, basis, what, real), n in sorted(counts.items())]
    return [dict(zip(COLUMNS, (str(index), str(len(rows)), *row), strict=True)) for row in rows]


def asked_of(
    plan: Plan, pool: Places, truths: Places, i: int, hostile: Hostile, phases: tuple[Phase, ...], end_s: float,
    weather_c: float, seed: int, index: int,
) -> list[tuple[str, str, str, str]]:  # fmt: skip
    """(rule, basis, said, true) of one twin, at both moments."""
    rng = stream(seed, index, f"cook {i}")
    seen = _seen(plan, truths, i, phases, end_s, rng, hostile)
    true_meat = Meat(
        plan.cut.animal,
        hostile.truly or truly(plan.handled, rng),
        plan.cut.kind == "non-intact",
        plan.fat_percent,
        weather_c,
    )
    fat = plan.fat_percent if rng.random() < 0.5 else None
    said_c = float(round(plan.weather_c)) if plan.weather_said else None
    told_meat = Meat(plan.cut.animal, plan.handled, plan.cut.kind == "non-intact", fat, said_c)
    truth = _truth(truths, i, phases, end_s, hostile)
    out = []
    for now_s in (60.0 * np.floor(end_s * float(rng.uniform(0.2, 0.98)) / 60.0), end_s):
        whole = now_s >= end_s
        said = judge_piece("twin", told_meat, _known(plan, pool, seen, phases, end_s, float(now_s), hostile))
        true = judge_piece("truth", true_meat, [truth if whole else truth.until(float(now_s))])
        out += _pairs(said, true)
    return out


def _pairs(said: PieceSafety, true: PieceSafety) -> list[tuple[str, str, str, str]]:
    return [
        (verdict.rule.key, verdict.basis, verdict.verdict, real.verdict)
        for verdict in said.verdicts
        if (real := true.verdict(verdict.rule.key)) is not None
    ]


def _truth(truths: Places, i: int, phases: tuple[Phase, ...], end_s: float, hostile: Hostile) -> History:
    at_s = np.append(np.arange(0.0, end_s, FINE_S), end_s)
    at_s = at_s[np.append(True, np.diff(at_s) > 1e-3)]
    before_s, before_c = hostile.stood()
    places = []
    for place in (truths.core_c, truths.outer_c, truths.face_c):
        here = np.interp(at_s, truths.time_s, place[:, i])
        places.append(Series.of(np.concatenate((before_s, at_s)), np.concatenate((before_c, here))))
    begin_s = float(before_s[0]) if before_s.size else 0.0
    core, outer, face = places
    return History(MEASURED, core, outer, face, phases, begin_s, float(at_s[-1]), over=True)


def _seen(
    plan: Plan, truths: Places, i: int, phases: tuple[Phase, ...], end_s: float, rng: np.random.Generator,
    hostile: Hostile,
) -> Seen:  # fmt: skip
    """What the cook measured: nothing, a few spots, or a probe, well placed or not, that may lie."""
    cook = next(phase for phase in phases if phase.kind == "cook")
    begin_s, off_s = float(cook.begin_s[0]), float(cook.end_s[0])
    if hostile.how == "nothing":
        return Seen()
    if hostile.how == "spots":
        times = np.sort(rng.uniform(begin_s + 0.3 * (off_s - begin_s), off_s, int(rng.integers(1, 4))))
        if rng.random() < 0.5:  # when it goes on, too
            times = np.concatenate(([begin_s + float(rng.uniform(0.0, 300.0))], times))
        off_k = np.clip(hostile.hand_k + rng.normal(0.0, SPOT_SD_K, times.size), -UNCHECKED_K, UNCHECKED_K)
        values = np.interp(times, truths.time_s, truths.core_c[:, i]) + off_k
        return Seen(tuple(zip(times.tolist(), values.tolist(), strict=True)))
    until_s = end_s if rng.random() < 0.5 else min(off_s + 1800.0, end_s)
    every_s = one_of(rng, (10.0, 60.0, 60.0, 300.0, 900.0, 1800.0))
    at_s = np.arange(begin_s + float(rng.uniform(0.0, every_s)), min(until_s, hostile.lost_s), every_s)
    short = pick(
        rng, {0.0: 6.0, 0.5: 2.0, 1.0: 1.0}
    )  # the tip stops so far on the way from the middle to a third of it
    line = (1.0 - short) * truths.core_c[:, i] + short * np.maximum(truths.tip_c[:, i], truths.core_c[:, i])
    values = np.interp(at_s, truths.time_s, line) + hostile.off_k(at_s)
    if rng.random() < 0.4 and at_s.size > 3:
        values = _lie(values, at_s, plan.set_c + hostile.air_k, rng)
    return Seen((), at_s, np.round(values, 1), hostile.probe)


def _lie(values: Floats, at_s: Floats, pit_c: float, rng: np.random.Generator) -> Floats:
    out, kind = values.copy(), one_of(rng, LIES)
    a = int(rng.integers(0, at_s.size - 1))
    b = int(np.searchsorted(at_s, at_s[a] + float(rng.choice([300.0, 1800.0, 7200.0, 36000.0])))) + 1
    here = slice(a, min(b, at_s.size))
    follows = np.exp(-(at_s[here] - at_s[a]) / 40.0)
    match kind:
        case "gap":
            out[here] = np.nan
        case "air":
            out[here] = pit_c + (values[here] - pit_c) * follows
        case "room":
            out[here] = 20.0 + (values[here] - 20.0) * follows
        case "swapped":
            out[here] = values[here] + float(rng.choice([-1.0, 1.0])) * float(rng.uniform(8.0, 50.0))
        case "stuck":
            out[here] = out[a]
        case _:
            out[rng.integers(a, here.stop, 3)] = rng.uniform(-40.0, 300.0, 3)
    return out


def _known(
    plan: Plan, pool: Places, seen: Seen, phases: tuple[Phase, ...], end_s: float, now_s: float, hostile: Hostile
) -> list[History]:
    """What is known at a moment: members by what was seen until then, and a probe's own history."""
    good = np.asarray(np.isfinite(pool.core_c).all(axis=0))
    wrong = np.zeros(pool.core_c.shape[1])
    for at_s, value_c in seen.spots:
        if at_s <= now_s:
            wrong += (((_at(pool.core_c, pool, at_s)) - value_c) / TOLD_SD_K) ** 2
    middle = _middle(plan, pool, seen, phases, now_s)
    if middle is not None and seen.probe_s.size and middle.used_s.size:
        used = middle.series.marks == MEASURED
        wrong += _against(pool, middle.series.at_s[used], middle.series.temp_c[used, 0], phases)
    weights = np.where(good, _tempered(wrong, good), 0.0)

    def series(values: Floats) -> Series:
        return Series.reckoned(pool.time_s, values[:, good]).until(end_s)

    on = next(phase for phase in phases if phase.kind == "cook")
    off_s = float(on.end_s[0])
    last_s = np.inf
    heard = seen.probe_s[seen.probe_s <= now_s]
    if heard.size:
        last_s = (
            float(
                max(
                    [*heard[np.isfinite(seen.probe_c[: heard.size])], *([] if middle is None else middle.used_s)],
                    default=0.0,
                )
            )
            + LONGEST_GAP_S
        )
    reckoned = History(
        *(RECKONED, series(pool.core_c), series(pool.outer_c), series(pool.face_c), phases, 0.0),
        end_s=end_s,
        over=True,
        weights=weights[good] / weights[good].sum(),
        before=np.full(int(good.sum()), 1.0 / good.sum()),
        blind_s=last_s if last_s < min(off_s, now_s) else np.inf,
        start_seen=middle is not None and middle.start_seen,
        began_c=-np.inf if middle is None else middle.began_c,
    )
    if now_s < end_s:
        reckoned = reckoned.until(now_s)
    if middle is None:
        return [reckoned]
    known = tuple(phase.until(now_s) for phase in phases if phase.begin_s[0] <= now_s)
    measured = History(
        *(MEASURED, middle.series, None, None, known, 0.0, min(now_s, end_s)),
        over=now_s >= end_s,
        error_k=middle.error_k,
        start_seen=middle.start_seen,
        warms_k_per_s=middle.warms_k_per_s,
    )
    return [measured, reckoned]


def _against(pool: Places, at_s: Floats, temp_c: Floats, phases: tuple[Phase, ...]) -> Floats:
    """How far the members are from a probe's readings; where the tip sits in each is not known."""
    off_s = float(next(phase for phase in phases if phase.kind == "cook").end_s[0])
    inside = at_s <= off_s
    if not inside.any():
        return np.zeros(pool.core_c.shape[1])
    some = np.unique(np.linspace(0, int(inside.sum()) - 1, 4).astype(int))
    tip = np.abs(np.random.default_rng(1).normal(0.0, 0.5, pool.core_c.shape[1]))
    wrong = np.zeros(pool.core_c.shape[1])
    for at, value in zip(at_s[inside][some], temp_c[inside][some], strict=True):
        middle, outer = _at(pool.core_c, pool, float(at)), _at(pool.tip_c, pool, float(at))
        wrong += ((middle + np.minimum(tip, 1.0) * (outer - middle) - value) / PROBE_SD_K) ** 2 / 2.0
    return wrong


def _at(values: Floats, pool: Places, at_s: float) -> Floats:
    k = int(np.clip(np.searchsorted(pool.time_s, at_s), 1, pool.time_s.size - 1))
    share = (at_s - pool.time_s[k - 1]) / (pool.time_s[k] - pool.time_s[k - 1])
    return np.asarray((1.0 - share) * values[k - 1] + share * values[k])


def _tempered(wrong: Floats, good: NDArray[np.bool_]) -> Floats:
    """Weights by how well each member fits, flattened until enough of them count."""
    wrong = np.where(good, wrong, np.inf)
    for power in 0.7 ** np.arange(40):
        weights = np.exp(-0.5 * power * (wrong - wrong[good].min()))
        if weights.sum() ** 2 / (weights**2).sum() >= min(LEAST_LEFT, 0.5 * float(good.sum())):
            break
    return np.asarray(weights / weights.sum())


def _middle(plan: Plan, pool: Places, seen: Seen, phases: tuple[Phase, ...], now_s: float) -> Middle | None:
    """As ``safety.history`` makes it of a ledger; seconds of a thawed piece run from its thawing on."""
    here = seen.probe_s <= now_s
    slopes = np.abs(np.diff(pool.core_c, axis=0)) / np.diff(pool.time_s)[:, None]
    on = next(phase for phase in phases if phase.kind == "cook")
    begin_s, off_s = float(on.begin_s[0]), float(on.end_s[0])
    told_c = plan.item.start_c if begin_s == 0.0 else None
    heard = Heard(
        seen.probe_s[here],
        seen.probe_c[here],
        spots=tuple((at, value) for at, value in seen.spots if at <= now_s),
        air=(np.array([begin_s, off_s]), np.full(2, plan.set_c)),
        off_pit_s=off_s,
        told_c=told_c if plan.start_said else None,
        taken_c=told_c,
        probe=seen.probe,
        hand=seen.hand,
    )
    soon = slice(*np.searchsorted(pool.time_s[:-1], (begin_s, begin_s + SOON_S)))
    fastest = [max(FASTER * float(np.nanmax(s, initial=0.0)), LEAST_FASTEST_K_PER_S) for s in (slopes, slopes[soon])]
    return middle_of(heard, *fastest)


def run(
    days: int, *, seed: int = SEED, members: int = MEMBERS, folder: Path = RESULTS.parent / "safety",
    fresh: bool = False, workers: int | None = None,
) -> list[Row]:  # fmt: skip
    """Rows of the first days of a seed; those in the folder are taken as they are."""
    store = Store(folder, f"hostile-seed-{seed}-members-{members}", COLUMNS)
    if fresh:
        store.clear()
    done = store.rows()
    left = [i for i in range(days) if i not in done]
    for index, rows in over(asked, left, seed, members, workers or 2):
        store.add(index, rows)
        done[index] = rows
    return [row for i in sorted(done) if i < days for row in done[i]]


def main() -> None:
    """Ask, count, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.safetybulk", description=__doc__)
    parser.add_argument("--days", type=int, default=DAYS, help=f"of {TWINS} twins each")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--fresh", action="store_true", help="forget the rows of earlier runs")
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--write", action="store_true", help="put the table into validation/README.md")
    given = parser.parse_args()
    rows = run(given.days, seed=given.seed, members=given.members, fresh=given.fresh, workers=given.workers)
    made = safetypage.text(rows, days=given.days, twins=TWINS, seed=given.seed, members=given.members)
    Console(soft_wrap=True).print(made, highlight=False)
    if given.write:
        safetypage.write(made)


if __name__ == "__main__":
    main()
