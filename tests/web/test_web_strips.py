"""Strips say what the outlook says: the same times at the same places, and what is likely is denser."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act, Ledger
from pitreckon.ledger.events import Event
from pitreckon.reckon import MARK_NAMES, ItemOutlook, Outlook, Quantiles, StageOutlook, Window
from pitreckon.reckon.statements import sure_words
from pitreckon.web.views.chartstrips import chart_strips
from pitreckon.web.views.now import now_view
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.scene import Scene
from pitreckon.web.views.strips import BROAD, NARROW, WIDTH, Axis, axis_of, axis_strip, strip, strips

NOW = datetime(2026, 10, 17, 19, 30, tzinfo=UTC)  # 14:30 in Chicago
PUT_ON = NOW - timedelta(hours=1)
HOUR = 3600.0
NEVER = Quantiles(float("inf"), float("inf"), float("inf"), 0.0)


def around(hours: float, width: float = 0.25) -> Quantiles:
    return Quantiles((hours - width) * HOUR, hours * HOUR, (hours + width) * HOUR, 1.0)


def window(act: str, opens: float, closes: float | None, wrap: str | None = None) -> Window:
    late = NEVER if closes is None else around(closes)
    return Window(act, wrap, "the colour is set", None, around(opens), late, "too dark" if closes else "", 0.0, 0.0)


def item(label: str = "racks", *windows: Window) -> ItemOutlook:
    stages = (StageOutlook("open", "the colour is set", None, None, around(0, 0), around(2), False, 1.0),)
    marks = dict.fromkeys(MARK_NAMES, NEVER) | {"ready": around(4, 0.5)}
    flat = Quantiles(60.0, 62.0, 64.0, 1.0)
    return ItemOutlook(
        *(label, "st-louis-ribs", "St. Louis ribs", 4, PUT_ON, False, stages, marks, around(4), around(4.2)),
        *(flat, Quantiles(0.1, 0.12, 0.14, 1.0), Quantiles(0.5, 0.55, 0.6, 1.0), flat, flat, flat),
        *(0.7, 1.0, 100.0, 1.0, 0, ()),
        windows or (window("wrap", 2, 3.5, "foil"), window("sauce", 3.2, None), window("take off", 4, None)),
        ready_by=0.96,
        at_best=1.0,
    )


def outlook(*items: ItemOutlook) -> Outlook:
    serve = NOW + timedelta(hours=3.5)
    return Outlook("supper", "America/Chicago", NOW, serve, 8, 1, items or (item(),), ())


HANDS = ClockWords(ZoneInfo("America/Chicago"), NOW, Preferences())


PLAN = """
[cook]
name = "supper"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "275 F"

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 4
weight = "2 lb 10 oz"
put_on = "2026-10-17 13:30"
"""


def scene(*events: Event) -> Scene:
    given = events or (Act(PUT_ON, "racks", "put on"),)
    return Scene(cook_from_text(PLAN, "plan"), Ledger.of(given), outlook(), NOW)


def drawn(of: ItemOutlook, whole: Outlook | None = None) -> ElementTree.Element:
    whole = whole or outlook(of)
    return ElementTree.fromstring(strip(of, whole, axis_of(whole), HANDS, "s0"))


def test_instants_lie_where_they_belong() -> None:
    axis = Axis(NOW, NOW + timedelta(hours=2))
    assert axis.x(NOW + timedelta(hours=1)) == pytest.approx(WIDTH / 2)
    assert axis.inside(NOW)
    assert not axis.inside(NOW - timedelta(seconds=1))


@pytest.mark.parametrize("count", [1, 3, 6])
def test_now_is_at_one_place_in_all_strips_and_under_them(count: int) -> None:
    whole = outlook(*(item(f"item {n}") for n in range(count)))
    drawings, hours = strips(whole, HANDS)
    for width, pictures, under in (
        (WIDTH, [each.slim for each in drawings], hours.slim),
        (BROAD, [each.broad for each in drawings], hours.broad),
    ):
        boxes = {ElementTree.fromstring(svg).attrib["viewBox"] for svg in (*pictures, under)}
        assert {box.split()[2] for box in boxes} == {f"{width:g}"}
        places = {re.findall(r'class="now-line" d="M([\d.]+) ', svg)[0] for svg in pictures}
        (below,) = re.findall(r'class="now" x="([\d.]+)"', under)
        assert places == {f"{axis_of(whole, width).x(NOW):.1f}"}
        assert float(below) == pytest.approx(float(places.pop()), abs=0.1)


def test_smoke_is_as_dense_as_a_window_is_likely_to_be_open() -> None:
    racks = item("racks", window("wrap", 2, 3.5))
    whole = outlook(racks)
    axis = axis_of(whole)
    (fade,) = drawn(racks, whole).iter("linearGradient")
    left, right = float(fade.attrib["x1"]), float(fade.attrib["x2"])
    wrap = racks.windows[0]
    stops = list(fade)
    assert len(stops) > 8
    for stop in stops:
        x = left + float(stop.attrib["offset"]) * (right - left)
        seconds = (axis.start - PUT_ON).total_seconds() + x / WIDTH * (axis.end - axis.start).total_seconds()
        chance = max(wrap.opens_s.chance_by(seconds) - wrap.closes_s.chance_by(seconds), 0.0)
        assert float(stop.attrib["stop-opacity"]) == pytest.approx(chance, abs=0.06)
    shades = [float(stop.attrib["stop-opacity"]) for stop in stops]
    assert max(shades) > 0.95
    assert shades[0] < 0.05  # soft at both ends
    assert shades[-1] < 0.3


def test_windows_of_one_item_are_hatched_apart() -> None:
    slants = [each.attrib["patternTransform"] for each in drawn(item()).iter("pattern")]
    assert len(slants) == len(set(slants)) == 3


def test_names_of_two_strips_do_not_meet() -> None:
    pictures, _ = strips(outlook(item("a"), item("b")), HANDS)
    names = [set(re.findall(r'id="(\w+)"', svg)) for each in pictures for svg in (each.slim, each.broad)]
    assert all(names)
    assert len(set.union(*names)) == sum(map(len, names))


def test_the_strip_is_said_in_words() -> None:
    said = drawn(item()).attrib["aria-label"]
    assert said.startswith("racks: wrap can begin from 15:15 to 15:45, and is too late by about 17:00;")
    assert "sauce can begin from" in said
    assert said.endswith("ready: likely 17:30, may be 17:00 to 18:00.")


def test_words_stand_by_their_windows_and_do_not_lie_on_each_other() -> None:
    words = [each for each in drawn(item()).iter("text") if each.text]
    assert words[0].text == "wrap 15:30"
    ends = -1.0
    for each in words:
        half = 0.5 * 7.3 * len(each.text or "")
        assert float(each.attrib["x"]) - half >= ends - 0.2
        ends = float(each.attrib["x"]) + half


def test_a_label_is_text() -> None:
    bad = item('<b a="1">&')
    assert "<b" not in strip(bad, outlook(bad), axis_of(outlook(bad)), HANDS, "s0")
    assert drawn(bad).attrib["aria-label"].startswith('<b a="1">&:')


def test_what_is_never_reached_is_not_drawn() -> None:
    lost = replace(item("x", window("wrap", 2, None)), marks=dict.fromkeys(MARK_NAMES, NEVER))
    lost = replace(lost, windows=(replace(lost.windows[0], opens_s=NEVER),))
    picture = drawn(lost)
    assert not list(picture.iter("linearGradient"))
    assert not list(picture.iter("circle"))
    assert picture.attrib["aria-label"] == "x: ready: not in sight."


def test_a_cook_to_come_and_one_of_days_have_hours_that_fit() -> None:
    for days in (0.1, 0.5, 2, 6):
        whole = replace(outlook(), serve_utc=NOW + timedelta(days=days))
        hours = re.findall(r'<text x="([\d.]+)"', axis_strip(whole, axis_of(whole), HANDS))
        assert 1 <= len(hours) <= 8
        apart = [float(b) - float(a) for a, b in pairwise(hours[:-1])]  # the last is "now"
        assert all(gap > 34 for gap in apart)


def test_many_items_get_narrower_strips() -> None:
    pictures, _ = strips(outlook(*(item(f"item {n}") for n in range(6))), HANDS)
    assert {ElementTree.fromstring(each.slim).attrib["viewBox"].split()[3] for each in pictures} == {f"{NARROW.tall:g}"}


def test_numbers_are_worded_for_who_reads_them() -> None:
    far = ClockWords(HANDS.zone, NOW, Preferences("C", "kg", "12", "sun"))
    view = now_view(scene(), outlook(), far)
    assert view.supper is not None
    assert view.supper.promises[0].asks == "Ready by 6 pm"
    assert view.items[0].core == "62 °C"
    assert view.items[0].core_range == "62 °C (60 to 64)"
    assert now_view(scene(), outlook(), HANDS).items[0].core_range == "144 °F (140 to 147)"
    assert far.in_words(NOW + timedelta(minutes=40)) == "in 40 min"
    assert far.in_words(NOW - timedelta(minutes=75)) == "1 h 15 min ago"
    assert far.in_words(NOW + timedelta(hours=30)) == "in 1 d 6 h"


def test_chances_have_a_word_each() -> None:
    words = [sure_words(chance) for chance in (0.99, 0.8, 0.6, 0.45, 0.3, 0.05)]
    assert words == ["almost surely", "likely", "rather likely", "even odds", "unlikely", "hardly"]


def test_ways_that_are_not_known_are_as_usual() -> None:
    assert (
        Preferences.of({"degrees": "K", "mass": "stone", "hands": "24", "theme": "plaid", "more": 1}) == Preferences()
    )
    assert Preferences.of(Preferences("C", "kg", "12", "dark").prefs) == Preferences("C", "kg", "12", "dark")


def test_the_chart_s_strips_are_open_when_the_windows_are() -> None:
    """Half the ensemble has the wrap's window open at its median, and none before it can begin."""
    ledger = Ledger.of([Act(PUT_ON, "racks", "put on")])
    (racks,) = chart_strips(outlook(), ledger, Preferences(language="es"))
    wrap = racks["windows"][0]
    zero = PUT_ON.timestamp()
    chances = dict(zip(wrap["at"], wrap["open"], strict=True))
    near = min(chances, key=lambda at: abs(at - (zero + 2.0 * HOUR)))
    assert chances[near] == pytest.approx(0.5, abs=0.2)
    assert wrap["open"][0] == pytest.approx(0.0, abs=0.05)
    assert max(wrap["open"]) > 0.9
    assert wrap["says"] == "envolver"
    assert racks["ready"] == zero + 4.0 * HOUR
    assert [(each["at"], each["says"]) for each in racks["done"]] == [(zero, "poner")]
