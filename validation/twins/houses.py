"""``python -m validation.twins.houses``: households that cook again and again, with and without what was learned.

Each has a pit, a butcher for every cut and a truth of its own (``worlds.House``); cooks are of mixed cuts and classes.
Asked at put-on and an hour before it is done, the forecast with the lessons of all earlier cooks is held against that
of the same cook without. Both are scored given that it is not done yet.
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np

from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.learned import Lesson, Lessons
from pitreckon.reckon.learning import lessons_of
from pitreckon.units import instant_after
from validation.twins import judge, scores
from validation.twins.day import Day, day_of
from validation.twins.deal import PITS
from validation.twins.streams import pick, stream
from validation.twins.worlds import House

SEED, HOUSES, COOKS, MEMBERS = 20261203, 120, 12, 128
EVERY = timedelta(days=14)
COLUMNS = ("house", "cook", "cut", "kind", "moment", "lessons", "truth", "p05", "p50", "p95", "crps")


def house_of(seed: int, number: int) -> House:
    """Draw a household."""
    return House(seed, number, pick(stream(seed, number, "house"), PITS))


def rows_of(house: House, world: str, cooks: int, members: int) -> list[dict[str, str]]:
    """Scores of all cooks of a house, with its lessons and without."""
    learned: list[tuple[Lesson, ...]] = []
    rows = []
    for n in range(cooks):
        day = day_of(house.seed, house.number * 1000 + n, world, house)
        done_s = day.marks["done"]
        # Twins all cook on one day: the lessons are made as old as the days between.
        aged = [replace(each, at_utc=each.at_utc - (n - k) * EVERY) for k, cook in enumerate(learned) for each in cook]
        for moment, now_s in (("put-on", 0.0), ("60 min", 60.0 * np.floor(done_s / 60.0 - 60.0))):
            if moment == "put-on" or now_s >= judge.EARLIEST_S:
                rows += [
                    _row(house, n, day, moment, now_s, each, members) for each in (Lessons(), Lessons(tuple(aged)))
                ]
        done = reckoning(day.twin.cook, day.ledger, members=2 * members, seed=day.twin.index + 1, threads=1)
        learned.append(lessons_of(done, f"cook {n}"))
    return rows


def _row(house: House, n: int, day: Day, moment: str, now_s: float, lessons: Lessons, members: int) -> dict[str, str]:
    twin = day.twin
    now = instant_after(twin.put_on_utc, now_s)
    told = judge.with_not_yet(day, now_s)
    done = reckoning(twin.cook, told, now=now, members=members, seed=twin.index + 1, threads=1, lessons=lessons)
    values, weights = judge.given_not_yet(*judge.forecast_of(done.runs[0], "done", twin.done_mark), now_s)
    truth = day.marks["done"]
    low, mid, high = (judge.minutes(scores.quantile(values, weights, level)) for level in (0.05, 0.5, 0.95))
    return {
        "house": str(house.number),
        "cook": str(n + 1),
        "cut": twin.item.cut,
        "kind": twin.kind,
        "moment": moment,
        "lessons": str(len(lessons.lessons)),
        "truth": judge.minutes(truth),
        "p05": low,
        "p50": mid,
        "p95": high,
        "crps": judge.minutes(scores.crps(values, weights, truth, judge.CAP_S)),
    }


def table(rows: list[dict[str, str]]) -> list[list[str]]:
    """By moment and number of the cook: coverage, width over the first's way and CRPS over it."""
    out = []
    for moment in ("put-on", "60 min"):
        for first, last in ((1, 1), (2, 3), (4, 6), (7, 12)):
            here = [r for r in rows if r["moment"] == moment and first <= int(r["cook"]) <= last]
            pairs = list(zip(here[::2], here[1::2], strict=True))
            if not pairs:
                continue
            plain, learned = ([_numbers(pair[k]) for pair in pairs] for k in (0, 1))
            width = np.median([_width(b) / _width(a) for a, b in zip(plain, learned, strict=True)])
            crps = np.mean([b["crps"] for b in learned]) / np.mean([a["crps"] for a in plain])
            covers = [np.mean([a["p05"] <= a["truth"] <= a["p95"] for a in each]) for each in (plain, learned)]
            out.append(
                [
                    *(moment, f"{first} to {last}", str(len(pairs))),
                    *(f"{100 * share:.0f} %" for share in covers),
                    *(f"{100 * (ratio - 1.0):+.0f} %" for ratio in (width, crps)),
                ]
            )
    return out


def _numbers(row: dict[str, str]) -> dict[str, float]:
    return {name: float(row[name]) if row[name] else float("inf") for name in ("truth", "p05", "p50", "p95", "crps")}


def _width(row: dict[str, float]) -> float:
    return max(row["p95"] - row["p05"], 1.0)


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.houses", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--houses", type=int, default=HOUSES)
    parser.add_argument("--cooks", type=int, default=COOKS)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--world", default="calibrated")
    parser.add_argument("--to", type=Path, default=None, help="a CSV file for the rows")
    given = parser.parse_args()
    rows: list[dict[str, str]] = []
    for number in range(given.houses):
        rows += rows_of(house_of(given.seed, number), given.world, given.cooks, given.members)
        if given.to is not None:
            with given.to.open("w", newline="", encoding="utf-8") as out:
                writer = csv.DictWriter(out, COLUMNS)
                writer.writeheader()
                writer.writerows(rows)
    for row in [["moment", "cooks", "n", "plain holds", "learned holds", "width", "CRPS"], *table(rows)]:
        print("  ".join(cell.ljust(13) for cell in row))


if __name__ == "__main__":
    main()
