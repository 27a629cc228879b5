"""What an attack on the verdicts found: each of these was a false "met", a "met" that could not be, or a silence."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckoning
from pitreckon.safety.history.history import History, Phase, Series
from pitreckon.safety.history.probe import sift_probe
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.record.words import verdict_words
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Handled, Meat
from pitreckon.safety.wording import told

ON = datetime(2026, 10, 17, 18, tzinfo=UTC)
PLAN = """
[cook]
name = "harvest table"
zone = "UTC"
serve = "2026-10-18 09:00"
[[pit]]
name = "box"
kind = "pellet-cooker"
set = "250 F"
[[item]]
name = "butt"
cut = "boston-butt"
weight = "8 lb"
pit = "box"
put_on = "2026-10-17 18:00"
{start}
"""
INJECTED = Handled(injected=True)


def after(minutes: float) -> datetime:
    return ON + timedelta(minutes=minutes)


def curve(start_c: float, end_c: float, hours: float, every_min: int = 5, first_min: int = 1) -> list[Reading]:
    """A middle that rises along a straight line; nobody's measurement, only a course that no rule is near to."""
    minutes = range(first_min, int(60 * hours) + 1, every_min)
    return [Reading(after(m), "probe", "butt", None, start_c + (end_c - start_c) * m / (60 * hours)) for m in minutes]


def judged(readings: list, hours: float, start: str = "", handled: Handled = UNTOUCHED, rest: tuple = ()):  # type: ignore[no-untyped-def]
    cook = cook_from_text(PLAN.format(start=start), "harvest.toml")
    ledger = Ledger.of([Act(ON, "butt", "put on"), *readings, *rest])
    known = reckoning(cook, ledger, now=after(60 * hours), members=64, threads=1)
    return judge_cook(known, {"butt": handled}).now[0]


@pytest.mark.kernel
@pytest.mark.parametrize(("first_f", "start"), [(75.0, ""), (60.0, ""), (60.0, 'start = "38 F"')])
def test_meat_that_came_warm_is_not_called_cold(first_f: float, start: str) -> None:
    """Finding 1: the plan's start stood at second 0 as if it were a reading, and hours on a table were forgotten."""
    piece = judged(curve((first_f - 32.0) / 1.8, 93.0, 9.0), 9.0, start)
    verdict = piece.verdict("fsis-come-up")
    assert verdict.verdict == "cannot tell"
    if start:
        assert any("told start" in words and "left out" in words for words in verdict.left_out)


@pytest.mark.kernel
def test_an_unsaid_start_stands_in_no_measured_verdict_and_a_said_one_does_once_a_reading_bears_it_out() -> None:
    late = curve(4.0, 93.0, 9.0, first_min=45)
    assert judged(late, 9.0, 'start = "38 F"').verdict("fsis-come-up").basis == "reckoned"
    assert judged(late, 9.0, 'start = "38 F"').verdict("fsis-come-up").verdict == "cannot tell"
    soon = judged(curve(4.0, 93.0, 6.0, first_min=5), 6.0, 'start = "38 F"').verdict("fsis-come-up")
    assert (soon.verdict, soon.basis) == ("met", "measured")


@pytest.mark.kernel
def test_a_told_start_is_no_colder_than_the_first_reading_shows() -> None:
    """Within the 5 K that bear a told start out lie hours in the trade's range from 40 degF on."""
    readings = curve(8.0, 93.0, 3.0, first_min=5)
    verdict = judged(readings, 3.0, 'start = "39 F"', Handled(injected=True)).verdict("trade-four-hours")
    assert verdict.verdict != "met"
    cold = judged(curve(2.0, 93.0, 3.0, first_min=1, every_min=1), 3.0, 'start = "35 F"', Handled(injected=True))
    assert any("told start" in words for words in verdict.left_out)
    assert cold.verdict("trade-four-hours").left_out == ()


