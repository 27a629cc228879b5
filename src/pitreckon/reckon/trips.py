"""The cook's trips: what is due together goes on one walk, when the plan has it or at the least expected cost."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.reckon.eye import by_eye, eye_words, seen_there
from pitreckon.reckon.fires import fire_tasks
from pitreckon.reckon.outlook import ItemOutlook, Outlook, Task, Trip, Window
from pitreckon.reckon.schedule import Visit, schedule
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.timetable import Told, in_order, side_tasks, timed, together
from pitreckon.reckon.tripcost import Due
from pitreckon.reckon.windows import ComingAct, coming_acts, window_of
from pitreckon.text.said import said
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
    things: list[Thing] = []
    items = []
    for run, item in zip(runs, outlook.items, strict=True):
        windows, dues = _of_run(run, item, cook, ledger, now)
        apart = list(_set_apart(run, item))
        things += [Thing(run, replace(item, pieces=item.pieces - len(apart)), *due) for due in dues]
        items.append(replace(item, windows=windows))
        for own, of_piece in apart:
            things += [Thing(own, of_piece, *due) for due in _of_run(own, of_piece, cook, ledger, now)[1]]
    visits = schedule([thing.due for thing in things], cook.trips)
    if _has_timetable(cook):
        told = _told(things, visits, ledger, now)
        meat = together(told)
        trips = together([*told, *fire_tasks(cook, ledger, now, meat), *side_tasks(cook, now)])
    else:
        trips = tuple(_trip(visit, things, now) for visit in visits)
    return replace(outlook, items=tuple(items), trips=trips)


def _has_timetable(cook: Cook) -> bool:
    """Does the plan say when its acts are, and when its fires are lit?"""
    stages = (stage for item in cook.items for stage in item.stages)
    return bool(cook.tasks) or any(pit.light_utc for pit in cook.pits) or any(stage.about_utc for stage in stages)


@dataclass(frozen=True)
class Thing:
    """An act to come that a trip can be planned for, with the ensemble that it is reckoned from.

    seen: the look by which it is due, in words, whatever the ensemble says; "": none
    """

    run: ItemRun
    item: ItemOutlook
    coming: ComingAct
    due: Due
    seen: str = ""

    @property
    def planned_utc(self) -> datetime | None:
        """When the plan has it; None: it does not say. What goes on goes on at its planned put-on."""
        if self.coming.stage is None:
            return self.run.item.put_on_utc
        return self.run.stages[self.coming.stage].plan.about_utc


def _trip(visit: Visit, things: Sequence[Thing], now: datetime) -> Trip:
    return Trip(
        at_utc=instant_after(now, visit.at_s),
        from_utc=instant_after(now, visit.from_s),
        by_utc=instant_after(now, visit.by_s),
        tasks=tuple(
            _task(things[k], can, None if can >= SURE else instant_after(now, again))
            for k, can, again in zip(visit.things, visit.open, visit.again_s, strict=True)
        ),
    )


def _told(things: Sequence[Thing], visits: Sequence[Visit], ledger: Ledger, now: datetime) -> list[Told]:
    """Each thing at its one time: of the plan where that has one, else of the least expected cost."""
    told: dict[int, Told] = {}
    for visit in visits:
        trip = _trip(visit, things, now)
        for k, task in zip(visit.things, trip.tasks, strict=True):
            if task.planned_utc is None:
                told[k] = Told(task, trip.at_utc, trip.from_utc, trip.by_utc)
            elif task.act == "put on":
                at = max(task.planned_utc, now)
                told[k] = Told(replace(task, open=1.0, again_utc=None), at, at, at)
            else:
                opens_s = things[k].coming.opens_s - (now.timestamp() - things[k].run.put_on_utc.timestamp())
                seen = _seen(things[k].run, ledger)
                told[k] = timed(task, opens_s, things[k].due.weights, now, trip.at_utc, seen=seen)
    return in_order([told[k] for k in sorted(told)])


def _seen(run: ItemRun, ledger: Ledger) -> bool:
    """Has anything been written down that can move an item's times?"""
    label, pit = run.item.label, _pit_of(run, ledger)
    told = bool(ledger.looks(label) or ledger.acts(label))
    return told or any(reading.on in {label, pit} for reading in ledger.all_readings)


def _of_run(
    run: ItemRun, item: ItemOutlook, cook: Cook, ledger: Ledger, now: datetime
) -> tuple[tuple[Window, ...], list[tuple[ComingAct, Due, str]]]:
    """Windows of the acts to come, and those of them that a trip can be planned for."""
    now_s = now.timestamp() - run.put_on_utc.timestamp()
    weights = run.evidence.weights
    windows, dues = [], []
    look = seen_there(run, item.pieces, ledger, now)
    for act in coming_acts(run, item, now, cook.served_at(run.item)):
        coming, seen = act, ""
        if look is not None and act.stage is not None and run.stages[act.stage].running:
            coming, seen = by_eye(act, now_s), said("for what was seen: {look}", look=eye_words(look, cook, now))
        window = window_of(coming, weights, now_s)
        windows.append(window)
        if window.opens_s.reached < LEAST_REACHED:
            break  # what comes after it is less in sight still
        pit = None if coming.act in INDOORS else _pit_of(run, ledger)
        latest = np.fmin(coming.closes_s, np.fmax(coming.opens_s, coming.serve_by_s))
        late = coming.opens_s if seen else latest
        due = Due(item.label, pit, coming.opens_s - now_s, late - now_s, weights, coming.carries)
        dues.append((coming, due, seen))
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


def _task(thing: Thing, can: float, again: datetime | None) -> Task:
    item, coming, due = thing.item, thing.coming, thing.due
    return Task(
        item=item.label,
        pieces=item.pieces,
        act=coming.act,
        wrap=coming.wrap,
        pit=due.pit,
        until="" if thing.seen else coming.until,
        until_core_c=None if thing.seen else coming.until_core_c,
        note=thing.seen,
        open=can,
        again_utc=again,
        planned_utc=thing.planned_utc,
        waited_for=coming.until if thing.seen else "",
    )
