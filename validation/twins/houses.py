"""``python -m validation.twins.houses``: households that cook again and again, with and without what was learned.

Each has a pit, a butcher for every cut, two people who look and a truth of its own (``worlds.House``); cooks are of
mixed cuts and classes. The pit of every other one is re-sealed before the seventh cook, and nobody says so. Asked at
put-on and an hour before it is done, the forecast with the lessons of all earlier cooks is held against that of the
same cook without. Both are scored given that it is not done yet. After each cook the belief in the pit's offset is
held against what is true of it, and it is asked whether the pit seems another one. Every other two houses have a
thermometer that is laid on the grate at some cooks. Rows are kept house by house; what is kept is not done again,
unless ``--anew``.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.progress import track
from scipy.special import ndtr

from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.learned import Lesson, Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import ROW
from pitreckon.units import instant_after
from validation.marked import put
from validation.twins import judge, scores
from validation.twins.day import Day, day_of
from validation.twins.deal import PIT, PITS
from validation.twins.run import over
from validation.twins.store import Row, Store
from validation.twins.streams import pick, stream
from validation.twins.worlds import House

SEED, HOUSES, COOKS, MEMBERS = 20261205, 120, 12, 128
EVERY = timedelta(days=14)
RESEALED_BEFORE = 6
"""Number of the cook, from 0, before which the pit of every other house is re-sealed."""
COLUMNS = (
    *("index", "rows", "cook", "cut", "kind", "moment", "lessons", "truth", "p05", "p50", "p95", "crps"),
    *("offset", "offset_sd", "offset_true", "told", "laid", "noticed", "moved", "learn_s"),
)
"""Of a belief after a cook: the offset of the pit [K]; told, laid: cooks so far with looks or a probe, and with a
thermometer on the grate; noticed: the cook since which the pit seems another one, "": it seems the same; moved: by how
much the re-seal made that very cook longer [min], of the first cook after it."""
FOLDER = Path(__file__).resolve().parent.parent / "results" / "twins"
README = Path(__file__).resolve().parent.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.twins.houses: begin -->", "<!-- end of houses -->"
WORLDS = ("calibrated", "other")


def house_of(seed: int, number: int) -> House:
    """Draw a household."""
    return House(seed, number, pick(stream(seed, number, "house"), PITS), lays=lays(number))


def lays(number: int) -> bool:
    """Has a house a thermometer that is laid on the grate at some cooks? Every other two have, so of those whose pit is
    re-sealed and of the others as many.
    """
    return number // 2 % 2 == 1


def rows_of(world: str, seed: int, number: int, members: int, cooks: int = COOKS) -> list[Row]:
    """Scores of all cooks of a house, with its lessons and without; then what was believed of its pit."""
    house = house_of(seed, number)
    learned: list[tuple[Lesson, ...]] = []
    rows: list[Row] = []
    told_by, laid = 0, 0
    for n in range(cooks):
        now = replace(house, resealed=number % 2 == 1 and n >= RESEALED_BEFORE)
        day = day_of(seed, number * 1000 + n, world, now)
        lessons = aged(learned, n)
        done_s = day.marks["done"]
        for moment, now_s in (("put-on", 0.0), ("60 min", 60.0 * np.floor(done_s / 60.0 - 60.0))):
            if moment == "put-on" or now_s >= judge.EARLIEST_S:
                rows += [_row(n, day, moment, now_s, each, members) for each in (Lessons(), lessons)]
        begun = time.perf_counter()
        told = learn(day.twin.cook, day.ledger, f"cook {n}", members=2 * members, seed=day.twin.index + 1)
        took_s = time.perf_counter() - begun
        learned.append(told)
        told_by += day.twin.kind != "pit"
        laid += bool(day.ledger.looks(PIT))
        row = _believed(n, day, aged(learned, n + 1)) | {"told": str(told_by), "laid": str(laid)}
        if now.resealed and n == RESEALED_BEFORE:
            row["moved"] = judge.minutes(done_s - day_of(seed, number * 1000 + n, world, house).marks["done"])
        rows.append(row | {"learn_s": f"{took_s:.2f}"})
    return [{**dict.fromkeys(COLUMNS, ""), **row, "index": str(number), "rows": str(len(rows))} for row in rows]


def aged(learned: list[tuple[Lesson, ...]], n: int) -> Lessons:
    """Twins all cook on one day: the lessons are made as old as the days between."""
    return Lessons(
        tuple(replace(each, at_utc=each.at_utc - (n - k) * EVERY) for k, told in enumerate(learned) for each in told)
    )


def _row(n: int, day: Day, moment: str, now_s: float, lessons: Lessons, members: int) -> Row:
    twin = day.twin
    now = instant_after(twin.put_on_utc, now_s)
    told = judge.with_not_yet(day, now_s)
    done = reckoning(twin.cook, told, now=now, members=members, seed=twin.index + 1, threads=1, lessons=lessons)
    values, weights = judge.given_not_yet(*judge.forecast_of(done.runs[0], "done", twin.done_mark), now_s)
    truth = day.marks["done"]
    low, mid, high = (judge.minutes(scores.quantile(values, weights, level)) for level in (0.05, 0.5, 0.95))
    return {
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


def _believed(n: int, day: Day, lessons: Lessons) -> Row:
    """Of the pit's own offset after a cook, as the next one starts from; and whether it seems another pit."""
    twin = day.twin
    row = {"cook": str(n + 1), "moment": "after", "cut": twin.item.cut, "kind": twin.kind}
    if not lessons.lessons:
        return row
    change = lessons.change(PIT, twin.fire.pit.key)
    levels = lessons.lessons[-1].levels
    says = lessons.says(levels, (PIT, twin.fire.pit.key, twin.item.cut, twin.put_on_utc))
    covariance = np.linalg.inv(np.eye(says.vector.size) + says.precision)
    to_units = levels.to_units
    mean, spread = to_units @ (covariance @ says.vector), to_units @ covariance @ to_units.T
    at = ROW["offset"]
    return row | {
        "lessons": str(len(lessons.lessons)),
        "offset": f"{mean[at]:.2f}",
        "offset_sd": f"{np.sqrt(spread[at, at]):.2f}",
        "offset_true": f"{twin.fire.own_offset_k:.2f}",
        "noticed": "" if change is None else change.cook.removeprefix("cook "),
    }


