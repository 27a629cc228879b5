"""Both sides of every limit of time and temperature: come-up, holding, time out, cooling, reheating, age, thawing.

The limits are those of FSIS-GD-2021-14 p. 23-25, FSIS Appendix B option 1, FDA Food Code 3-403.11 and 3-501.13 to .19,
and USDA's advice to home cooks, as the rule data name them; typed again here.
"""

from __future__ import annotations

import numpy as np
import pytest

from pitreckon.errors import InputError
from pitreckon.safety.cautions import CAUTIONS
from pitreckon.safety.history.history import MISSING, REJECTED, History, Phase, Series
from pitreckon.safety.record.words import verdict_words
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Handled, Meat
from pitreckon.safety.rules.rule import rules
from pitreckon.safety.wording import told
from pitreckon.units import celsius_from_fahrenheit

HOUR = 3600.0
INJECTED = Meat("pork", Handled(injected=True))
INTACT = Meat("pork", UNTOUCHED)


def c(*temps_f):
    return np.array([celsius_from_fahrenheit(f) for f in temps_f])


def ramp(points, every_s=10.0):
    """Straight lines through (hours, degF), sampled."""
    hours, temps = zip(*points, strict=True)
    at_s = np.arange(0.0, hours[-1] * HOUR + 0.5 * every_s, every_s)
    return at_s, c(*np.interp(at_s / HOUR, hours, temps))


def judged(history, meat=INJECTED):
    return judge_piece("piece", meat, [history])


def what(history, key, meat=INJECTED):
    verdict = judged(history, meat).verdict(key)
    return None if verdict is None else verdict.verdict


def heated(hours_in_band, surface=None):
    """From 38 F, so many hours from 50 to 130 F, then on to 200 F."""
    tail = hours_in_band + 0.5
    at_s, core = ramp([(0.0, 38.0), (0.5, 50.0), (tail, 130.0), (tail + 2.0, 200.0)])
    return History.measured(at_s, core, surface, phases=(Phase.of("cook", 0.0, at_s[-1]),))


def test_come_up_at_the_centre_of_what_is_not_intact():
    """50 to 130 F in 6 h. Hours add up until a lethal row is reached, and 130 F asks for 112 min more: so the time that
    counts ends between 130 F and there, and it is the band that ends it."""
    assert what(heated(5.99), "fsis-come-up") == "met"
    assert what(heated(6.02), "fsis-come-up") == "missed"
    verdict = judged(heated(6.5)).verdict("fsis-come-up")
    assert verdict.at_s == pytest.approx(6.5 * HOUR, abs=60.0)  # six hours after 50 F, which was at half an hour
    assert verdict.margin == pytest.approx(-0.5 * HOUR, abs=60.0)


def test_come_up_at_the_face_of_what_is_intact():
    at_s, face = ramp([(0.0, 38.0), (1.0, 140.0), (8.5, 205.0)])
    _, core = ramp([(0.0, 38.0), (0.5, 50.0), (7.5, 130.0), (8.5, 205.0)])
    history = History.measured(at_s, core, face)
    assert what(history, "fsis-come-up", INTACT) == "met"
    assert what(history, "fsis-come-up", INJECTED) == "missed"


def test_nobody_has_said_whether_it_is_intact():
    at_s, face = ramp([(0.0, 38.0), (1.0, 140.0), (8.5, 205.0)])
    _, core = ramp([(0.0, 38.0), (0.5, 50.0), (7.5, 130.0), (8.5, 205.0)])
    verdict = judged(History.measured(at_s, core, face), Meat("pork")).verdict("fsis-come-up")
    assert verdict.verdict == "cannot tell"
    assert "injected, bladed" in verdict.needs
    quick = heated(3.0, None)
    assert what(quick, "fsis-come-up", Meat("pork")) == "met"


def test_the_middle_of_an_intact_piece_proves_nothing_against_its_face():
    assert what(heated(5.9), "fsis-come-up", INTACT) == "met"
    verdict = judged(heated(7.0), INTACT).verdict("fsis-come-up")
    assert verdict.verdict == "cannot tell"
    assert "face" in verdict.needs


