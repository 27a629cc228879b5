"""A mix changed to a target: the least change, checked against closed forms and another solver; and what cannot be."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from tests.flavour.mixes import batch
from tests.sparing import examples

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Cover
from pitreckon.flavour.taste.target import Target, measure, parse_targets, solve
from pitreckon.flavour.weigh.batch import Batch

RUB = {"brown-sugar": 60.0, "sugar": 30.0, "salt": 50.0, "paprika": 40.0, "cayenne": 6.0, "garlic-powder": 15.0}
SAUCE = {"ketchup": 240.0, "cider-vinegar": 60.0, "honey": 40.0, "hot-sauce": 15.0, "worcestershire": 17.0}


def _factors(before: Batch, after: Batch) -> dict[str, float]:
    now = {each.name: each.mass_kg for each in after.ingredients}
    return {each.name: now.get(each.name, 0.0) / each.mass_kg for each in before.ingredients}


def _of(made: Batch, what: str) -> float:
    return measure(made.contents, what).middle


def test_words() -> None:
    targets = parse_targets("sugar half; heat same; salt at most 1.2 %, weight at least 80 %; salt 8 % of the mix")
    assert targets == (
        Target("sugar", "is", 0.5, "before", "sugar half"),
        Target("heat", "is", 1.0, "before", "heat same"),
        Target("salt", "at most", pytest.approx(0.012), "meat", "salt at most 1.2 %"),
        Target("weight", "at least", pytest.approx(0.8), "before", "weight at least 80 %"),
        Target("salt", "is", pytest.approx(0.08), "mix", "salt 8 % of the mix"),
    )
    assert parse_targets("pungency 3 times")[0].value == 3.0


@pytest.mark.parametrize("text", ["", "sugar", "smoke half", "sugar some", "salt at most", "heat -1 times", "sugar 2"])
def test_words_that_are_no_target(text: str) -> None:
    with pytest.raises(InputError):
        parse_targets(text)


def test_half_the_sugar_the_same_heat_and_less_salt() -> None:
    made = batch(RUB, covers=(Cover(4.0, "weight"),))
    after = solve(made, parse_targets("sugar half; heat same; salt at most 0.9 %"), meat_kg=4.0)
    assert _of(after, "sugar") == pytest.approx(0.5 * _of(made, "sugar"), rel=1e-6)
    assert _of(after, "heat") == pytest.approx(_of(made, "heat"), rel=1e-6)
    assert _of(made, "salt") / 4.0 > 9.0
    assert _of(after, "salt") / 4.0 == pytest.approx(9.0, rel=1e-6)
    factors = _factors(made, after)
    assert factors["Garlic powder"] == pytest.approx(1.0, abs=0.02), "what has little of it hardly changes"


def test_one_target_alone_is_the_projection() -> None:
    """Nearest point of a plane c.x = t to ones: 1 + c (t - c.1) / (c.c), as in any text on linear algebra."""
    made = batch(RUB)
    c = np.array([measure(each.contents, "sugar").middle for each in made.ingredients])
    goal = 0.7 * c.sum()
    want = 1.0 + c * (goal - c.sum()) / (c @ c)
    assert want.min() > 0.0
    got = list(_factors(made, solve(made, parse_targets("sugar 70 %"))).values())
    assert got == [pytest.approx(each, abs=1e-7) for each in want]


@settings(max_examples=examples(25))
@given(st.floats(0.2, 1.5), st.floats(0.3, 2.5), st.floats(0.3, 1.0))
def test_no_other_solver_finds_a_lesser_change(sugar: float, heat: float, salt: float) -> None:
    made = batch(RUB)
    text = f"sugar {sugar:.6f} times; heat {heat:.6f} times; salt at most {salt:.6f} times"
    try:
        got = np.array(list(_factors(made, solve(made, parse_targets(text))).values()))
    except InputError:
        assume(False)
    rows = {w: np.array([measure(e.contents, w).middle for e in made.ingredients]) for w in ("sugar", "heat", "salt")}
    rows = {w: row / row.sum() for w, row in rows.items()}
    other = minimize(
        lambda f: float(np.sum((f - 1.0) ** 2)),
        np.ones(got.size),
        jac=lambda f: 2.0 * (f - 1.0),
        bounds=[(0.0, None)] * got.size,
        constraints=[
            {"type": "eq", "fun": lambda f: rows["sugar"] @ f - round(sugar, 6)},
            {"type": "eq", "fun": lambda f: rows["heat"] @ f - round(heat, 6)},
            {"type": "ineq", "fun": lambda f: round(salt, 6) - rows["salt"] @ f},
        ],
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-12},
    )
    assume(other.success)
    assert np.sum((got - 1.0) ** 2) <= other.fun + 1e-6
    assert rows["sugar"] @ got == pytest.approx(round(sugar, 6), abs=1e-6)
    assert rows["heat"] @ got == pytest.approx(round(heat, 6), abs=1e-6)
    assert rows["salt"] @ got <= round(salt, 6) + 1e-6


def test_a_sauce_keeps_its_weight_and_a_rub_need_not() -> None:
    sauce, rub = batch(SAUCE, "sauce"), batch(RUB)
    assert solve(sauce, parse_targets("sugar 80 %")).mass_kg == pytest.approx(sauce.mass_kg, rel=1e-6)
    assert solve(sauce, parse_targets("sugar 80 %; weight at most same")).mass_kg <= sauce.mass_kg * (1 + 1e-6)
    assert solve(rub, parse_targets("sugar half")).mass_kg < 0.85 * rub.mass_kg


def test_a_target_that_is_met_changes_nothing() -> None:
    made = batch(RUB)
    after = solve(made, parse_targets("sugar same; salt at most same; heat same; sugar at most 2 times"))
    assert list(_factors(made, after).values()) == [pytest.approx(1.0, abs=1e-7)] * len(RUB)


def test_a_share_of_the_mix() -> None:
    after = solve(batch(SAUCE, "sauce"), parse_targets("salt at most 1.5 % of the mix"))
    assert _of(after, "salt") / (1000.0 * after.mass_kg) == pytest.approx(0.015, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "trouble", "remedy"),
    [
        ("sugar half; sweetness 3 times", "sweetness 3 times", "nearest"),
        ("salt same; sugar 2 times; sugar half", "cannot be met together", ""),
        ("salt at most 1.2 %", "how much meat", "covers"),
    ],
)
def test_what_cannot_be_is_explained(text: str, trouble: str, remedy: str) -> None:
    with pytest.raises(InputError) as caught:
        solve(batch(SAUCE, "sauce"), parse_targets(text))
    assert trouble in str(caught.value)
    assert remedy in caught.value.remedy


def test_the_nearest_that_can_be_had_can_be_had() -> None:
    """Sugar halved in a salt and honey sauce that keeps its weight: what it says is possible is, and no more."""
    made = batch({"ketchup": 100.0, "honey": 100.0}, "sauce")
    with pytest.raises(InputError) as caught:
        solve(made, parse_targets("sugar 25 %"))
    (percent,) = [int(word) for word in caught.value.remedy.split() if word.isdigit()][:1]
    honey, ketchup = 82.12, 21.27  # SR28 19296 and 11935: with the weight kept, ketchup alone is the least sweet
    assert percent == pytest.approx(100.0 * 2 * ketchup / (honey + ketchup), abs=0.6)
    assert solve(made, parse_targets(f"sugar {percent + 1} %"))


def test_nothing_of_it_there() -> None:
    with pytest.raises(InputError, match="there is no heat"):
        solve(batch({"sugar": 50.0, "salt": 50.0}), parse_targets("heat double"))