Group = tuple[int, int]
GROUPS: tuple[Group, ...] = ((1, 1), (2, 2), (3, 3), (4, 4), (5, 6), (7, 8), (9, 12))
ASKED: Group = (6, 12)
"""From the sixth cook on a window is asked to be so much narrower than the first one's."""


def scored(rows: list[Row], groups: tuple[Group, ...] = GROUPS) -> Iterator[list[str]]:
    """By moment and number of the cook: coverage with lessons and without, width and CRPS over those without."""
    for moment in ("put-on", "60 min"):
        for first, last in groups:
            pairs = _pairs([r for r in rows if r["moment"] == moment and first <= int(r["cook"]) <= last])
            if not pairs:
                continue
            plain, learned = ([_numbers(pair[k]) for pair in pairs] for k in (0, 1))
            widths = [(_width(a), _width(b)) for a, b in zip(plain, learned, strict=True)]
            width = np.median([b / a for a, b in widths if np.isfinite(a) and np.isfinite(b)])
            crps = np.mean([b["crps"] for b in learned]) / np.mean([a["crps"] for a in plain])
            covers = [np.mean([a["p05"] <= a["truth"] <= a["p95"] for a in each]) for each in (plain, learned)]
            yield [
                *(moment, f"{first}" if first == last else f"{first} to {last}", str(len(pairs))),
                *(f"{100 * share:.0f} %" for share in covers),
                *(f"{100 * (ratio - 1.0):+.0f} %" for ratio in (width, crps)),
            ]


def _pairs(rows: list[Row]) -> list[tuple[Row, Row]]:
    return list(zip(rows[::2], rows[1::2], strict=True))


def _numbers(row: Row) -> dict[str, float]:
    return {name: float(row[name]) if row[name] else float("inf") for name in ("truth", "p05", "p50", "p95", "crps")}


def _width(row: dict[str, float]) -> float:
    return max(row["p95"] - row["p05"], 1.0)


