"""``python -m validation.onward``: an update that goes on from the last reckoning, against the whole anew.

Twin cooks of a seed of their own are asked at the moments of ``validation.twins``: once reckoned as a whole, once from
a reckoning of some minutes earlier (``reckon.onward``). Both answer the same cook with the same number of members, so
that what differs is what going on costs in honesty and sharpness, and what it saves in processor time.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

import numpy as np
from rich.progress import track

from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.onward import onward
from pitreckon.reckon.summary import ItemRun
from pitreckon.units import instant_after
from validation.marked import put
from validation.twins.day import day_of
from validation.twins.judge import CAP_S, forecast_of, given_not_yet, moments_of, with_not_yet
from validation.twins.scores import crps, quantile

README = Path(__file__).with_name("README.md")
BEGIN, END = "<!-- made by python -m validation.onward: begin -->", "<!-- end of onward -->"
SEED: Final = 20261302
COOKS: Final = 100
MEMBERS: Final = 128
BEFORE_MIN: Final = (2.0, 12.0)
"""How long before the moment it was reckoned as a whole [min]."""
SOONEST_S: Final = 1800.0
"""Moments sooner after put-on have no earlier reckoning to go on from [s]."""
WAYS: Final = ("whole", *(f"going on from {minutes:.0f} min before" for minutes in BEFORE_MIN))


@dataclass(frozen=True)
class Asked:
    """One mark of one twin at one moment, by one way [s]."""

    way: str
    kind: str
    holds: bool
    width_s: float
    crps_s: float
    median_s: float
    core_s: float
    ran: bool


def asked_of(index: int, seed: int = SEED, members: int = MEMBERS) -> list[Asked]:
    """Every moment of one twin, by all ways; in threads of one, so that processor time is that of the work."""
    day = day_of(seed, index, "calibrated")
    twin, out = day.twin, []
    how: dict[str, Any] = {"members": members, "seed": index + 1, "threads": 1}
    runs: dict[float, list[tuple[str, ItemRun, float, bool]]] = {}
    for mark, moment, now_s in moments_of(day.marks):
        if moment == "put-on" or now_s < SOONEST_S:
            continue
        if now_s not in runs:
            told, now = with_not_yet(day, now_s), instant_after(twin.put_on_utc, now_s)
            begun = time.process_time()
            whole = reckoning(twin.cook, told, now=now, **how)
            runs[now_s] = [(WAYS[0], whole.runs[0], time.process_time() - begun, True)]
            for way, minutes in zip(WAYS[1:], BEFORE_MIN, strict=True):
                then = now - timedelta(minutes=minutes)
                base = reckoning(twin.cook, day.ledger.until(then), now=then, **how)
                begun = time.process_time()
                found = onward(base, told, now, threads=1)
                assert found is not None  # it is not as long ago as that
                took_s = time.process_time() - begun
                runs[now_s].append((way, found.reckoning.runs[0], took_s, bool(found.ran)))
        for way, run, core_s, ran in runs[now_s]:
            values, weights = given_not_yet(*forecast_of(run, mark, twin.done_mark), now_s)
            low, middle, high = (quantile(values, weights, level) for level in (0.05, 0.5, 0.95))
            truth = day.marks[mark]
            score = crps(values, weights, truth, CAP_S)
            out.append(Asked(way, twin.kind, low <= truth <= high, high - low, score, middle, core_s, ran))
    return out


def text_of(asked: list[Asked], cooks: int, seed: int) -> str:
    """The table."""
    ways = {way: [each for each in asked if each.way == way] for way in WAYS}
    whole = ways[WAYS[0]]
    lines = [
        (
            "`python -m validation.onward`:"
            f" {cooks} twins of the calibrated world, seed {seed}, {MEMBERS} members, "
            f'{len(whole):,} questions each; "median moved" is against the whole\'s.'
        ),
        "",
        (
            "| way | 90 % holds | median 90 % width, min | mean CRPS, min | median moved, median / 95 %, min "
            "| something run again | processor time |"
        ),
        "|---|---|---|---|---|---|---|",
    ]
    for way, mine in ways.items():
        wide = np.array([each.width_s for each in mine])
        moved = [abs(a.median_s - b.median_s) for a, b in zip(mine, whole, strict=True)]
        finite = np.array(moved)[np.isfinite(moved)] / 60.0
        share = sum(each.core_s for each in mine) / sum(each.core_s for each in whole)
        lines.append(
            f"| {way} | {np.mean([each.holds for each in mine]):.1%} | {np.median(wide[np.isfinite(wide)]) / 60:.0f} "
            f"| {np.mean([each.crps_s for each in mine]) / 60:.1f} "
            f"| {np.median(finite):.1f} / {np.quantile(finite, 0.95):.1f} "
            f"| {np.mean([each.ran for each in mine]):.0%} | {share:.2f} |"
        )
    return "\n".join(lines)


def main() -> None:
    """Ask all of them, show the table and put it into ``validation/README.md``."""
    parser = argparse.ArgumentParser(prog="python -m validation.onward", description=__doc__)
    parser.add_argument("--cooks", type=int, default=COOKS)
    parser.add_argument("--seed", type=int, default=SEED)
    given = parser.parse_args()
    asked = [each for index in track(range(given.cooks), "twin cooks") for each in asked_of(index, given.seed)]
    made = text_of(asked, given.cooks, given.seed)
    print(made)
    if (given.cooks, given.seed) == (COOKS, SEED):
        put(f"{made}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
