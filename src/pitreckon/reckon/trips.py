"""The cook's trips: what is due together goes on one walk, at the time of the least expected cost."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.reckon.outlook import ItemOutlook, Outlook, Task, Trip, Window
from pitreckon.reckon.schedule import schedule
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.tripcost import Due
from pitreckon.reckon.windows import ComingAct, coming_acts, window_of
from pitreckon.units import instant_after

LEAST_REACHED = 0.5
"""What fewer of the members get to is no reason for a trip yet."""
SURE = 0.95
"""A thing that is likelier than this to be open needs no second time."""
INDOORS = frozenset({"hold"})
"""Acts that open no lid."""


def with_trips(outlook: Outlook, cook: Cook, ledger: Ledger, runs: Sequence[ItemRun]) -> Outlook:
    """The outlook with the windows of its items and the trips of its cook.

    ledger: what is known by the outlook's moment; runs: the ensembles, in the order of the outlook's items
    """
    now = outlook.now_utc
    things: list[tuple[ItemOutlook, ComingAct, Due]] = []
    items = []
    for run, item in zip(runs, outlook.items, strict=True):
        windows, dues = _of_run(run, item, cook, ledger, now)
        apart = list(_set_apart(run, item))
        things += [(replace(item, pieces=item.pieces - len(apart)), *due) for due in dues]
        items.append(replace(item, windows=windows))
        for own, of_piece in apart:
            things += [(of_piece, *due) for due in _of_run(own, of_piece, cook, ledger, now)[1]]
    visits = schedule([due for _, _, due in things], cook.trips)
    trips = tuple(
        Trip(
            at_utc=instant_after(now, visit.at_s),
            from_utc=instant_after(now, visit.from_s),
            by_utc=instant_after(now, visit.by_s),
            tasks=tuple(
                _task(*things[k], can, None if can >= SURE else instant_after(now, again))
                for k, can, again in zip(visit.things, visit.open, visit.again_s, strict=True)
            ),
        )
        for visit in visits
    )
    return replace(outlook, items=tuple(items), trips=trips)


def _of_run(
    run: ItemRun, item: ItemOutlook, cook: Cook, ledger: Ledger, now: datetime
) -> tuple[tuple[Window, ...], list[tuple[ComingAct, Due]]]:
    """Windows of the acts to come, and those of them that a trip can be planned for."""
    now_s = now.timestamp() - run.put_on_utc.timestamp()
    weights = run.evidence.weights
    windows, dues = [], []
    for coming in coming_acts(run, item, now, cook.serve_utc):
        window = window_of(coming, weights, now_s)
        windows.append(window)
        if window.opens_s.reached < LEAST_REACHED:
            break  # what comes after it is less in sight still
        pit = None if coming.act in INDOORS else _pit_of(run, ledger)
        late = np.fmin(coming.closes_s, np.fmax(coming.opens_s, coming.serve_by_s))
        dues.append((coming, Due(item.label, pit, coming.opens_s - now_s, late - now_s, weights, coming.carries)))
    return tuple(windows), dues


def _set_apart(run: ItemRun, item: ItemOutlook) -> Iterator[tuple[ItemRun, ItemOutlook]]:
    """Pieces that something was done to by themselves: each with a course, and so with trips, of its own."""
    done = [stage.ended_utc for stage in run.stages]
    for got in run.tracks:
        piece = got.track.piece
        if piece is None or got.trace is run.trace or [s.ended_utc for s in got.track.stages] == done:
            continue
        yield ItemRun.of((got,)), replace(item, label=got.track.label, pieces=1, put_on_utc=got.track.put_on)


def _pit_of(run: ItemRun, ledger: Ledger) -> str:
    """The pit that the item is on by now."""
    moves = [act.detail for act in ledger.acts(run.item.label) if act.act == "moved" and act.detail]
    return moves[-1] if moves else run.item.pit


def _task(item: ItemOutlook, coming: ComingAct, due: Due, can: float, again: datetime | None) -> Task:
    return Task(
        item=item.label,
        pieces=item.pieces,
        act=coming.act,
        wrap=coming.wrap,
        pit=due.pit,
        until=coming.until,
        until_core_c=coming.until_core_c,
        open=can,
        again_utc=again,
    )
