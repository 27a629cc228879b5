"""Runs twin cooks over an executor, keeps what is done, and goes on where it was stopped."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
    track,
)

from pitreckon.work.spread import spread
from validation.twins.day import day_of
from validation.twins.judge import COLUMNS, judge
from validation.twins.replay import TRIP_COLUMNS, trip_rows
from validation.twins.store import Row, Store

RESULTS = Path(__file__).parents[1] / "results" / "twins"
SEED, MEMBERS, TRIP_MEMBERS = 20261204, 128, 96
COOKS = {"calibrated": 500, "other": 300, "wide": 200}
TRIPS = 200
Work = Callable[[str, int, int, int], list[Row]]
"""Rows of one twin from world, seed, index and members: a pure function of these and the code."""


def judged(world: str, seed: int, index: int, members: int) -> list[Row]:
    """Deal, cook and judge one twin."""
    return judge(day_of(seed, index, world), members)


def walked(world: str, seed: int, index: int, members: int) -> list[Row]:
    """Deal one twin and follow both ways of coming through it."""
    return trip_rows(day_of(seed, index, world).twin, members)


WORKS: dict[str, tuple[Work, tuple[str, ...]]] = {"scores": (judged, COLUMNS), "trips": (walked, TRIP_COLUMNS)}


def run(
    what: str,
    cooks: int,
    *,
    members: int,
    world: str = "calibrated",
    seed: int = SEED,
    folder: Path = RESULTS,
    fresh: bool = False,
    workers: int | None = None,
    on: str | None = None,
    console: Console | None = None,
) -> list[Row]:
    """Rows of the first ``cooks`` twins of a seed; those in the folder are taken as they are.

    Parameters
    ----------
    what: one of ``WORKS``
    world: that the twins are dealt from
    fresh: forget the rows of earlier runs of this seed and size
    workers: processes; 1 runs in this one; all cores by default
    on: address of a cluster whose workers find this package; None: processes of this machine
    console: shows progress; none, none
    """
    work, columns = WORKS[what]
    store = Store(folder, f"{what}-{world}-seed-{seed}-members-{members}", columns)
    if fresh:
        store.clear()
    done = store.rows()
    left = [i for i in range(cooks) if i not in done]
    progress = Progress(
        *(
            TextColumn(f"twin cooks, {what}"),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            TimeRemainingColumn(),
        ),
        console=console,
        disable=console is None,
    )
    with progress:
        task = progress.add_task("", total=cooks, completed=cooks - len(left))
        for index, rows in over(partial(work, world), left, seed, members, workers, on):
            store.add(index, rows)
            done[index] = rows
            progress.advance(task)
    return [row for i in sorted(done) if i < cooks for row in done[i]]


def over(
    work: Callable[[int, int, int], list[Row]],
    left: list[int],
    seed: int,
    members: int,
    workers: int | None = None,
    on: str | None = None,
) -> Iterator[tuple[int, list[Row]]]:
    """The rows of each index as they come, by the program's own executors; a worker that dies loses only its own."""
    return spread(partial(_one, work, seed, members), left, on=on, workers=workers, begin=_alone)


def in_order(
    work: Callable[[int, int, int], list[Row]], many: int, seed: int, members: int, workers: int | None
) -> list[Row]:
    """All rows of the first ``many``, in their order; how far it is stands on standard error."""
    found = track(over(work, list(range(many)), seed, members, workers), total=many, console=Console(stderr=True))
    return [row for _, of_one in sorted(found, key=lambda each: each[0]) for row in of_one]


def _one(work: Callable[[int, int, int], list[Row]], seed: int, members: int, index: int) -> list[Row]:
    return work(seed, index, members)


def _alone() -> None:
    """A worker has one core to itself: ``reckon`` would start a thread for each core of the machine."""
    os.cpu_count = lambda: 1
