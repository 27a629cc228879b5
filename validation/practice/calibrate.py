"""``make calibrate``: the constants fitted together on the fit half of practice and the fit experiments.

Two searches, from the prior's middle and from a drawn point one prior sd off in every number, have to end in one. The
result is data: universals with spreads and correlations; pits and cuts apart, for the forecaster treats what the
model does not know otherwise than what differs from pit to pit and from piece to piece.
"""

from __future__ import annotations

import argparse
import shlex
import sys
import time
import zlib
from pathlib import Path

import numpy as np

from validation.practice import deal, gaussnewton, objective, parameters, runs, table
from validation.practice.gaussnewton import Found
from validation.practice.outcome import Outcome, report, write
from validation.practice.score import tally

TO = Path("build/practice/calibration")
SEED = "pitreckon practice calibrate second start"
MEET_SD = 0.5
"""Two ends are one if no number of theirs lies further apart than this many posterior sd."""


def second_start(count: int) -> np.ndarray:
    """A point one prior sd off in every number, to sides that a seed text decides."""
    rng = np.random.default_rng(zlib.crc32(SEED.encode()))
    return np.where(rng.random(count) < 0.5, -1.0, 1.0)


def arguments() -> argparse.Namespace:
    """What was asked."""
    parser = argparse.ArgumentParser(prog="python -m validation.practice.calibrate", description=__doc__)
    parser.add_argument("--to", type=Path, default=TO, help=f"folder of the result, {TO} by default")
    parser.add_argument(
        "--split", choices=deal.SPLITS, default="half", help="whose fit half; 'half' is the committed deal"
    )
    parser.add_argument("--around-today", action="store_true", help="priors about today's values, not the table's")
    parser.add_argument("--kinds", default=",".join(parameters.KINDS), help="kinds of parameters that are free")
    parser.add_argument("--only", default="", help="names of free parameters, with commas; all by default")
    parser.add_argument("--steps", type=int, default=25, help="steps of a search at the most")
    parser.add_argument("--no-experiments", action="store_true", help="fit on practice alone")
    parser.add_argument("--score-test", action="store_true", help="show the test half too: once, when all is settled")
    parser.add_argument("--once", action="store_true", help="from the first start alone")
    return parser.parse_args()


def main() -> None:
    """Fit, compare, write."""
    wants, began = arguments(), time.perf_counter()
    halves = deal.dealt()[wants.split]
    rows = objective.fitted_rows(halves)
    offered, missing = parameters.match(wants.around_today)
    only = {name.strip() for name in wants.only.split(",") if name.strip()}
    if unknown := only - {p.name for p in offered}:
        sys.exit(f"--only: {', '.join(sorted(unknown))} is not offered. See parameters.csv")
    kinds = wants.kinds.split(",")
    free = [p for p in offered if p.kind in kinds and (not only or p.name in only)]
    cooks = {key for row in rows for key in row.setups}
    free = parameters.used(free, table.setups(), cooks)
    print(f"{len(rows)} rows on {len(cooks)} cooks, {len(free)} constants free")
    print(f"not offered by kernel or catalog ({len(missing)}): {'; '.join(missing) or 'none'}")
    store = runs.Store()
    experiments = () if wants.no_experiments else objective.fit_experiments()
    misfits = objective.Objective(free, rows, experiments, store)
    ends: list[Found] = []
    for name, start in (("first", np.zeros(len(free))), ("second", second_start(len(free)))):
        if ends and wants.once:
            break

        def say(text: str, name: str = name) -> None:
            print(f"{name} start, {time.perf_counter() - began:6.0f} s: {text}", flush=True)

        ends.append(gaussnewton.search(misfits, start, most=wants.steps, say=say))
    best = min(ends, key=lambda found: found.objectives[-1])
    apart = gaussnewton.distance(ends[0], ends[1]) if len(ends) == 2 else None
    if apart is not None:
        far = int(np.argmax(apart))
        met = "one end" if apart[far] <= MEET_SD else "NOT one end"
        print(f"two starts, {met}: furthest apart {apart[far]:.2f} posterior sd ({free[far].name})")
    outcome = Outcome(
        command=shlex.join(["python", "-m", "validation.practice.calibrate", *sys.argv[1:]]),
        seed=f"{deal.SEED} {wants.split}; {SEED}",
        free=free,
        missing=missing,
        found=best,
        apart=apart,
        rows=len(rows),
        experiments=len(experiments),
    )
    write(outcome, wants.to)
    before, after = (runs.scored(table.rows(), store, values) for values in ({}, parameters.values_of(free, best.x)))
    text = report(outcome)
    for half in ("fit", "test") if wants.score_test else ("fit",):
        for when, scored in (("before", before), ("after", after)):
            text += f"{half} half {when}: {tally([s for s in scored if halves[s.row.key] == half])}\n"
    (wants.to / "report.txt").write_text(text, "utf-8")
    print(text)
    print(f"{misfits.cooked} cooks asked for, {store.made} made now; {time.perf_counter() - began:.0f} s")
    print(f"written: {wants.to}")


if __name__ == "__main__":
    main()
