"""Thermometers: what an unchecked one is allowed, and what a check in ice water or boiling water changes."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from tests.safety.test_safety_doubts import ON, PLAN, curve, judged

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger, Look, Reading
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.write import log_text
from pitreckon.ledger.store.documents import document_of, event_of
from pitreckon.safety.history.checks import ONE_BATH_K, TWO_BATHS_K, UNCHECKED, UNCHECKED_K, allowed_by
from pitreckon.safety.history.history import History
from pitreckon.safety.history.middle import Heard, middle_of
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Meat
from pitreckon.safety.wording import told


def test_without_a_check_a_stated_size_is_allowed() -> None:
    assert allowed_by([], 0.0) == UNCHECKED
    # a thermocouple of type K, class 2, and the instrument that reads it: IEC 60584-1 and EN 13485, from memory
    assert np.hypot(2.5, 1.0) < UNCHECKED_K <= 3.0


def test_a_check_corrects_and_narrows() -> None:
    ice = allowed_by([0.6], 0.0)
    assert ice.error_k == ONE_BATH_K
    assert ice.true_c(np.array([60.6]))[0] == pytest.approx(60.0)
    both = allowed_by([1.0, 102.0], 0.0)
    assert both.error_k == TWO_BATHS_K
    assert both.true_c(np.array([1.0, 51.5, 102.0])) == pytest.approx([0.0, 49.987, 99.97], abs=0.05)


def test_water_boils_cooler_up_high() -> None:
    """Handbook: 203 degF at 5,000 ft (extension tables of altitude cooking, from memory)."""
    high = allowed_by([(203.0 - 32.0) / 1.8], 5000 * 0.3048)
    assert high.baths[0][0] == pytest.approx((203.0 - 32.0) / 1.8, abs=0.3)
    assert abs(high.true_c(np.array([60.0]))[0] - 60.0) < 0.3


def test_two_reads_that_differ_allow_for_what_lies_between() -> None:
    assert allowed_by([0.0, 4.0], 0.0).error_k == pytest.approx(ONE_BATH_K + 2.0)


def test_a_broken_thermometer_is_not_judged_by() -> None:
    broken = allowed_by([15.0], 0.0)
    assert not broken.fit
    assert "left out" in told(broken.notes[0])


@pytest.mark.kernel
def test_a_probe_that_reads_eight_kelvin_too_much_is_found_by_its_check() -> None:
    """Finding 11, B1: 14 degF too high all day, and six rules met, measured."""
    reads = [Reading(r.at_utc, "probe", "butt", None, r.value_c + 8.0) for r in curve(4.0, 66.0, 9.0)]
    check = [Look(ON + timedelta(minutes=2), "butt", None, "probe check", 8.0)]
    assert judged([*reads, *check], 9.0).verdict("food-code-non-intact") is None  # whole: its rules are others
    with_check = judged([*reads, *check], 9.0).verdict("fsis-meat")
    assert with_check.verdict != "met" or with_check.at_s > 8.0 * 3600.0
    assert any("too high in ice water" in told(words) for _, words in judged([*reads, *check], 9.0).notes)


def test_near_a_limit_only_a_checked_probe_is_sure() -> None:
    at_s = np.arange(0.0, 14400.0, 60.0)
    reads = np.interp(at_s, [0.0, 14400.0], [4.0, 72.0])  # the table's last row is 70 degC, and 64 degC asks for 134 s
    found = {}
    for name, allowed in (("unchecked", UNCHECKED), ("checked", allowed_by([0.0, 99.97], 0.0))):
        middle = middle_of(Heard(at_s, reads, probe=allowed), 0.02, 0.01)
        history = History("measured", middle.series, end_s=14400.0, error_k=middle.error_k)
        found[name] = judge_piece("x", Meat("pork", UNTOUCHED), [history]).verdict("fsis-meat")
    assert found["checked"].verdict == found["unchecked"].verdict == "met"
    # two kelvin more at 17 K/h
    assert found["unchecked"].at_s - found["checked"].at_s == pytest.approx(3600.0 * 2.0 / 17.0, abs=180.0)


def test_a_check_in_the_log_the_store_and_back() -> None:
    cook = cook_from_text(PLAN.format(start=""), "x.toml")
    text = (
        "time,kind,on,what,value\n2026-10-17 17:50,look,butt,probe check,ice water 33 F\n"
        "17:55,look,butt,probe check,boiling water 211 F\n17:56,look,butt,spot check,33.1 F\n18:00,act,butt,put on,\n"
    )
    ledger = log_from_text(text, "x.csv", cook)
    assert [look.kind for look in ledger.looks()] == ["probe check", "probe check", "spot check"]
    assert [look.value for look in ledger.looks()] == pytest.approx([0.556, 99.444, 0.611], abs=1e-3)
    again = log_from_text(log_text(ledger, cook), "y.csv", cook)
    assert [(k.kind, k.value, k.text) for k in again.looks()] == [(k.kind, k.value, k.text) for k in ledger.looks()]
    for look in ledger.looks():
        assert event_of(document_of(look)) == look


@pytest.mark.parametrize("value", ["120 F", "ice water 211 F", "boiling water 33 F"])
def test_what_no_thermometer_reads_in_a_bath_is_kept_and_not_used(value: str) -> None:
    cook = cook_from_text(PLAN.format(start=""), "x.toml")
    ledger = log_from_text(f"time,kind,on,what,value\n2026-10-17 17:50,look,butt,probe check,{value}\n", "x.csv", cook)
    assert ledger.looks() == ()
    assert "water" in ledger.rejected[0].rejected


@pytest.mark.kernel
def test_a_check_says_nothing_of_the_meat() -> None:
    """It is no look at the piece: the members are the same with it and without."""
    from pitreckon.reckon.forecast import reckoning

    cook = cook_from_text(PLAN.format(start=""), "x.toml")
    from pitreckon.ledger import Act

    put_on = Act(ON, "butt", "put on")
    check = Look(ON + timedelta(hours=1), "butt", None, "probe check", 0.5)
    now = ON + timedelta(hours=2)
    bare, with_check = (
        reckoning(cook, Ledger.of(events), now=now, members=16, threads=1) for events in ([put_on], [put_on, check])
    )
    assert repr(bare.outlook.items) == repr(with_check.outlook.items)


def test_no_value_is_refused() -> None:
    cook = cook_from_text(PLAN.format(start=""), "x.toml")
    with pytest.raises(InputError):
        log_from_text("time,kind,on,what,value\n2026-10-17 17:50,look,butt,probe check,warm\n", "x.csv", cook)