def test_come_up_adds_up_over_two_cooks_until_a_lethal_row():
    """FSIS-GD-2021-14, p. 25: a second cook gets a new 6 h only after a lethal row; else hours add up."""
    twice = [(0.0, 38.0), (4.0, 125.0), (5.0, 45.0), (9.0, 125.0), (10.0, 200.0)]
    assert what(History.measured(*ramp(twice)), "fsis-come-up") == "missed"
    cooked = [(0.0, 38.0), (3.0, 160.0), (5.0, 45.0), (9.0, 125.0), (10.0, 200.0)]
    assert what(History.measured(*ramp(cooked)), "fsis-come-up") == "met"


def test_a_record_that_begins_warm_cannot_tell_how_long_it_took():
    history = History.measured(*ramp([(0.0, 70.0), (3.0, 130.0), (5.0, 200.0)]))
    verdict = judged(history).verdict("fsis-come-up")
    assert verdict.verdict == "cannot tell"
    assert "70 °F" in told(verdict.why)


def test_the_trade_rule_is_practice():
    assert what(heated(3.2), "trade-four-hours") == "met"
    verdict = judged(heated(5.0)).verdict("trade-four-hours")
    assert verdict.verdict == "missed"
    assert "practice, not law" in verdict_words(verdict)
    assert judged(heated(5.0)).group("come-up").verdict == "met"  # it does not decide
    assert judged(heated(5.0), INTACT).verdict("trade-four-hours") is None


@pytest.mark.parametrize(
    ("began_f", "error_k", "said"), [(38.0, 1.0, "met"), (38.0, 3.0, "cannot tell"), (41.0, 0.0, "cannot tell")]
)
def test_what_may_have_been_in_the_range_before_is_not_known_to_be_quick(began_f, error_k, said):
    """Found by the twins: meat that lay for four hours at 41 F, read as 39 F, had been in the trade's range all that
    time."""
    at_s, core = ramp([(0.0, began_f), (0.5, 50.0), (3.0, 130.0), (5.0, 200.0)])
    history = History.measured(at_s, core, phases=(Phase.of("cook", 0.0, at_s[-1]),), error_k=error_k)
    verdict = judged(history).verdict("trade-four-hours")
    assert verdict.verdict == said
    assert ("may be off" in verdict.why) == (error_k > 1.0)
    assert what(history, "fsis-come-up") == "met", "that range begins at 50 F"


def held(lowest_f, *, face=True, gap=False):
    at_s, core = ramp([(0.0, 200.0), (1.0, 170.0), (4.0, 150.0)])
    _, outer = ramp([(0.0, 190.0), (1.0, 160.0), (2.5, lowest_f), (4.0, 145.0)])
    marks = np.full(at_s.size, "measured", dtype="<U9")
    if gap:
        marks[(at_s > 1.5 * HOUR) & (at_s < 2.2 * HOUR)] = MISSING
    surface = Series.of(at_s, outer, marks.tolist()) if face else None
    return History(
        "measured", Series.of(at_s, core), surface=surface, end_s=at_s[-1], over=True,
        phases=(Phase.of("hold", 0.0, at_s[-1]),),
    )  # fmt: skip


@pytest.mark.parametrize(("key", "limit_f"), [("food-code-hot-holding", 135.0), ("usda-hot-holding", 140.0)])
def test_hot_holding(key, limit_f):
    assert what(held(limit_f), key) == "met"
    assert what(held(limit_f + 0.1), key) == "met"
    missed = judged(held(limit_f - 0.1)).verdict(key)
    assert missed.verdict == "missed"
    assert missed.at_s == pytest.approx(2.5 * HOUR, abs=60.0)
    assert missed.margin == pytest.approx(-0.1 / 1.8, abs=0.01)


def test_holding_is_not_met_where_nothing_was_measured():
    assert what(held(150.0, gap=True), "food-code-hot-holding") == "cannot tell"
    assert what(held(150.0, face=False), "food-code-hot-holding") == "cannot tell"


def standing(hours, *, air_c=20.0, temp_f=100.0, meat="pork", marked=False):
    at_s = np.arange(0.0, hours * HOUR + 1.0, 10.0)
    temps = np.full(at_s.size, celsius_from_fahrenheit(temp_f))
    history = History.measured(at_s, temps, temps, phases=(Phase.of("out", 0.0, at_s[-1]),))
    return history, Meat(meat, UNTOUCHED, air_c=air_c, marked=marked)


