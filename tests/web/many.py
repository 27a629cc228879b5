"""A cook with six meats on two pits and long names, at twenty to four: a fire sinking, a probe in, two trips late."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.store import Entry, Store

MIDNIGHT = datetime(2026, 10, 17, 5, 0, tzinfo=UTC)  # in Chicago
NOW = MIDNIGHT + timedelta(hours=15, minutes=40)
HEAD = "harvest table with all the neighbours from both banks of it"
LONG = "ribs for the long table under the walnut tree by the creek 1"
GATE = "log burner that stands at the gate behind the old cart shed"
ENDS = "long end racks"
assert len(LONG) == 60
assert len(GATE) == 59


def _item(name: str, cut: str, pieces: int, weight: str, pit: str, at: str) -> str:
    return f"""
[[item]]
name = "{name}"
cut = "{cut}"
pieces = {pieces}
weight = "{weight}"
pit = "{pit}"
put_on = "2026-10-17 {at}"
"""


MANY = (
    f"""\
[cook]
name = "{HEAD}"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "250 F"

[[pit]]
name = "{GATE}"
kind = "offset-log-burner"
set = "275 F"
"""
    + _item("butts", "boston-butt", 2, "8 lb", "barn pit", "04:30")
    + _item(LONG, "st-louis-ribs", 6, "2 lb 10 oz", GATE, "12:00")
    + _item(ENDS, "spareribs", 3, "3 lb", GATE, "11:45")
    + _item("thighs", "chicken-thigh", 24, "6 oz", GATE, "16:15")
    + _item("breast", "turkey-breast", 1, "3 lb", "barn pit", "14:30")
    + _item("loin", "pork-loin", 1, "3 lb", "barn pit", "15:00")
)


def fill_many(path: Path, named: Mapping[str, str] | None = None) -> None:
    """The cook as it stands at ``NOW``, in a fresh store. named: other names for what is in it"""

    def name(text: str) -> str:
        for old, new in (named or {}).items():
            text = text.replace(old, new)
        return text

    events: list[Act | Reading | Look] = [
        Act(MIDNIGHT + timedelta(hours=4, minutes=30), "butts", "put on"),
        Act(MIDNIGHT + timedelta(hours=11, minutes=45), ENDS, "put on"),
        Act(MIDNIGHT + timedelta(hours=12), LONG, "put on"),
        Look(NOW - timedelta(minutes=30), ENDS, None, "colour", 0.55, "amber"),
    ]
    minutes = int((NOW - MIDNIGHT).total_seconds() / 60)
    for minute in range(270, minutes, 5):
        at = MIDNIGHT + timedelta(minutes=minute)
        events.append(Reading(at, "pit air", "barn pit", None, 121.0 + minute % 3))
        events.append(Reading(at, "probe", "butts", 1, min(4.0 + (minute - 270) * 0.28, 80.0)))
        if minute > 600:
            sunk_k = 40.0 if minute > minutes - 40 else 0.0
            events.append(Reading(at, "pit air", GATE, None, 135.0 + minute % 5 - sunk_k))
    with Store.open(path) as store:
        store.add_cook(name(MANY), name(HEAD), cook_id="supper")
        own = [replace(event, on=name(event.on)) for event in events]
        store.append("supper", [Entry(f"m{n}", event, "barn box") for n, event in enumerate(own)])