def houses_worse(rows: list[Row]) -> tuple[int, int, int]:
    """Houses whose mean CRPS from the second cook on is worse with lessons than without, those by 10 % or more, and
    all of them.
    """
    worse = much = 0
    numbers = sorted({r["index"] for r in rows})
    for number in numbers:
        pairs = _pairs([r for r in rows if r["index"] == number and r["crps"] and int(r["cook"]) > 1])
        plain, learned = (np.mean([_numbers(pair[k])["crps"] for pair in pairs]) for k in (0, 1))
        worse += learned > plain
        much += learned > 1.1 * plain
    return worse, much, len(numbers)


SAMPLE, NEAR_K = 5, 3.0
"""After so many cooks with looks or a probe the offset is asked to be known so well [K]."""
MOVED_K, MOVED_MIN = 5.0, 5.0
"""A re-seal that moves the offset or the next cook by more than this matters [K, min]."""
SOON = 2
"""Cooks after a re-seal within which it is asked to be noticed."""
YEAR = 12


def of_offsets(rows: list[Row]) -> Iterator[list[str]]:
    """Of houses with a thermometer on the grate and without: the offset once five cooks with looks or a probe were."""
    after = [r for r in rows if r["moment"] == "after" and r["offset"]]
    for what, chosen in (
        ("never", lambda r: r["laid"] == "0"),
        ("at one cook or more", lambda r: r["laid"] != "0"),
        ("at two or more", lambda r: int(r["laid"]) > 1),
        ("all", lambda _: True),
    ):
        fifth = [r for r in _first_with(after, SAMPLE) if chosen(r)]
        if not fifth:
            continue
        off, sd = np.abs([_off(r) for r in fifth]), np.array([float(r["offset_sd"]) for r in fifth])
        mine = [r for r in after if chosen(r)]
        holds = np.mean([abs(_off(r)) <= 1.645 * float(r["offset_sd"]) for r in mine])
        foretold = np.mean(2.0 * ndtr(NEAR_K / sd) - 1.0)
        yield [
            *(what, str(len(fifth)), f"{100 * np.mean(off <= NEAR_K):.0f} %", f"{100 * foretold:.0f} %"),
            *(f"{np.sqrt(np.mean(off**2)):.1f} K", f"{np.median(sd):.1f} K", f"{100 * holds:.0f} %"),
        ]


def _off(row: Row) -> float:
    return float(row["offset"]) - float(row["offset_true"])


def _first_with(after: list[Row], many: int) -> list[Row]:
    """Of each house the belief once so many cooks told of it, if its pit was the same till then."""
    found: dict[str, Row] = {}
    for row in after:
        same = int(row["index"]) % 2 == 0 or int(row["cook"]) <= RESEALED_BEFORE
        if int(row["told"]) >= many and same:
            found.setdefault(row["index"], row)
    return list(found.values())


def of_seals(rows: list[Row]) -> Iterator[list[str]]:
    """Re-seals noticed within two cooks and by the last, of those that move the pit and of all; then false alarms."""
    after = [r for r in rows if r["moment"] == "after" and r["offset"]]
    by_house = {
        index: {int(r["cook"]): r for r in after if r["index"] == index} for index in {r["index"] for r in after}
    }
    whole = {index: each for index, each in by_house.items() if {RESEALED_BEFORE, RESEALED_BEFORE + SOON} <= set(each)}
    new = {index: each for index, each in whole.items() if int(index) % 2 == 1}
    for what, chosen in (
        ("all", lambda _: True),
        (f"offset by over {MOVED_K:.0f} K", lambda each: _moved_k(each) > MOVED_K),
        (f"offset by over {MOVED_K:.0f} K or the cook by over {MOVED_MIN:.0f} min", _matters),
        ("all, a thermometer laid on the grate before and after", _laid_round),
    ):
        mine = [each for each in new.values() if chosen(each)]
        soon, ever = ([_noticed(each, n) for each in mine] for n in (RESEALED_BEFORE + SOON, YEAR))
        yield [what, str(len(mine)), *(f"{100 * np.mean(each):.0f} %" if mine else "" for each in (soon, ever))]
    same = [each for index, each in by_house.items() if int(index) % 2 == 0 and each]
    alarms = [any(r["noticed"] for r in each.values()) for each in same]
    yield [
        f"no re-seal: any alarm in {YEAR} cooks",
        str(len(same)),
        "",
        f"{100 * np.mean(alarms):.0f} %" if same else "",
    ]


