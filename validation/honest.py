"""``python -m validation.honest``: what an honest cook pays in "cannot tell", through the whole program.

A cook who does all right: meat from the refrigerator, a good probe in the thickest part or a spot temperature at each
act, nothing made up. The true day is one member of an ensemble of its own seed; its forecaster has other members.
Counted are the verdicts at the end of the day: all of them, and those of the rules that decide.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np
from rich.console import Console

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.posterior import posterior
from pitreckon.reckon.prepare import tracks_of
from pitreckon.reckon.summary import stage_ends
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.rules.meat import UNTOUCHED
from pitreckon.units import format_percent

ON: Final = datetime(2026, 10, 17, 6, tzinfo=UTC)
TRUE_SEED, MEMBERS = 77, 128
WAYS: Final = ("probe, whole", "probe, not said", "probe checked, whole", "spots at the acts, whole", "spots, not said")


def _open(core_c: float) -> StagePlan:
    return StagePlan("open", Until("core", core_c))


def _rest(minutes: float) -> StagePlan:
    return StagePlan("rest", Until("minutes", 60.0 * minutes))


FOIL: Final = (_open(74.0), StagePlan("wrapped", Until("core", 94.0), wrap="foil"))
DAYS: Final = (
    ("boston-butt", 3.6, 121.0, "pellet-cooker", (*FOIL, _rest(45))),
    ("boston-butt", 2.7, 135.0, "kettle", (_open(94.0), _rest(45))),
    ("brisket-flat", 2.6, 121.0, "upright-drum", (*FOIL, _rest(45))),
    ("pork-loin", 1.3, 135.0, "oven", (_open(68.0), _rest(15))),
    ("turkey-breast", 2.2, 150.0, "pellet-cooker", (_open(76.0), _rest(15))),
    ("chicken-half", 0.9, 150.0, "kettle", (_open(80.0), _rest(10))),
)
"""Cut, weight [kg], pit set to [degC], pit, course: usual days of the trade (common practice, no source)."""


def ledger_of(cook: Cook, way: str, rng: np.random.Generator, member: int) -> tuple[Ledger, datetime]:
    """What such a cook writes down on a true day, and when it is served."""
    item = cook.items[0]
    track = tracks_of(cook, item, Ledger(), ON, TRUE_SEED)[0]
    run = posterior([track], 64, 1)[0]
    good = np.flatnonzero(np.isfinite(stage_ends(run.trace, track.stages, track.put_on)).all(axis=0))
    i = int(good[member % good.size])
    times, core = run.trace.time_s, run.trace["core_c"][:, i]
    stages = item.stages
    ends = [float(each) for each in stage_ends(run.trace, track.stages, track.put_on)[: len(stages) - 1, i]]
    acts = [Act(ON, item.label, "put on")]
    offs_s = ends[-1]
    if len(ends) > 1:
        acts.append(Act(ON + timedelta(seconds=ends[0]), item.label, "wrapped", "foil"))
    acts.append(Act(ON + timedelta(seconds=offs_s), item.label, "took off"))
    served_s = offs_s + float(stages[-1].until.duration_s or 0.0)
    acts.append(Act(ON + timedelta(seconds=served_s), item.label, "served"))
    off_k = float(np.clip(rng.normal(0.0, 0.4), -1.0, 1.0))
    events: list[Reading | Look | Act] = [*acts]

    def true_c(at_s: float) -> float:
        held = core[np.isfinite(core)]
        return float(np.interp(at_s, times[: held.size], held)) + off_k

    if way.startswith("probe"):
        events += [
            Reading(ON + timedelta(seconds=s), "probe", item.label, None, round(true_c(s), 1))
            for s in np.arange(30.0, served_s, 60.0).tolist()
        ]
        if "checked" in way:
            events.append(Look(ON, item.label, None, "probe check", round(off_k, 1)))
            events.append(Look(ON, item.label, None, "probe check", round(100.0 + off_k, 1)))
    else:
        events += [
            Look(act.at_utc, item.label, None, "spot temperature", round(true_c((act.at_utc - ON).total_seconds()), 1))
            for act in acts
        ]
    return Ledger.of(events), ON + timedelta(seconds=served_s)


def asked(days: int, members: int) -> Iterator[tuple[str, str, str, bool, str]]:
    """(way, cut, rule, governs, what) of every verdict."""
    for n in range(days):
        cut, mass_kg, set_c, pit, stages = DAYS[n % len(DAYS)]
        rng = np.random.default_rng([n, 20260705])
        item = ItemPlan("meat", cut, 1, mass_kg * float(rng.uniform(0.85, 1.15)), "pit", ON, stages=stages)
        for way in WAYS:
            serve = ON + timedelta(hours=16)
            cook = Cook("honest", "UTC", serve, 0.0, 20.0, 0.5, (PitPlan("pit", pit, set_c),), (item,))
            ledger, served = ledger_of(cook, way, np.random.default_rng(n), 7 * n)
            cook = replace(cook, serve_utc=served)
            known = reckoning(cook, ledger, now=served + timedelta(minutes=1), members=members, seed=n + 1, threads=1)
            handled = {"meat": UNTOUCHED} if "whole" in way else {}
            for verdict in judge_cook(known, handled).now[0].verdicts:
                yield way, cut, verdict.rule.key, verdict.rule.governs, verdict.verdict


def main() -> None:
    """Ask, count, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.honest", description=__doc__)
    parser.add_argument("--days", type=int, default=12)
    parser.add_argument("--members", type=int, default=MEMBERS)
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    rows = list(asked(given.days, given.members))
    console.print(f"{given.days} days, {given.members} members: {len(rows)} verdicts")
    for way in WAYS:
        mine = Counter(what for w, _, _, _, what in rows if w == way)
        ruled = Counter(what for w, _, _, governs, what in rows if w == way and governs)
        total, of_ruled = sum(mine.values()), sum(ruled.values())
        silent = format_percent(mine["cannot tell"] / max(total, 1), 1)
        deciding = format_percent(ruled["cannot tell"] / max(of_ruled, 1), 1)
        console.print(f"{way}: {dict(mine)}; cannot tell {silent}, of the deciding ones {deciding}")
        which = Counter((cut, rule) for w, cut, rule, _, what in rows if w == way and what == "cannot tell")
        for (cut, rule), many in which.most_common(12):
            console.print(f"    {cut}, {rule}: {many}")


if __name__ == "__main__":
    main()
