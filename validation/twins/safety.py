"""``python -m validation.twins.safety``: verdicts on twin cooks against their true histories.

A "met" is false when the true history of the piece's thick end, held against the same rule at the same moment, has not
met it. A false alarm is a "missed" or "not met" where the truth has missed nothing.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np
from rich.console import Console

from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.safety.history.fromrun import coldest_of
from pitreckon.safety.history.history import History, Phase, Series
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Meat
from pitreckon.units import instant_after
from validation.twins.day import Day, day_of
from validation.twins.run import SEED

SHARES = (0.3, 0.5, 0.65, 0.8, 0.95)
"""Of the day, at which it is asked."""


def true_history(day: Day) -> History:
    """The true history of the thick end of the piece, with its phases."""
    trace = day.life.thick
    assert trace is not None
    begins = [0.0, *day.life.ends_s[:-1]]
    phases = tuple(
        Phase.of("cook" if stage.kind in PIT_KINDS else stage.kind, begin, end)
        for stage, begin, end in zip(day.twin.stages, begins, day.life.ends_s, strict=True)
    )
    places = (coldest_of(trace), trace["place2_c"], trace["surface_c"])
    known = np.isfinite(trace["core_c"][:, 0])
    core, outer, face = (Series.of(trace.time_s[known], values[known]) for values in places)
    return History("measured", core, outer, face, phases, 0.0, float(trace.time_s[known][-1]), over=True)


def asked(day: Day, members: int) -> list[tuple[str, str, str, str]]:
    """(rule, basis, what was said, what is true) at every moment."""
    truth, rows = true_history(day), []
    meat = Meat.of(day.twin.meat.cut, UNTOUCHED, day.twin.cook.weather_air_c)
    for share in SHARES:
        now_s = 60.0 * np.floor(share * truth.end_s / 60.0)
        now = instant_after(day.twin.put_on_utc, float(now_s))
        known = reckoning(day.twin.cook, day.ledger, now=now, members=members, seed=day.twin.index + 1, threads=1)
        said = judge_cook(known, {day.twin.item.label: UNTOUCHED}).now[0]
        true = judge_piece("truth", meat, [truth.until(float(now_s))])
        for verdict in said.verdicts:
            real = true.verdict(verdict.rule.key)
            if real is not None:
                rows.append((verdict.rule.key, verdict.basis, verdict.verdict, real.verdict))
    return rows


def main() -> None:
    """Ask, count, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.safety", description=__doc__)
    parser.add_argument("--cooks", type=int, default=250)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--members", type=int, default=96)
    parser.add_argument("--seed", type=int, default=SEED)
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    counts: Counter[tuple[str, str, str, str]] = Counter()
    for index in range(given.first, given.first + given.cooks):
        counts.update(asked(day_of(given.seed, index), given.members))
        if index % 10 == 9:
            show(counts, index + 1 - given.first, console)
    show(counts, given.cooks, console)


def show(counts: Counter[tuple[str, str, str, str]], cooks: int, console: Console) -> None:
    """What was said against what was true."""
    total = sum(counts.values())
    met = sum(n for (_, _, said, _), n in counts.items() if said == "met")
    false = {k: n for k, n in counts.items() if k[2] == "met" and k[3] not in {"met", "cannot tell"}}
    alarms = {k: n for k, n in counts.items() if k[2] in {"missed", "not met"} and k[3] in {"met", "not yet"}}
    silent = sum(n for (_, _, said, _), n in counts.items() if said == "cannot tell")
    failed = sum(n for (_, _, said, _), n in counts.items() if said in {"missed", "not met"})
    console.print(
        f"{cooks} cooks, {total} verdicts: {met} met of which {sum(false.values())} falsely; {failed} missed "
        f"or not met of which {sum(alarms.values())} false alarms; {silent} cannot tell"
    )
    for key, n in sorted({**false, **alarms}.items()):
        console.print("   ", *key, n)


if __name__ == "__main__":
    main()