@pytest.mark.kernel
def test_thawed_is_met_by_who_measured_it() -> None:
    """Finding 2: members know nothing of it, so their share was 0 and no cook could ever meet the rule."""
    verdict = judged(curve(5.0, 30.0, 2.0), 2.0).verdict("fsis-thawed")
    assert (verdict.verdict, verdict.basis) == ("met", "measured")
    before = Look(after(-5), "butt", None, "spot temperature", 5.0)  # "measure the middle before it goes on"
    verdict = judged([before], 0.5).verdict("fsis-thawed")
    assert (verdict.verdict, verdict.basis) == ("met", "measured")


def test_a_reading_of_later_does_not_say_that_a_thin_piece_was_thawed() -> None:
    core = Series.of([0.0, 1500.0, 3000.0], [np.nan, 8.0, 20.0])
    phases = (Phase.of("cook", 0.0, 3000.0),)
    quick = History("measured", core, phases=phases, end_s=3000.0, error_k=1.0, warms_k_per_s=0.02)
    assert judge_piece("x", Meat("pork", UNTOUCHED), [quick]).verdict("fsis-thawed").verdict == "cannot tell"
    slow = History("measured", core, phases=phases, end_s=3000.0, error_k=1.0, warms_k_per_s=0.002)
    assert judge_piece("x", Meat("pork", UNTOUCHED), [slow]).verdict("fsis-thawed").verdict == "met"


def test_a_warm_tip_does_not_say_that_the_middle_is_thawed() -> None:
    """Found by the twins: 33 F beside a middle of 28 F, by a probe that had been in boiling water."""
    said = {}
    for began_c in (0.7, 1.8, 2.0):
        core = Series.of([0.0, 600.0], [began_c, began_c + 0.1])
        probe = History("measured", core, phases=(Phase.of("cook", 0.0, 600.0),), end_s=600.0, error_k=0.6)
        said[began_c] = judge_piece("x", Meat("pork", UNTOUCHED), [probe]).verdict("fsis-thawed").verdict
    assert said == {0.7: "cannot tell", 1.8: "cannot tell", 2.0: "met"}


@pytest.mark.parametrize(
    ("frozen", "before", "said"), [(0, None, "met"), (2, None, "cannot tell"), (2, 2, "cannot tell")]
)
def test_members_that_were_thawed_too_speak_of_the_middle(frozen: int, before: int | None, said: str) -> None:
    """Of a hundred members some have ice in the middle when it goes on, whatever the tip reads. before: weighs those
    before any reading, with the readings against them."""
    begin_s, end_s = 3600.0, 7200.0
    phases = (Phase.of("thaw", 0.0, begin_s), Phase.of("cook", begin_s, end_s))
    core_c = np.where(np.arange(100) < frozen, -1.5, 3.0)
    at_s = np.arange(0.0, end_s + 1.0, 600.0)
    series = Series.reckoned(at_s, np.tile(core_c, (at_s.size, 1)))
    weights = np.full(100, 0.01)
    if before is not None:
        weights = np.where(core_c > 0.0, 1.0, 0.0) / (core_c > 0.0).sum()
    reckoned = History(
        "reckoned",
        series,
        phases=phases,
        end_s=end_s,
        weights=weights,
        before=None if before is None else np.full(100, 0.01),
    )
    measured = History(
        "measured", Series.of(at_s[6:], np.linspace(4.5, 9.0, 7)), phases=phases, end_s=end_s, error_k=1.0
    )
    verdict = judge_piece("x", Meat("pork", UNTOUCHED), [measured, reckoned]).verdict("fsis-thawed")
    assert verdict.verdict == said
    assert ("98" in told(verdict.why)) == (said == "cannot tell")


def members(core_c, end_s: float, **more):  # type: ignore[no-untyped-def]
    at_s = np.arange(0.0, end_s + 1.0, 300.0)
    each = np.array([np.interp(at_s, [0.0, end_s], [4.0, c]) for c in core_c]).T
    series = Series.reckoned(at_s, each)
    n = len(core_c)
    given = {"weights": np.full(n, 1.0 / n), "end_s": end_s, "phases": (Phase.of("cook", 0.0, end_s),)} | more
    return History("reckoned", series, outer=series, surface=series, **given)


