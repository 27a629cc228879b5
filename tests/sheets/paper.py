"""Sheets for the tests: one of an invented supper whose outlook is made by hand, and any at all from hypothesis."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.reckon import ItemOutlook, Outlook, Quantiles, Task, Trip, Window
from pitreckon.sheets.documents.runsheet import Job, run_sheet
from pitreckon.sheets.model import Line, Row, Sheet, Step, Timetable
from pitreckon.sheets.reader import Reader

ZONE = "America/Chicago"
NOW = datetime(2026, 10, 17, 17, 0, tzinfo=UTC)  # noon in Chicago, on summer time
MADE = datetime(2026, 10, 16, 12, 0, tzinfo=UTC)
ANY = Quantiles(0.0, 0.0, 0.0, 1.0)
COLOUR, PROBE = "the colour is set", "the probe slides in"


def minutes(n: float) -> datetime:
    """An instant of the supper, in minutes from noon."""
    return NOW + timedelta(minutes=n)


def cook(**changes: Any) -> Cook:
    """Racks at noon on the big box, thighs at four on the kettle, supper at six."""
    racks = ItemPlan("racks", "st-louis-ribs", 4, 1.25, "big box", NOW)
    thighs = ItemPlan("thighs", "chicken-thigh", 12, 0.17, "kettle", minutes(240))
    parts = {
        "name": "harvest table", "zone": ZONE, "serve_utc": minutes(360), "altitude_m": 0.0, "weather_air_c": None,
        "weather_rh": None, "pits": (PitPlan("big box", "pellet-cooker", 135.0), PitPlan("kettle", "kettle", 163.0)),
        "items": (racks, thighs),
    }  # fmt: skip
    return Cook(**(parts | changes))


def window(act: str, opens_min: float, until: str = COLOUR, **changes: Any) -> Window:
    """A window that opens so many minutes from noon, give or take 20, and closes half an hour on."""
    opens, closes = (Quantiles(60.0 * (m - 20), 60.0 * m, 60.0 * (m + 20), 1.0) for m in (opens_min, opens_min + 30))
    parts = {
        "act": act, "wrap": "foil" if act == "wrap" else None, "until": until, "until_core_c": None, "opens_s": opens,
        "closes_s": closes, "closes_by": "too dark", "open_now": 0.0, "too_late_now": 0.0,
    }  # fmt: skip
    return Window(**(parts | changes))


def item(plan: ItemPlan, ready_min: float, *windows: Window) -> ItemOutlook:
    """What is reckoned of an item that is to go on as planned."""
    ready = Quantiles(60.0 * ready_min - 900, 60.0 * ready_min, 60.0 * ready_min + 900, 1.0)
    return ItemOutlook(
        plan.label, plan.cut, plan.cut.replace("-", " "), plan.pieces, plan.put_on_utc, True, (), {"ready": ready},
        ready, ready, ANY, ANY, ANY, ANY, ANY, ANY, 0.9, 1.0, 100.0, 1.0, 0, (f"a note on {plan.label}",), windows,
    )  # fmt: skip


def outlook(of: Cook | None = None, **changes: Any) -> Outlook:
    """Four trips, the second with two things to do, the last past the hour of serving."""
    of = of or cook()
    racks, thighs = of.items
    put_on = Task("racks", 4, "put on", None, "big box", "", None, 1.0, None)
    wrap = Task("racks", 4, "wrap", "foil", "big box", COLOUR, None, 0.6, minutes(150))
    later = Task("thighs", 12, "put on", None, "kettle", "", None, 1.0, None)
    off = Task("racks", 4, "take off", None, "big box", PROBE, None, 0.27, minutes(280))
    done = Task("thighs", 12, "take off", None, "kettle", "165 °F at the core", 73.89, 0.7, minutes(345))
    parts = {
        "cook": of.name, "zone": of.zone, "now_utc": NOW, "serve_utc": of.serve_utc, "members": 8, "seed": 1,
        "items": (
            item(racks, 260, window("put on", 0, ""), window("wrap", 125), window("take off", 250, PROBE)),
            item(thighs, 90, window("take off", 90, "165 °F at the core", until_core_c=73.89, closes_by="")),
        ),
        "rejected": (),
        "trips": (
            Trip(minutes(0), minutes(0), minutes(1.5), (put_on,)),
            Trip(minutes(130.4), minutes(110.2), minutes(140.9), (wrap,)),
            Trip(minutes(240), minutes(235), minutes(250), (off, later)),
            Trip(minutes(330), minutes(325), minutes(340), (done,)),
        ),
    }  # fmt: skip
    return Outlook(**(parts | changes))


CHORES = (
    Job("light, and let it settle", "big box", minutes(-60), note="fill the hopper first"),
    Job("carry tables", "the yard", minutes(60), minutes(90), hands=2),
    Job("thaw in the refrigerator", "racks"),
)
FUEL = (Line("pellets", "9 lb", "6 h at 1.5 lb an hour"),)
ROOM = (Line("upper grate", "4 racks", "on edge"),)


def supper(reader: Reader | None = None, **changes: Any) -> Sheet:
    """The run sheet of all that."""
    parts = {"chores": CHORES, "fuel": FUEL, "room": ROOM, "made_utc": MADE}
    return run_sheet(cook(), outlook(), reader=reader, **(parts | changes))


def of_rows(rows: tuple[Row, ...], reader: Reader) -> Sheet:
    """A sheet that is one timetable."""
    return Sheet("any", "day", (Timetable(rows, ("really at",)),), reader, "any day", MADE, "mind")


def row(key: str, at: datetime, *, lasts_min: float = 10, **changes: Any) -> Row:
    """A row with one thing to do."""
    parts = {
        "key": key, "at_utc": at, "from_utc": at, "until_utc": at + timedelta(minutes=lasts_min),
        "steps": (Step("racks", f"do {key}", "it is so"),),
    }  # fmt: skip
    return Row(**(parts | changes))


ZONES = st.sampled_from([ZONE, "Europe/London", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"])
READERS = st.builds(Reader, ZONES, st.sampled_from(["F", "C"]), st.sampled_from(["lb", "kg"]), st.booleans())
NASTY = st.sampled_from(
    [
        "<script>alert(1)</script>",
        "[bold]x[/bold]",
        "*a* _b_ `c`",
        "a|b",
        "1. x",
        "- y",
        "# z",
        "a,b;c\\n",
        "é × °",
        '"&amp;',
    ],
)
WORDS = st.one_of(NASTY, st.text("abc xyz<>&'|*[]\\;,:=ł", min_size=1, max_size=12).filter(lambda t: t == t.strip()))


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """Up to eight rows anywhere in two years, some across a change of the clocks."""
    start = draw(st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 1))).replace(second=0, microsecond=0)  # noqa: DTZ001
    at = start.replace(tzinfo=UTC)
    rows = []
    for n in range(draw(st.integers(1, 8))):
        at += timedelta(minutes=draw(st.integers(0, 700)))
        steps = tuple(Step(draw(WORDS), draw(WORDS), draw(WORDS), draw(WORDS)) for _ in range(draw(st.integers(1, 6))))
        late = at + timedelta(minutes=draw(st.integers(0, 90)))
        until = late + timedelta(minutes=draw(st.integers(0, 90)))
        rows.append(Row(f"row{n}", late, at, until, steps, draw(WORDS)))
    return of_rows(tuple(rows), draw(READERS))