def out(hours, key="usda-out", **more):
    history, meat = standing(hours, **more)
    return what(history, key, meat)


def test_time_out_of_temperature_control():
    """USDA: 2 h, 1 h when the air is above 90 F; Food Code 3-501.19(B): 4 h where the time is marked."""
    assert out(2.0) == "met"
    assert out(2.01) == "missed"
    assert out(1.0, air_c=38.0) == "met"
    assert out(1.01, air_c=38.0) == "missed"
    assert out(1.01, air_c=27.0) == "met"
    for near_c in (32.0, 32.2, 33.0):  # the weather is not the air where it stands: so near 90 F nobody knows
        assert out(1.0, air_c=near_c) == "met"
        assert out(1.01, air_c=near_c) == "cannot tell"
        assert out(2.01, air_c=near_c) == "missed"
    assert out(1.0, air_c=None) == "met"
    assert out(1.5, air_c=None) == "cannot tell"
    assert out(3.0, temp_f=141.0) == "met"
    assert out(4.0, key="food-code-time-marked") is None
    assert out(4.0, key="food-code-time-marked", marked=True) == "met"
    assert out(4.01, key="food-code-time-marked", marked=True) == "missed"


def test_time_out_goes_by_the_clock_where_nothing_is_known():
    for hours, expected in ((1.9, "met"), (2.1, "cannot tell")):
        history = History(
            "measured", None, end_s=hours * HOUR, over=True, phases=(Phase.of("out", 0.0, hours * HOUR),)
        )  # fmt: skip
        assert what(history, "usda-out", Meat("pork", air_c=20.0)) == expected


def cooled(points, every_s=10.0):
    at_s, core = ramp(points, every_s)
    return History.measured(at_s, core, phases=(Phase.of("cool", 0.0, at_s[-1]),))


@pytest.mark.parametrize(
    ("first_h", "all_h", "expected"),
    [(1.99, 5.99, "met"), (2.01, 5.5, "missed"), (1.5, 6.01, "missed"), (1.99, 6.01, "missed"), (0.5, 5.9, "met")],
)
def test_cooling_in_two_stages(first_h, all_h, expected):
    """Food Code 3-501.14(A): 135 to 70 F within 2 h, and to 41 F within 6 h in all."""
    points = [(0.0, 150.0), (0.5, 135.0), (0.5 + first_h, 70.0), (0.5 + all_h, 41.0), (8.0, 38.0)]
    assert what(cooled(points), "food-code-cooling") == expected


@pytest.mark.parametrize(
    ("first_h", "second_h", "expected"), [(1.49, 4.98, "met"), (1.52, 4.0, "missed"), (1.0, 5.02, "missed")]
)
def test_cooling_as_plants_do(first_h, second_h, expected):
    """FSIS Appendix B, option 1: 130 to 80 F within 1.5 h, 80 to 40 F within 5 h."""
    end = 0.5 + first_h + second_h
    points = [(0.0, 140.0), (0.5, 130.0), (0.5 + first_h, 80.0), (end, 40.0), (end + 0.5, 38.0)]
    assert what(cooled(points), "fsis-cooling-1") == expected


def test_three_readings_are_enough_for_cooling_if_they_are_early_enough():
    def readings(*pairs):
        hours, temps = zip(*pairs, strict=True)
        at_s = np.array(hours) * HOUR
        return what(
            History.measured(at_s, c(*temps), phases=(Phase.of("cool", 0.0, at_s[-1]),)), "food-code-cooling"
        )  # fmt: skip

    assert readings((0, 140), (0.2, 134), (1.9, 69), (5.8, 40)) == "met"
    assert readings((0, 140), (0.2, 134), (2.1, 69), (5.8, 40)) == "cannot tell"
    assert readings((0, 140), (0.2, 134), (2.3, 72), (2.4, 69), (5.8, 40)) == "missed"
    assert readings((0, 130), (1.9, 69), (5.8, 40)) == "cannot tell"  # when it was at 135 F is not known


def test_cooling_that_goes_on():
    points = [(0.0, 150.0), (0.5, 135.0), (1.5, 90.0)]
    at_s, core = ramp(points)
    going = History.measured(at_s, core, phases=(Phase.of("cool", 0.0),), over=False)
    assert what(going, "food-code-cooling") == "not yet"
    at_s, core = ramp([(0.0, 150.0), (0.5, 135.0), (2.6, 90.0)])
    late = History.measured(at_s, core, phases=(Phase.of("cool", 0.0),), over=False)
    assert what(late, "food-code-cooling") == "missed"


