"""What is told, when, and that nothing is told twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.alerts.outlooks import NEVER, item, ledger, minutes, outlook, pit, steady, task, trip, window
from tests.intake.day import COOK

from pitreckon.alerts import KINDS, Alert, AlertSettings, due
from pitreckon.alerts.rules import ACT_WORDS
from pitreckon.alerts.settings import Quiet
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.ledger.events import ACTS
from pitreckon.reckon import Outlook, Quantiles
from pitreckon.reckon.words import DOING
from pitreckon.text.said import bulk, said

SETTINGS = AlertSettings(COOK)


def told(
    seen: Outlook | None, now: datetime, record: Ledger | None = None, sent: set[str] | None = None, **changes: Any
) -> list[Alert]:
    return due(seen, record or ledger(), replace(SETTINGS, **changes), now, sent if sent is not None else set())


def kinds(alerts: list[Alert]) -> list[str]:
    return [alert.kind for alert in alerts]


def by_minute(
    record: list[Reading | Act], last: int, seen: Outlook | None = None, **changes: Any
) -> list[tuple[int, str]]:
    """The minutes at which something is sent as a day goes on, and what."""
    sent: set[str] = set()
    out = []
    for n in range(last + 1):
        now = minutes(n)
        past = ledger(*(event for event in record if event.at_utc <= now))
        for alert in told(seen, now, past, sent, **changes):
            sent |= set(alert.keys)
            out.append((n, alert.kind))
    return out


# --- windows and trips


def test_a_window_is_told_twenty_minutes_before_it_opens_and_once() -> None:
    seen = outlook(minutes(0), item("racks", window("wrap", 130)))
    assert by_minute([], 150, seen) == [(110, "window")]


def test_the_words_of_a_window() -> None:
    seen = outlook(minutes(110), item("racks", window("wrap", 130)))
    (alert,) = told(seen, minutes(110))
    assert alert.title == "racks: wrap in foil in about 20 min"
    assert (
        alert.text
        == "Wrap in foil when the colour is set, about 15:10; from 15:00 to 15:20. Too late about 15:40: too dark."
    )
    (alert,) = told(seen, minutes(131))
    assert alert.title == "racks: wrap in foil now"
    core = outlook(minutes(110), item("racks", window("take off", 130, until_core_c=95.0)))
    assert "the core is at 203 °F" in told(core, minutes(115))[0].text
    assert "the core is at 95 °C" in told(core, minutes(115), scale="C")[0].text
    assert "3:10 pm" in told(core, minutes(115), twelve_hour=True)[0].text


def test_what_waits_for_the_clock_alone_has_one_time() -> None:
    at = Quantiles(60.0 * 130, 60.0 * 130, 60.0 * 130, 1.0)
    (alert,) = told(outlook(minutes(110), item("racks", window("put on", 130, opens_s=at, closes_by=""))), minutes(115))
    assert alert.text.endswith("about 15:10.")


def test_fuel_goes_out_in_the_weights_of_its_degrees() -> None:
    feed = replace(task("big box", "feed"), until="", note=said("1 split, {mass}", mass=bulk(1.2)))
    (alert,) = told(outlook(minutes(110), trips=(trip(112, feed),)), minutes(110))
    assert "1 split, 2 lb 8 oz" in alert.written("F").text
    assert "1 split, 1.2 kg" in alert.written("C").text


def test_only_the_next_act_of_an_item_and_none_that_never_comes() -> None:
    assert told(outlook(minutes(0), item("racks", window("wrap", 60), window("sauce", 70))), minutes(55))[
        0
    ].title.startswith("racks: wrap")
    assert len(told(outlook(minutes(0), item("racks", window("wrap", 60), window("sauce", 70))), minutes(55))) == 1
    assert told(outlook(minutes(0), item("racks", window("wrap", 60, opens_s=NEVER))), minutes(55)) == []
    assert told(outlook(minutes(0), item("racks")), minutes(55)) == []


def test_a_window_that_moves_is_not_told_again_and_the_second_sauce_is() -> None:
    sent: set[str] = set()
    first = told(outlook(minutes(0), item("racks", window("sauce", 60))), minutes(50), sent=sent)
    sent |= set(first[0].keys)
    assert told(outlook(minutes(0), item("racks", window("sauce", 65))), minutes(50), sent=sent) == []
    done = ledger(Act(minutes(60), "racks", "sauced"))
    assert len(told(outlook(minutes(0), item("racks", window("sauce", 80))), minutes(70), done, sent)) == 1


def test_be_back() -> None:
    seen = outlook(minutes(0), item(), trips=(trip(100, task("racks", "wrap", "foil"), task("butt", "take off")),))
    assert by_minute([], 120, seen) == [(90, "be back")]
    (alert,) = told(seen, minutes(92))
    assert alert.title == "Be back at the pit by 14:40"
    assert alert.text.startswith("Racks: wrap in foil when the colour is set")
    assert "Butt: take off" in alert.text
    assert len(alert.keys) == 2
    assert alert.key == alert.keys[0]
    assert told(seen, minutes(101))[0].title == "Be back at the pit now"


def test_a_task_that_joins_a_trip_is_told() -> None:
    sent: set[str] = set()
    one = outlook(minutes(0), item(), trips=(trip(100, task("racks", "wrap", "foil")),))
    two = outlook(minutes(0), item(), trips=(trip(100, task("racks", "wrap", "foil"), task("butt", "take off")),))
    for seen, count in ((one, 1), (one, 0), (two, 1), (two, 0), (one, 0)):
        alerts = told(seen, minutes(95), sent=sent)
        assert len(alerts) == count
        for alert in alerts:
            sent |= set(alert.keys)


def test_every_act_that_can_come_has_a_word_in_the_ledger() -> None:
    assert set(ACT_WORDS) == set(DOING)
    assert set(ACT_WORDS.values()) <= set(ACTS)


def test_a_core_that_may_miss_its_official_minimum() -> None:
    note = "its core may not reach 165 °F (74 °C), the official minimum, before it is called ready"
    meat = item("racks", ready_min=200.0, least_core=0.6, notes=("something else", note))
    seen = outlook(minutes(0), meat)
    assert by_minute([], 220, seen) == [(140, "safety")]
    (alert,) = told(seen, minutes(150))
    assert alert.text.startswith("Its core may not reach 165 °F")
    assert "not a promise of safety" in alert.text
    assert "local food code" in " ".join(alert.text.split())
    assert told(outlook(minutes(0), replace(meat, least_core=0.99)), minutes(150)) == []
    assert told(outlook(minutes(0), replace(meat, put_on_planned=True)), minutes(150)) == []


# --- instruments


def test_a_pit_that_goes_out() -> None:
    """121 °C, then a fall at minute 30: told ten minutes later, once, and again only after it had come back."""
    day = [*steady(0, 29, 121.0, "night fire"), *steady(30, 60, 95.0, "night fire")]
    day += [*steady(61, 70, 120.0, "night fire"), *steady(71, 100, 90.0, "night fire")]
    assert by_minute([*day], 100) == [(40, "fire sinking"), (81, "fire sinking")]


def test_the_words_of_a_low_pit() -> None:
    day = ledger(*steady(0, 29, 121.0, "night fire"), *steady(30, 45, 95.0, "night fire"))
    (alert,) = told(None, minutes(45), day)
    assert alert.title == "night fire: 203 °F, 47 °F below its setting"
    assert alert.text == "It is set to 250 °F, and out of bounds since 13:30. Look at the fire and the fuel."
    assert "26 °C below" in told(None, minutes(45), day, scale="C")[0].title


def test_a_short_dip_is_not_told_and_a_reading_at_the_bound_tells_once() -> None:
    lid = [*steady(0, 20, 135.0), *steady(21, 27, 100.0), *steady(28, 40, 134.0)]
    assert by_minute([*lid], 40) == []
    wavering = [pit(n, 135.0 if n < 20 else (119.0 if n % 3 else 121.0)) for n in range(90)]
    assert len(by_minute([*wavering], 89)) == 1


def test_a_pit_that_heats_up_is_not_low_and_one_that_cools_to_a_new_setting_is_not_high() -> None:
    assert by_minute([pit(n, 20.0 + n) for n in range(90)], 89) == []
    down = [*steady(0, 30, 135.0), Act(minutes(31), "big box", "set pit", air_c=100.0)]
    down += [pit(n, max(100.0, 135.0 - (n - 31) / 2)) for n in range(32, 120)]
    assert by_minute([*down], 119) == []
    up = [*steady(0, 30, 135.0), Act(minutes(31), "big box", "set pit", air_c=170.0), *steady(32, 60, 140.0)]
    assert by_minute([*up], 60) == []


def test_a_flare_up() -> None:
    day = [*steady(0, 30, 135.0), *steady(31, 60, 190.0)]
    assert by_minute([*day], 60) == [(41, "fire running hot")]
    assert by_minute([*day], 60, lasting_s=120.0) == [(33, "fire running hot")]
    assert by_minute([*day], 60, above_k=60.0) == []


def test_silence_is_told_once_and_a_new_silence_again() -> None:
    day = [*steady(0, 20, 135.0), *steady(45, 50, 135.0)]
    assert by_minute([*day], 80) == [(30, "no word from the pit"), (60, "no word from the pit")]


def test_a_lost_probe() -> None:
    day = [Reading(minutes(n), "probe", "racks", 2, 40.0 + n) for n in range(30)]
    fault = "no value: set aside"
    day += [Reading(minutes(n), "probe", "racks", 2, float("nan"), fault) for n in range(30, 60)]
    day += [Reading(minutes(n), "probe", "racks", 1, 40.0) for n in range(60)]
    assert by_minute([*day], 59) == [(39, "probe fell out")]
    alerts = told(None, minutes(45), ledger(*[each for each in day if each.at_utc <= minutes(45)]))
    assert alerts[0].title == "racks 2: the probe says nothing for 16 min"


def test_what_is_not_in_use_is_not_watched() -> None:
    day = [*steady(0, 20, 135.0), Reading(minutes(20), "probe", "racks", 1, 60.0)]
    assert len(told(None, minutes(40), ledger(*day))) == 2
    for what in ("took off", "rest", "served"):
        assert told(None, minutes(40), ledger(*day, Act(minutes(21), "racks", what))) == []
    moved = Act(minutes(21), "racks", "moved", "night fire")
    assert kinds(told(None, minutes(40), ledger(*day, moved))) == ["probe fell out"]
    assert told(None, minutes(40), Ledger.of(day)) == []  # nothing was put on


def test_what_is_said_to_come_later_is_not_known_yet() -> None:
    assert told(None, minutes(20), ledger(*steady(0, 19, 135.0), *steady(60, 90, 20.0))) == []


# --- order, quiet hours


def test_the_most_pressing_first() -> None:
    meat = item("racks", window("wrap", 60), ready_min=80.0, least_core=0.5)
    seen = outlook(minutes(0), meat, trips=(trip(60, task("racks", "wrap", "foil")),))
    record = ledger(*steady(0, 30, 135.0), *steady(31, 55, 60.0), Reading(minutes(5), "probe", "racks", 1, 30.0))
    assert kinds(told(seen, minutes(55), record)) == ["safety", "fire sinking", "be back", "probe fell out", "window"]


def test_quiet_hours_hold_back_what_can_wait() -> None:
    """From 14:00 to 15:00 by the cook's clock: the window waits, the trip does not."""
    seen = outlook(minutes(0), item("racks", window("wrap", 90)), trips=(trip(90, task("racks", "wrap", "foil")),))
    quiet = Quiet(time(14), time(15))
    assert by_minute([], 130, seen, quiet=quiet) == [(80, "be back"), (120, "window")]
    assert by_minute([], 130, seen, quiet=quiet, wake=("window",)) == [(70, "window"), (120, "be back")]


