"""Why an outlook moved: causes in plain words, with the sign of what they did."""

from __future__ import annotations

import pytest
from supper import air, at, cook, look, put_on

from pitreckon.ledger import Ledger
from pitreckon.reckon import reckon
from pitreckon.reckon.explain import explain

pytestmark = pytest.mark.kernel

N = 32


def test_a_hot_pit_is_named_as_the_cause():
    before = Ledger.of([put_on(), *air(150.0, 0, 10)])
    after = Ledger.of([*before.events, *air(180.0, 15, 35)])
    (change,), small = explain(cook(), before, at(10), after, at(35), members=N)
    assert change.moved_s < -180.0
    assert "over its setting" in change.causes[0]
    assert "earlier" in change.causes[0]
    assert small == reckon(cook(), after, now=at(35), members=N)


def test_a_cold_core_is_named_as_the_cause():
    before = Ledger.of([put_on(), *air(150.0, 0, 30)])
    after = Ledger.of([*before.events, look(35, "spot temperature", 60.0)])
    (change,), _ = explain(cook(), before, at(30), after, at(35), members=2 * N)
    assert any("inside at" in cause and "later" in cause for cause in change.causes)


def test_nothing_new_nothing_moved():
    ledger = Ledger.of([put_on(), *air(150.0, 0, 10)])
    (change,), _ = explain(cook(), ledger, at(10), ledger, at(10), members=N)
    assert change.moved_s == 0.0
    assert change.causes == ()