@pytest.mark.parametrize(
    ("reach_h", "hold_s", "expected"), [(1.99, 15, "met"), (2.01, 60, "missed"), (1.5, 14, "missed")]
)
def test_reheating(reach_h, hold_s, expected):
    """Food Code 3-403.11: 165 F for 15 s, within 2 h."""
    at_s = np.unique(np.concatenate((np.arange(0, reach_h * HOUR, 1.0), reach_h * HOUR + np.arange(0, hold_s + 61.0))))
    temps = np.interp(
        at_s, np.array([0, reach_h * HOUR, reach_h * HOUR + hold_s, reach_h * HOUR + hold_s + 60]), [40, 165, 165, 150]
    )
    history = History.measured(at_s, c(*temps), phases=(Phase.of("reheat", 0.0, at_s[-1]),))
    verdict = judged(history).verdict("food-code-reheating").verdict
    # a second between samples may hide a second of 165 F on either side, and then it says so
    assert verdict == expected or (hold_s == 14 and verdict == "cannot tell")


@pytest.mark.parametrize(("temp_f", "expected"), [(41.0, "met"), (41.2, "missed")])
def test_cold_holding(temp_f, expected):
    at_s = np.arange(0.0, 24 * HOUR, 900.0)
    history = History.measured(at_s, np.full(at_s.size, c(temp_f)[0]), phases=(Phase.of("chilled", 0.0, at_s[-1]),))
    assert what(history, "food-code-cold-holding") == expected


def test_what_is_kept_cold_is_judged_at_its_warmer_place():
    at_s = np.arange(0.0, 24 * HOUR, 900.0)
    middle, face = np.full(at_s.size, c(39.0)[0]), np.full(at_s.size, c(39.0)[0])
    face[40] = c(43.0)[0]
    phases = (Phase.of("chilled", 0.0, at_s[-1]),)
    assert what(History.measured(at_s, middle, face, phases=phases), "food-code-cold-holding") == "missed"
    assert what(History.measured(at_s, middle, phases=phases), "food-code-cold-holding") == "met"


@pytest.mark.parametrize(
    ("days", "leftovers", "dated"),
    [(3.0, "met", "met"), (4.0, "met", "met"), (4.01, "missed", "met"), (6.01, "missed", "missed")],
)
def test_leftovers(days, leftovers, dated):
    history = History(
        "measured", None, end_s=days * 86400, over=True, phases=(Phase.of("chilled", 0.0, days * 86400),)
    )  # fmt: skip
    assert what(history, "usda-leftovers") == leftovers
    assert what(history, "food-code-date-mark") == dated


def test_a_rule_from_memory_gives_way_to_a_stricter_one_that_was_seen():
    history = History("measured", None, end_s=5 * 86400, over=True, phases=(Phase.of("chilled", 0.0, 5 * 86400),))
    verdict = judged(history).verdict("food-code-date-mark")
    assert (verdict.verdict, verdict.overruled_by) == ("met", "usda-leftovers")
    assert "memory" in verdict_words(verdict)
    assert judged(history).group("leftovers").verdict == "missed"
    short = History.measured(np.arange(0, 40.0, 1.0), np.full(40, c(146.0)[0]))
    verdict = judged(short, INTACT).verdict("food-code-whole-muscle")
    assert (verdict.verdict, verdict.overruled_by) == ("met", "fsis-meat")


def test_thawing():
    at_s = np.arange(0.0, 20 * HOUR, 600.0)
    phases = (Phase.of("thaw", 0.0, 10 * HOUR), Phase.of("cook", 10 * HOUR, at_s[-1]))

    def thawed(thaw_f, then_f):
        temps = np.where(at_s < 10 * HOUR, c(thaw_f)[0], c(then_f)[0])
        return History.measured(at_s, temps, temps, phases=phases)

    assert what(thawed(39.0, 39.0), "usda-thawing-cold") == "met"
    assert what(thawed(50.0, 50.0), "usda-thawing-cold") == "missed"
    assert what(thawed(50.0, 50.0), "food-code-thawing") == "missed"
    assert what(thawed(38.0, 38.0), "fsis-thawed") == "met"
    assert what(thawed(25.0, 25.0), "fsis-thawed") == "missed"