def what(*histories: History, key: str = "fsis-meat"):  # type: ignore[no-untyped-def]
    return judge_piece("x", Meat("pork", INJECTED), histories).verdict(key)


def test_no_history_is_over_unless_it_is_said() -> None:
    """Finding 6: members that ended minutes before their day did met rules that were still running."""
    out = (Phase.of("out", 0.0, 7260.0),)
    still = members([80.0, 81.0], 7200.0, phases=out)
    assert not still.over
    assert what(still, key="usda-out").verdict == "not yet"


def test_members_do_not_meet_what_a_used_reading_refutes() -> None:
    """Finding 6: 430 readings of at most 60.3 degC, members none below 71.2, and no reading at the end."""
    hot = members([72.0, 73.0, 74.0, 76.0], 14400.0)
    assert what(hot).verdict == "met"
    at_s = np.arange(60.0, 12000.0, 60.0)
    read = History(
        "measured",
        Series.of(at_s, np.interp(at_s, [0.0, 12000.0], [4.0, 48.0])),
        phases=(Phase.of("cook", 0.0, 14400.0),),
        end_s=14400.0,
        error_k=1.0,
        over=True,
    )
    verdict = what(read, hot)
    assert verdict.verdict == "cannot tell"
    assert "speaks against the members" in verdict.why


def test_a_reading_hotter_than_any_member_can_be_cooks_nothing() -> None:
    """A spike in a thin piece read every 15 min: no jump shows, and nothing comes after it to refute it."""
    phases = (Phase.of("cook", 0.0, 14400.0),)
    for last_c, said in ((103.0, "cannot tell"), (72.0, "met")):
        core = Series.of([600.0, 1500.0, 2400.0, 3300.0], [14.0, 20.0, 26.0, last_c])
        read = History("measured", core, phases=phases, end_s=14400.0, error_k=1.0, over=True)
        assert what(read, members([276.0, 278.0, 280.0], 14400.0, over=True)).verdict == said


def test_members_are_asked_as_they_were_before_any_reading_too() -> None:
    """Finding 6: weighed by readings of the air they agreed with them; hardly one had been so hot before."""
    n = 10
    weights = np.array([0.0] * (n - 1) + [1.0])
    cores = [55.0] * (n - 1) + [80.0]
    at_s = np.arange(0.0, 14401.0, 60.0)
    read = History("measured", Series.of(at_s, np.interp(at_s, [0.0, 14400.0], [4.0, 80.0])), end_s=14400.0)
    bare = members(cores, 14400.0, weights=weights)
    assert what(read, bare).verdict == "met"
    asked = members(cores, 14400.0, weights=weights, before=np.full(n, 1.0 / n))
    verdict = what(read, asked)
    assert verdict.verdict == "cannot tell"
    assert "before any reading only 10 % of the members" in verdict.why


def test_members_go_on_unseen_only_for_half_an_hour() -> None:
    hot = members([85.0, 86.0], 14400.0)
    assert what(hot).verdict == "met"
    blind = members([85.0, 86.0], 14400.0, blind_s=5400.0)
    assert what(blind).verdict == "cannot tell"
    assert "no reading came any more" in what(blind).why


@pytest.mark.kernel
def test_a_probe_that_stops_while_the_meat_is_on_leaves_the_fire_unknown() -> None:
    took_off = Act(after(600), "butt", "took off")
    # at 4 h it reads 55 degC; the power goes then, and the butt is taken off at 10 h
    verdict = judged(curve(4.0, 55.0, 4.0), 10.1, rest=(took_off,)).verdict("fsis-meat")
    assert verdict.verdict != "met"


