"""Readings that cannot be true are kept and marked: out of range, a spike, a sensor that is stuck."""

from __future__ import annotations

import threading
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.day import after, air, core

from pitreckon.intake.plausible import Judge
from pitreckon.intake.reading import reading_id
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry


def entries(readings: Sequence[Reading]) -> list[Entry]:
    return [Entry(reading_id("test", reading), reading, "test") for reading in readings]


def judge(reading: Reading, history: Sequence[Reading]) -> Reading:
    """By a program that was started a moment ago: all it has of earlier readings is what the store has."""
    (entry,) = Judge(entries(history)).judged(entries([reading]))
    assert isinstance(entry.event, Reading)
    return entry.event


def why(readings: Sequence[Reading]) -> list[str | None]:
    """The verdicts on a series as it comes in."""
    judged = Judge().judged(entries(readings))
    return [entry.event.rejected for entry in judged if isinstance(entry.event, Reading)]


@pytest.mark.parametrize(
    "reading", [air(0, 401.0), air(0, -41.0), core(0, 111.0), core(0, -26.0), air(0, float("inf"))]
)
def test_out_of_range(reading: Reading) -> None:
    said = judge(reading, []).rejected
    assert said is not None
    assert "is outside what" in said


def test_what_is_usual_passes() -> None:
    day = [air(60.0 * n, 20.0 + min(115.0, 4.0 * n) + 3.0 * (n % 3)) for n in range(200)]
    assert why(day) == [None] * 200
    meat = [core(60.0 * n, 4.0 + 0.3 * n) for n in range(200)]
    assert why(meat) == [None] * 200


def test_a_spike_is_lost_and_what_follows_is_not() -> None:
    day = [air(0, 130.0), air(5, 131.0), air(10, 260.0), air(15, 132.0), air(20, 131.0)]
    assert [said is None for said in why(day)] == [True, True, False, True, True]
    assert "it jumps from 268 °F to 500 °F in 5 s" in (why(day)[2] or "")


def test_a_jump_that_stays_is_believed_with_its_second_reading() -> None:
    moved = [core(0, 60.0), core(30, 60.2), core(60, 95.0), core(90, 95.2), core(120, 95.3)]
    assert [said is None for said in why(moved)] == [True, True, False, True, True]


def test_two_spikes_apart_are_both_lost() -> None:
    day = [core(0, 60.0), core(10, 5.0), core(20, 108.0), core(30, 60.1)]
    assert [said is None for said in why(day)] == [True, False, False, True]


def test_after_a_long_gap_a_jump_proves_nothing() -> None:
    assert why([core(0, 20.0), core(901, 70.0)]) == [None, None]


def test_an_open_lid_is_no_spike() -> None:
    """A quick instrument in a pit that is opened: 60 K in half a minute, and back."""
    assert why([air(0, 135.0), air(30, 75.0), air(60, 78.0), air(90, 120.0)]) == [None] * 4


def test_a_stuck_sensor_is_marked_until_it_moves() -> None:
    day = [air(300.0 * n, 135.0) for n in range(26)] + [air(300.0 * 26, 136.0)]
    said = why(day)
    assert said[:24] == [None] * 24
    assert said[24] is not None
    assert "not moved by its last digit for 2 h" in said[24]
    assert said[26] is None


def test_a_cold_pit_may_stand_still_and_meat_at_its_stall() -> None:
    assert why([air(300.0 * n, 12.0) for n in range(40)]) == [None] * 40
    assert why([core(300.0 * n, 67.0) for n in range(40)]) == [None] * 40


def test_a_gap_is_no_standing_still() -> None:
    assert why([air(0, 135.0), air(8000, 135.0), air(8060, 135.0)]) == [None] * 3


def test_series_do_not_meddle() -> None:
    assert why([core(0, 20.0, 1), core(1, 90.0, 2), core(2, 20.1, 1)]) == [None] * 3


def test_a_retry_gets_the_verdict_that_it_had() -> None:
    bench = Judge()
    first = bench.judged(entries([air(0, 130.0), air(5, 260.0), air(10, 262.0)]))
    assert bench.judged(entries([air(5, 260.0)])) == [first[1]]
    # and over a restart, from what the store has
    assert Judge(first).judged(entries([air(5, 260.0)])) == [first[1]]


def test_what_comes_late_is_judged_by_its_range_alone() -> None:
    bench = Judge(entries([air(0, 130.0), air(60, 131.0)]))
    late = bench.judged(entries([air(30, 250.0), air(40, 500.0)]))
    assert [entry.event.rejected is None for entry in late if isinstance(entry.event, Reading)] == [True, False]


def test_what_was_set_aside_stays_so() -> None:
    aside = air(0, float("nan"), "fault code 999 set aside")
    assert why([aside]) == ["fault code 999 set aside"]
    assert judge(aside, []) is aside


SERIES = st.lists(st.tuples(st.integers(1, 4000), st.floats(-50.0, 450.0, allow_nan=False)), min_size=1, max_size=25)


@given(SERIES)
def test_one_by_one_or_after_a_restart_is_the_same(steps: list[tuple[int, float]]) -> None:
    at, day = 0, []
    for step, value_c in steps:
        at += step
        day.append(air(at, value_c))
    judged: list[Reading] = []
    for reading in day:
        judged.append(judge(reading, judged))
    assert [each.rejected for each in judged] == why(day)


def test_threads_may_share_one() -> None:
    bench = Judge()
    rooms = [
        threading.Thread(target=lambda k=k: [bench.judged(entries([core(n, 50.0, k)])) for n in range(200)])
        for k in (1, 2)
    ]  # type: ignore[misc]
    for room in rooms:
        room.start()
    for room in rooms:
        room.join()
    (last,) = bench.judged(entries([core(201, 110.0, 1)]))
    assert isinstance(last.event, Reading)
    assert last.event.rejected is not None
    assert last.event.at_utc == after(201)
