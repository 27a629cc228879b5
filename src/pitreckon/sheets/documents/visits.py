"""The rows of a run sheet's timetable from the trips of an outlook."""

import math
from collections.abc import Iterable
from datetime import datetime
from typing import Final

from pitreckon.cook import Cook
from pitreckon.reckon import ItemOutlook, Outlook, Quantiles, Task, Trip, Window
from pitreckon.reckon.fires import FIRE_ACTS
from pitreckon.reckon.words import DOING, doing_words, in_wrap, waiting_words, whole_minute
from pitreckon.sheets.model import Row, Step, Table
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import joined, said, temperature
from pitreckon.units import format_percent, instant_after

IN_SIGHT = 0.05
"""What fewer of the members come to is not said."""


def spread_words(item: ItemOutlook, quantiles: Quantiles, outlook: Outlook, reader: Reader) -> str:
    """``14:57 (14:05–16:06)``: half of the time by the first, nine times in ten between the others."""
    if quantiles.reached < IN_SIGHT or not math.isfinite(quantiles.p05):
        return said("not in sight")
    base = outlook.serve_utc or outlook.now_utc
    low, middle, high = (
        reader.clock(item.instant(at_s), base) if math.isfinite(at_s) else ""
        for at_s in (quantiles.p05, quantiles.p50, quantiles.p95)
    )
    if not middle:
        return said("after {at}, if at all", at=low)
    if not high:
        return said("{at} (after {early})", at=middle, early=low)
    return middle if low == high else f"{middle} ({low}–{high})"


def window_words(item: ItemOutlook, window: Window, outlook: Outlook, reader: Reader) -> str:
    """``9 in 10 between 14:05 and 16:06`` for when a window opens; "" when there is no telling."""
    opens = window.opens_s
    if opens.reached < IN_SIGHT or not math.isfinite(opens.p05):
        return ""
    low = reader.clock(item.instant(opens.p05), outlook.now_utc)
    if not math.isfinite(opens.p95):
        return said("not before {at}", at=low)
    high = reader.clock(item.instant(opens.p95), outlook.now_utc)
    return "" if low == high else said("9 in 10 between {early} and {late}", early=low, late=high)


def window_table(outlook: Outlook, reader: Reader) -> Table:
    """A row a window to come, item by item; what is put on has no window of its own."""
    rows = []
    for item in outlook.items:
        for window in item.windows:
            if window.act == "put on":
                continue
            late = ""
            if window.closes_by and window.closes_s.reached >= IN_SIGHT:
                late = joined(": ", (spread_words(item, window.closes_s, outlook, reader), said(window.closes_by)))
            do = in_wrap(DOING[window.act], window.wrap)
            when = waiting_words(window.until, window.until_core_c, reader.degrees)
            rows.append((item.label, do, when, spread_words(item, window.opens_s, outlook, reader), late))
    return Table(tuple(said(head) for head in ("what", "do", "when", "from", "too late")), tuple(rows))


CUES: Final = {
    "the colour is set": "mahogany all over, and the rub does not wipe off",
    "the probe slides in": "it goes in and out without drag in the thickest part",
    "the glaze has set": "it shines, is tacky, and does not run",
}
"""What each mark looks and feels like: common practice, no source; the words are those of the ledger's scales."""
RIB_CUES: Final = {
    "the colour is set": "mahogany all over, bones begin to show, and the rub does not wipe off",
    "the probe slides in": "no drag between the bones; lifted at one end, the meat cracks",
}


def visits_of(cook: Cook, outlook: Outlook, reader: Reader) -> tuple[Row, ...]:
    """A row a trip, in order."""
    rows: list[Row] = []
    keys: set[str] = set()
    for trip in outlook.trips:
        at = min(max(_nearest_minute(trip.at_utc), whole_minute(trip.from_utc)), whole_minute(trip.by_utc))
        rows.append(
            Row(
                key=_key(trip, keys),
                at_utc=at,
                from_utc=whole_minute(trip.from_utc),
                until_utc=whole_minute(trip.by_utc),
                steps=tuple(_step(task, cook, outlook, reader) for task in trip.tasks),
                where=", ".join(_unlike(_at_pit(task) for task in trip.tasks)) if len(cook.pits) > 1 else "",
            )
        )
    return tuple(rows)


def _step(task: Task, cook: Cook, outlook: Outlook, reader: Reader) -> Step:
    pieces = f"{task.item} ×{task.pieces}" if task.pieces > 1 else task.item
    if task.act == "put on":
        pit = next((pit for pit in cook.pits if pit.label == task.pit), None)
        look = "" if pit is None else said("{pit} is steady at {set}", pit=pit.label, set=reader.temperature(pit.set_c))
        return Step(pieces, doing_words(task), look)
    if task.act in FIRE_ACTS:
        return Step(pieces, doing_words(task), note=task.note)
    if task.act == "do":
        return Step(pieces, doing_words(task))
    look = waiting_words(task.until, task.until_core_c, reader.degrees)
    cue = _cues(task, outlook).get(task.until) if task.until_core_c is None else None
    sure = [said("{chance} likely by then", chance=format_percent(task.open))]
    item = _item_of(task, outlook)
    if item is not None and item.label == task.item:  # a piece by itself has a window of its own, which is not told
        alike = [w for w in item.windows if (w.act, w.until) == (task.act, task.until)]
        sure += [window_words(item, alike[0], outlook, reader)] if alike else []
    if task.again_utc is not None:
        sure.append(said("if not yet, again at {at}", at=reader.clock(task.again_utc, outlook.now_utc)))
    return Step(
        pieces,
        doing_words(task),
        joined(": ", (look, said(cue))) if cue else look,
        joined("; ", (s for s in sure if s)),
        _warm_place(task, cook),
    )


def _warm_place(task: Task, cook: Cook) -> str:
    """How warm the place is that it goes to by this, "" where it goes to none or that is not said."""
    item = next((each for each in cook.items if each.label == task.item), None)
    stages = () if item is None else item.stages
    straight = task.act == "take off" and not any(stage.kind == "rest" for stage in stages)
    hold_c = next((stage.air_c for stage in stages if stage.kind == "hold"), None)
    goes = hold_c is not None and (task.act == "hold" or straight)
    return said("the warm place at {value}", value=temperature(hold_c)) if goes and hold_c is not None else ""


def _cues(task: Task, outlook: Outlook) -> dict[str, str]:
    from pitreckon import catalog  # noqa: PLC0415  the shelf is read from files, and only for this

    item = _item_of(task, outlook)
    rack = item is not None and catalog.cuts()[item.cut].shape.kind == "rack"
    return CUES | RIB_CUES if rack else CUES


def _item_of(task: Task, outlook: Outlook) -> ItemOutlook | None:
    """The item that a task is on; that of one piece by itself is named with the piece's number."""
    whole, _, number = task.item.rpartition(" ")
    labels = {task.item: 0} | ({whole: 1} if number.isdigit() else {})
    found = [item for item in outlook.items if item.label in labels]
    return min(found, key=lambda item: labels[item.label], default=None)


def _key(trip: Trip, taken: set[str]) -> str:
    """Of the first thing on the trip: the same as long as that is to be done, whenever it is."""
    first = trip.tasks[0]
    key = f"{first.item}/{first.act}/{first.until if first.until_core_c is None else first.until_core_c}"
    while key in taken:
        key += "+"
    taken.add(key)
    return key


def _nearest_minute(at: datetime) -> datetime:
    return whole_minute(instant_after(at, 30.0))


def _at_pit(task: Task) -> str:
    return task.item if task.act in FIRE_ACTS else task.pit or ""


def _unlike(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(filter(None, names)))