def test_quiet_hours_over_midnight() -> None:
    night = Quiet(time(23), time(6))
    assert [night.holds(time(h)) for h in (22, 23, 0, 5, 6, 12)] == [False, True, True, True, False, False]


NUMBERS = st.lists(st.floats(40.0, 230.0), min_size=1, max_size=60)


@given(NUMBERS, st.integers(1, 15))
def test_nothing_is_ever_told_twice(values: list[float], every: int) -> None:
    """Whatever a pit does, each occasion is told once, and the same question has the same answer."""
    day = [pit(n * every, value) for n, value in enumerate(values)]
    last = min(len(values) * every + 30, 240)
    sent: set[str] = set()
    for n in range(0, last, 5):
        now, record = minutes(n), ledger(*(each for each in day if each.at_utc <= minutes(n)))
        alerts = told(None, now, record, sent)
        assert alerts == told(None, now, record, sent)
        keys = [key for alert in alerts for key in alert.keys]
        assert len(set(keys)) == len(keys)
        assert not set(keys) & sent
        assert {alert.kind for alert in alerts} <= set(KINDS)
        sent |= set(keys)
    assert sent


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_told(kind: str) -> None:
    meat = item("racks", window("wrap", 60), ready_min=80.0, least_core=0.5)
    seen = outlook(minutes(0), meat, trips=(trip(60, task("racks", "wrap", "foil")),))
    low, high, none = [*steady(31, 55, 60.0)], [*steady(31, 55, 200.0)], list[Reading]()
    found = set()
    for after_it in (low, high, none):
        probe = Reading(minutes(5), "probe", "racks", 1, 30.0)
        found |= set(kinds(told(seen, minutes(55), ledger(*steady(0, 30, 135.0), *after_it, probe))))
    assert kind in found
