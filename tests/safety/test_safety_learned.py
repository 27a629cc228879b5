"""What a house has learned of a thermometer makes no verdict easier: it corrects no reading, and may ask for more."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from tests.safety.test_safety_doubts import ON, PLAN, after

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.lessons.house.said import said_thermometer
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.learned import Lessons
from pitreckon.safety.history.checks import UNCHECKED, UNCHECKED_K, allowed_by, as_learned
from pitreckon.safety.history.history import History
from pitreckon.safety.history.middle import Heard, middle_of
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Meat
from pitreckon.safety.wording import told

SPOTS = tuple((3600.0 * hour, 4.0 + 17.0 * hour) for hour in np.arange(0.0, 4.01, 0.25))


def test_no_more_is_allowed_where_what_is_allowed_holds_it() -> None:
    assert as_learned(UNCHECKED, 1.5, 1.4) is UNCHECKED
    assert as_learned(UNCHECKED, 0.0, 0.0) is UNCHECKED
    ice = allowed_by([0.5], 0.0)
    assert as_learned(ice, 6.0, 1.0) is ice, "a check of today is the better word"


@pytest.mark.parametrize("off_k", [4.0, -4.0])
def test_one_that_is_further_off_is_allowed_more_and_corrects_nothing(off_k: float) -> None:
    asked = as_learned(UNCHECKED, off_k, 1.0)
    assert asked.error_k == 5.0
    assert asked.learned_k == 5.0 - UNCHECKED_K
    assert asked.true_c(np.array([60.0]))[0] == 60.0
    assert ("high" if off_k > 0.0 else "low") in told(asked.notes[0])
    found = {}
    for name, allowed in (("plain", UNCHECKED), ("learned", asked)):
        middle = middle_of(Heard(spots=SPOTS, hand=allowed), 0.02, 0.01)
        assert middle is not None
        history = History("measured", middle.series, end_s=14400.0, error_k=middle.error_k, learned_k=middle.learned_k)
        found[name] = judge_piece("x", Meat("pork", UNTOUCHED), [history]).verdict("fsis-meat")
    plain, learned = found["plain"], found["learned"]
    assert plain.verdict == "met"
    assert learned.verdict != "met" or learned.at_s >= plain.at_s + 360.0  # two kelvin more at 17 K/h


@pytest.mark.kernel
@pytest.mark.parametrize(("over_k", "hottest_c"), [(5.0, 75.0), (-5.0, 75.0), (-2.0, 74.0)])
def test_no_verdict_of_a_cook_is_easier_with_what_was_learned(over_k: float, hottest_c: float) -> None:
    """A thermometer that reads too low has warmer members; they are allowed as much more."""
    cook = cook_from_text(PLAN.format(start='start = "38 F"'), "harvest.toml")
    spots = [
        Look(after(60 * hour), "butt", None, "spot temperature", min(4.0 + 9.5 * hour, hottest_c), by="Ana")
        for hour in (0.1, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)
    ]
    ledger = Ledger.of([Act(ON, "butt", "put on"), *spots])
    reads = said_thermometer("one", "Ana", over_k, 1.0, ON - timedelta(days=2))
    house = Lessons(thermometers=(reads,))
    plain, learned = (
        judge_cook(reckoning(cook, ledger, now=after(510), members=64, threads=1, lessons=each), {"butt": UNTOUCHED})
        .now[0]
        .verdicts
        for each in (None, house)
    )
    assert [each.rule for each in plain] == [each.rule for each in learned]
    assert "met" in {each.verdict for each in plain if each.rule.key.startswith("fsis-meat")}
    for before, with_it in zip(plain, learned, strict=True):
        if with_it.verdict == "met":
            assert before.verdict == "met", before.rule
            assert with_it.at_s >= before.at_s - 1e-9, before.rule
    other = replace(reads, whose="Ben", told=replace(reads.told, by="Ben"))
    same = reckoning(cook, ledger, now=after(510), members=64, threads=1, lessons=Lessons(thermometers=(other,)))
    assert judge_cook(same, {"butt": UNTOUCHED}).now[0].verdicts == plain