def test_ground_poultry_and_stuffed_have_their_rules():
    history = heated(4.0)
    ground = judged(history, Meat("beef", Handled(ground=True)))
    assert {"usda-ground", "fsis-meat-5-log"} <= {v.rule.key for v in ground.verdicts}
    assert ground.verdict("food-code-roasts") is None
    bird = judged(history, Meat("chicken"))
    assert bird.group("cooking").rule.key == "fsis-poultry"
    assert bird.verdict("fsis-meat") is None
    mixed = judged(history, Meat("mixed", Handled(ground=True)))
    assert mixed.group("cooking").rule.key == "fsis-poultry"
    assert Meat("pork", Handled(stuffed=True)).states == ("non-intact",)


def test_ground_meat_must_reach_160():
    almost = History.measured(*ramp([(0.0, 38.0), (1.0, 159.0)]))
    done = History.measured(*ramp([(0.0, 38.0), (1.0, 160.1)]))
    meat = Meat("beef", Handled(ground=True))
    assert judged(almost, meat).verdict("fsis-meat").verdict == "met"
    assert judged(almost, meat).group("cooking").verdict in {"not met", "cannot tell"}
    assert judged(done, meat).group("cooking").verdict == "met"


def test_the_error_of_the_thermometer_counts_against_the_piece():
    """FSIS-GD-2021-14, p. 20: with one degree of error, the limit is set one degree higher."""
    at_s = np.arange(0.0, 60.0, 1.0)
    for error_k, temp_f, expected in ((0.0, 158.0, "met"), (1 / 1.8, 158.9, "not met"), (1 / 1.8, 159.0, "met")):
        temps = np.where(at_s < 2.0, c(temp_f)[0], c(140.0)[0])
        history = History.measured(at_s, temps, error_k=error_k)
        assert what(history, "fsis-meat") in {expected, "cannot tell"}
        assert (what(history, "fsis-meat") == "met") == (expected == "met")


def test_a_peak_between_two_readings_may_have_met_it():
    at_s = np.arange(5) * 1800.0
    steep = History.measured(at_s, c(60.0, 110.0, 155.0, 110.0, 60.0))
    flat = History.measured(at_s, c(110.0, 120.0, 123.0, 121.0, 119.0))
    assert what(steep, "usda-whole-cuts", INTACT) == what(steep, "fsis-meat", INTACT) == "cannot tell"
    assert what(flat, "fsis-meat", INTACT) == "not met"


def test_nothing_known_is_never_met_but_by_the_clock():
    marks = [REJECTED] * 50
    series = Series.of(np.arange(50) * 600.0, np.full(50, 95.0), marks)
    phases = tuple(
        Phase.of(kind, i * HOUR, (i + 1) * HOUR) for i, kind in enumerate(("cook", "hold", "cool", "reheat"))
    )
    history = History("measured", series, surface=series, end_s=49 * 600.0, over=True, phases=phases)
    verdicts = judged(history).verdicts
    assert verdicts
    for verdict in verdicts:
        assert verdict.verdict == "cannot tell", verdict.rule.key
        assert verdict.why
        assert verdict.needs


def test_what_cannot_be_is_refused():
    with pytest.raises(InputError, match="do not rise"):
        Series.of([0.0, 0.0], [1.0, 2.0])
    with pytest.raises(InputError, match="no mark"):
        Series.of([0.0, 1.0], [1.0, 2.0], ["measured", "guessed"])
    with pytest.raises(InputError, match="do not go together"):
        Series.of([0.0, 1.0], [1.0])
    with pytest.raises(InputError, match="no phase"):
        Phase.of("braise", 0.0)
    with pytest.raises(InputError, match="histories"):
        judge_piece("x", Meat("pork"), [])


def test_words_promise_nothing():
    texts = [*CAUTIONS, *[verdict_words(v) for v in judged(heated(5.0), Meat("pork")).verdicts]]
    for text in texts:
        assert not any(word in text.lower() for word in ("validated", "certified", "guarantee"))
    assert any("local code and your health department" in text for text in CAUTIONS)
    assert {rule.standing for rule in rules()} == {"rule", "advice", "practice"}