def _noticed(each: dict[int, Row], by: int) -> bool:
    """Did the pit seem another one since the re-seal, by a cook, and not before it?"""
    after = [bool(row["noticed"]) for n, row in sorted(each.items()) if RESEALED_BEFORE < n <= by]
    return any(after) and not each[RESEALED_BEFORE]["noticed"]


def _moved_k(each: dict[int, Row]) -> float:
    before, after = each[RESEALED_BEFORE], each[RESEALED_BEFORE + SOON]
    return abs(float(after["offset_true"]) - float(before["offset_true"]))


def _matters(each: dict[int, Row]) -> bool:
    moved = each.get(RESEALED_BEFORE + 1, {}).get("moved", "")
    return _moved_k(each) > MOVED_K or abs(float(moved or 0.0)) > MOVED_MIN


def _laid_round(each: dict[int, Row]) -> bool:
    laid = int(each[RESEALED_BEFORE]["laid"])
    return laid > 0 and int(each[RESEALED_BEFORE + SOON]["laid"]) > laid


def text_of(rows: dict[str, list[Row]], seed: int, members: int) -> str:
    """The part of the page."""
    houses = min(len({r["index"] for r in found}) for found in rows.values())
    worlds = " ".join(f"--world {world}" for world in rows)
    made = f"python -m validation.twins.houses --houses {houses} {worlds} --write"
    parts = [f"Seed {seed}, {members} members. Made by\n\n```\n{made}\n```\n"]
    for world, found in rows.items():
        numbers = {r["index"] for r in found}
        parts.append(f"**{world}**, {len(numbers)} houses of {COOKS} cooks:\n")
        parts.append("| asked | cook | n | plain holds | learned holds | width | CRPS |\n|---|---|---|---|---|---|---|")
        parts += [f"| {' | '.join(cells)} |" for cells in scored(found)]
        for has, words in ((False, "without a thermometer for the grate"), (True, "with one")):
            some = [row for row in found if lays(int(row["index"])) == has]
            parts += [f"| {cells[0]}, {words} | {' | '.join(cells[1:])} |" for cells in scored(some, (ASKED,))]
        worse, much, of = houses_worse(found)
        took = np.median([float(r["learn_s"]) for r in found if r["learn_s"]])
        parts.append(
            f"\nHouses whose mean CRPS is worse with lessons: {worse} of {of}, by 10 % or more {much}. "
            f"Learning a cook took {took:.2f} s (median).\n"
        )
        asked = f"offset within {NEAR_K:.0f} K after {SAMPLE} cooks with looks or a probe"
        parts.append(
            f"| thermometer on the grate | houses | {asked} | as foretold | off (rms) | sd (median) | in its 90 % |"
        )
        parts.append("|---|---|---|---|---|---|---|")
        parts += [f"| {' | '.join(cells)} |" for cells in of_offsets(found)]
        parts.append(f"\n| re-seal | houses | noticed within {SOON} cooks | by the last |\n|---|---|---|---|")
        parts += [f"| {' | '.join(cells)} |" for cells in of_seals(found)]
        parts.append("")
    return "\n".join(parts)


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.houses", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--houses", type=int, default=HOUSES)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--world", action="append", choices=WORLDS)
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--on", default=None, help="address of a Dask cluster, instead of this machine's processes")
    parser.add_argument("--folder", type=Path, default=FOLDER)
    parser.add_argument("--anew", action="store_true", help="forget what is kept")
    parser.add_argument("--write", action="store_true", help="put the tables into validation/README.md")
    given = parser.parse_args()
    found = {}
    for world in given.world or WORLDS:
        store = Store(given.folder, f"houses-{world}-seed-{given.seed}-members-{given.members}", COLUMNS)
        if given.anew:
            store.clear()
        done = store.rows()
        left = [i for i in range(given.houses) if i not in done]
        work = over(partial(rows_of, world), left, given.seed, given.members, given.workers, given.on)
        for index, rows in track(work, f"houses, {world}", total=len(left), console=Console(stderr=True)):
            store.add(index, rows)
            done[index] = rows
        found[world] = [row for i in sorted(done) if i < given.houses for row in done[i]]
    text = text_of({world: rows for world, rows in found.items() if rows}, given.seed, given.members)
    print(text)
    if given.write:
        put(text, BEGIN, END, README)


if __name__ == "__main__":
    main()
