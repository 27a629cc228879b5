"""A colour that was measured in a photo: its record, its own errors, and what it does to a forecast."""

from __future__ import annotations

import pytest
from supper import air, at, cook, put_on, racks

from pitreckon.cook.levels import LEVEL_SD, level_error
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.cook.scales import COLOUR
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger, Look
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.values import look as look_value
from pitreckon.ledger.log.write import log_text
from pitreckon.reckon import reckon
from pitreckon.reckon.update import LEAST_ESS

MANY = 64
PHOTO = LOOK_KINDS["colour in a photo"]


def photo(minutes, text):
    return Look(at(minutes), "racks", None, PHOTO.name, look_value(PHOTO.name, text)[0], text)


@pytest.mark.parametrize(
    ("text", "level", "sd"), [("0.86 ± 0.07", 0.86, 0.07), (" 1.2 +- .1", 1.2, 0.1), ("0.5", 0.5, LEVEL_SD)]
)
def test_a_level_and_its_error_are_read_from_one_text(text, level, sd):
    assert look_value(PHOTO.name, text) == (level, None)
    assert level_error(text) == sd


@pytest.mark.parametrize("text", ["mahogany", "0.86 ± x", "± 0.1", "1 2"])
def test_what_is_no_level_is_refused_with_what_one_looks_like(text):
    with pytest.raises(InputError, match=r"0\.86 ± 0\.07"):
        look_value(PHOTO.name, text)


def test_past_the_scale_it_is_kept_and_not_used():
    value, why = look_value(PHOTO.name, "1.9 ± 0.1")
    assert value == 1.9
    assert why


def test_its_own_error_counts_beside_what_a_cook_s_meat_shares():
    errors = PHOTO.errors
    assert errors.of_each("0.9 ± 0.2") ** 2 + errors.shared**2 == pytest.approx(0.2**2)
    assert errors.of_each("0.9 ± 0.2") > errors.of_each("0.9 ± 0.1") >= errors.of_each("0.9 ± 0.03") > 0.0
    word = LOOK_KINDS["colour"].errors
    assert errors.of_each(f"0.9 ± {LEVEL_SD}") ** 2 + errors.shared**2 < word.each**2 + word.shared**2


def test_it_is_told_by_the_nearest_word():
    assert PHOTO.word(0.93) == "mahogany"
    assert PHOTO.step(0.93) == COLOUR["mahogany"]
    assert LOOK_KINDS["colour"].step(0.93) == 0.93
    assert PHOTO.show(0.93, "0.93 ± 0.08", "F", "lb") == "mahogany (0.93 ± 0.08)"
    assert PHOTO.as_cause(0.93, "F") == "colour in a photo 'mahogany'"


def test_the_log_has_it_both_ways():
    plan = cook(racks())
    text = "time,kind,on,what,value\n2026-10-10 15:00,act,racks,put on,\n"
    text += "15:40,look,racks,colour in a photo,0.86 ± 0.07\n"
    ledger = log_from_text(text, "day.csv", plan)
    assert [(each.kind, each.value, each.text) for each in ledger.all_looks] == [(PHOTO.name, 0.86, "0.86 ± 0.07")]
    assert "look,racks,,colour in a photo,0.86 ± 0.07," in log_text(ledger, plan)


@pytest.mark.kernel
def test_a_darker_photo_means_sooner_a_surer_one_more_and_none_rules_a_member_out():
    def outlook(*events):
        ledger = Ledger.of([put_on("racks"), *air(135.0, 0, 80), *events])
        return reckon(cook(racks(), set_c=135.0, serve_h=6.0), ledger, now=at(80), members=MANY).item("racks")

    without = outlook()
    pale, vague, dark = (outlook(photo(80, text)) for text in ("0.45 ± 0.08", "0.45 ± 0.3", "1.05 ± 0.08"))
    assert dark.colour.p50 > without.colour.p50 > pale.colour.p50
    assert dark.marks["colour_set"].p50 < without.marks["colour_set"].p50 < pale.marks["colour_set"].p50
    assert without.colour.p50 > vague.colour.p50 > pale.colour.p50
    assert pale.colour.p95 - pale.colour.p05 < without.colour.p95 - without.colour.p05
    assert min(dark.ess, pale.ess) >= LEAST_ESS * MANY * 0.99


@pytest.mark.kernel
def test_a_photo_of_the_set_colour_makes_the_wrap_due_as_the_eye_does():
    def window(text):
        ledger = Ledger.of([put_on("racks"), *air(135.0, 0, 60), photo(60, text)])
        done = reckon(cook(racks(), set_c=135.0, serve_h=6.0), ledger, now=at(60), members=MANY)
        return done.item("racks").windows[0]

    there, near = window("0.95 ± 0.08"), window("0.85 ± 0.08")
    assert there.act == near.act == "wrap"
    assert there.open_now == pytest.approx(1.0)
    assert near.open_now < 0.9