@pytest.mark.parametrize("every_min", [5, 15, 30])
def test_a_run_of_the_pits_own_air_is_no_meat_at_any_time(every_min: int) -> None:
    """Finding 6: in a thin piece read every 5 to 30 min no jump shows."""
    at_s = np.arange(0.0, 4 * 3600.0, 60.0 * every_min)
    meat_c = np.interp(at_s, [0.0, 14400.0], [4.0, 55.0])
    out = np.where(at_s < 3600.0, meat_c, 77.0)
    found = sift_probe(at_s, out, fastest_k_per_s=0.05, air=([0.0, 14400.0], [78.0, 76.0]))
    assert set(found.series.marks[at_s >= 3600.0]) == {"rejected"}
    assert set(found.series.marks[at_s < 3600.0]) == {"measured"}
    assert any("pit's own air" in words for _, words in found.notes)
    rested = sift_probe(at_s, out, fastest_k_per_s=0.05, air=([0.0, 14400.0], [78.0, 76.0]), off_pit_s=3000.0)
    assert not any("pit's own air" in words for _, words in rested.notes)


def test_that_it_is_whole_no_reading_shows() -> None:
    """A cut that is said to be whole, and is not, has its middle judged: its face alone is not enough for "met"."""
    at_s = np.arange(0.0, 9 * 3600.0 + 1.0, 300.0)
    face = np.interp(at_s, [0.0, 3600.0, 32400.0], [4.0, 70.0, 95.0])
    middle = np.interp(at_s, [0.0, 3600.0, 30000.0, 32400.0], [4.0, 10.5, 55.0, 90.0])
    both = [np.stack([each, each + 0.1], axis=1) for each in (middle, face)]
    core, outer = (Series.reckoned(at_s, each) for each in both)
    history = History(
        "reckoned", core, outer=outer, surface=outer, phases=(Phase.of("cook", 0.0, 32400.0),), end_s=32400.0,
        weights=np.full(2, 0.5),
    )  # fmt: skip
    verdict = judge_piece("x", Meat("pork", UNTOUCHED), [history]).verdict("fsis-come-up")
    assert verdict.verdict == "cannot tell"
    assert "no reading shows" in verdict.why


@pytest.mark.kernel
def test_hours_after_the_planned_meal_are_judged_when_nobody_wrote_served() -> None:
    """Finding 11: hours of readings from 180 down to 85 degF were not judged at all."""
    up = curve(4.0, 93.0, 14.0)
    serve = 15 * 60
    down = [
        Reading(after(m), "probe", "butt", None, 82.0 - 53.0 * (m - serve) / 360.0)
        for m in range(serve, serve + 361, 5)
    ]
    level = [Reading(after(m), "probe", "butt", None, 93.0 - 11.0 * (m - 840) / 60.0) for m in range(845, serve, 5)]
    piece = judged([*up, *level, *down], 21.0, rest=(Act(after(841), "butt", "took off"),))
    verdict = piece.verdict("usda-out")
    assert verdict is not None
    assert verdict.verdict == "missed"
    assert any("nobody wrote that it was served" in words for _, words in piece.notes)


@pytest.mark.kernel
def test_what_was_left_out_is_named_in_the_verdict() -> None:
    gone = [
        Reading(r.at_utc, "probe", "butt", None, 121.0) if 120 <= n <= 130 else r
        for n, r in enumerate(curve(4.0, 93.0, 14.0))
    ]
    words = verdict_words(judged(gone, 14.0).verdict("fsis-meat"))
    assert "not counted: 11 of 168 readings" in words
    assert "not counted" not in verdict_words(judged(curve(4.0, 93.0, 14.0), 14.0).verdict("fsis-meat"))


def test_a_share_just_short_of_what_is_asked_is_not_called_all() -> None:
    """Finding 11: "100 % of the members meet it, because 100 % of the members meet it, 0 % do not ... cannot tell"."""
    from pitreckon.safety.outcome import FAILED, MET, Outcome
    from pitreckon.safety.rules.rule import rule
    from pitreckon.safety.rules.verdict import settled

    weights = np.array([0.9965, 0.0035])
    history = History("reckoned", None, phases=(Phase.of("cook", 0.0),), weights=weights)
    outcome = Outcome(np.array([MET, FAILED]), np.full(2, 60.0), np.full(2, 1.0), "s", "missed", "why", "needs")
    words = verdict_words(settled(rule("fsis-come-up"), outcome, history))
    assert "99.65 % of the members meet it" in words
    assert "0.35 % do not" in words
    assert "100 %" not in words
