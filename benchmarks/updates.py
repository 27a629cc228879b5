"""The update after a look, and what-ifs from it: everything that a cook waits for."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any

import numpy as np

from benchmarks.clock import in_turns
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import Reckoning, reckoning
from pitreckon.reckon.onward import onward
from pitreckon.reckon.whatif import what_ifs

START = datetime(2026, 10, 10, 12, 0, tzinfo=UTC)
NOW = START + timedelta(hours=5)
WHOLE, LOOK, READINGS, ACT = "the whole anew", "a look", "five minutes of readings", "taken off the pit"
TARGETS_S = {
    ("racks", LOOK): 0.4,
    ("6 mixed items", LOOK): 1.5,
    ("6 mixed items", READINGS): 0.15,
    ("racks", "what-ifs"): 0.3,
}
STAGES = (
    StagePlan("open", Until("colour")),
    StagePlan("wrapped", Until("tender"), wrap="foil"),
    StagePlan("rest", Until("minutes", 1200.0)),
)
CUTS = {
    "racks": ("st-louis-ribs", 1.2, 115.0),
    "brisket": ("brisket-flat", 3.0, 115.0),
    "butt": ("boston-butt", 3.5, 115.0),
    "spares": ("spareribs", 1.6, 115.0),
    "plate": ("beef-plate-ribs", 2.0, 115.0),
    "point": ("brisket-point", 2.5, 115.0),
}


def cook_of(*labels: str) -> tuple[Cook, Ledger]:
    """A cook of these items at its fifth hour: the pit read every five minutes, each item wrapped and looked at."""
    items = tuple(
        ItemPlan(label, cut, 1, mass_kg, "pit", START, stages=STAGES)
        for label, (cut, mass_kg, _) in CUTS.items()
        if label in labels
    )
    pits = (PitPlan("pit", "pellet-cooker", 115.0),)
    cook = Cook("bench", "UTC", START + timedelta(hours=14), 0.0, 15.0, 0.5, pits, items)
    wander = np.random.default_rng(1).normal(0.0, 3.0, 61)
    events: list[Reading | Look | Act] = [
        Reading(START + timedelta(minutes=5 * i), "pit air", "pit", None, 114.0 + float(w))
        for i, w in enumerate(wander)
    ]
    for item in items:
        events += [
            Act(START, item.label, "put on"),
            Look(START + timedelta(hours=3), item.label, None, "colour", 0.8),
            Act(START + timedelta(hours=3.5), item.label, "wrapped", detail="foil"),
            Look(NOW, item.label, None, "probe feel", 0.4),
        ]
    return cook, Ledger.of(events)


def news_of(label: str) -> dict[str, tuple[list[Reading | Look | Act], datetime]]:
    """What may come in after ``NOW``, and when it is asked about: all of it of one item or of the pit."""
    soon, later = NOW + timedelta(minutes=1), NOW + timedelta(minutes=5)
    readings = [
        Reading(NOW + timedelta(minutes=m), "pit air", "pit", None, 114.0 + 2.0 * (-1.0) ** m) for m in range(1, 6)
    ]
    return {
        LOOK: ([Look(soon, label, None, "probe feel", 0.6, "some drag")], soon),
        READINGS: ([*readings], later),
        ACT: ([Act(soon, label, "took off")], soon),
    }


def updates(rounds: int = 5, members: int = 1024) -> list[dict[str, Any]]:
    """Rows: each work of each cook, its time and what it is held to."""
    works = {name: cook_of(name) for name in ("racks", "brisket")} | {"6 mixed items": cook_of(*CUTS)}
    done: dict[str, Reckoning] = {}
    calls: dict[tuple[str, str], Any] = {}

    def whole(name: str) -> None:
        cook, ledger = works[name]
        done[name] = reckoning(cook, ledger, now=NOW, members=members)

    def going_on(name: str, events: list[Reading | Look | Act], now: datetime) -> None:
        if onward(done[name], Ledger.of([*works[name][1].events, *events]), now) is None:
            raise RuntimeError("it wants a whole one")

    for name in works:
        calls[name, WHOLE] = partial(whole, name)
        for what, (events, now) in news_of("racks" if name != "brisket" else name).items():
            calls[name, what] = partial(going_on, name, events, now)
        calls[name, "what-ifs"] = lambda name=name: what_ifs(done[name])
    took = in_turns(calls, rounds)
    return [
        {"items": name, "work": what, "members": members, **took[name, what].as_dict(members)}
        | {"target_s": TARGETS_S.get((name, what))}
        for name, what in calls
    ]
