"""Labels: rounding against the vectors of 21 CFR 101.9, a plate by hand, reference amounts, allergens, cost."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.flavour.mixes import HAND_RUB, batch, mix

from pitreckon.catalog.foods import Range, foods, read_table
from pitreckon.catalog.meats import meats
from pitreckon.errors import InputError
from pitreckon.flavour.label import STANDING, Label, LabelLine, allergens_of, daily_values, label_of, reference_amount
from pitreckon.flavour.mix import MIX_USES, Amount, MixLine, Plate
from pitreckon.flavour.weigh.batch import batch_of
from pitreckon.flavour.weigh.bought import label_round, may_have_been, percent_of_drv, percent_of_vitamin
from pitreckon.units import TABLESPOON_M3, TEASPOON_M3

VECTORS = Path(__file__).parent / "data" / "rounding_vectors.csv"
RULES = ("calories", "fat", "cholesterol", "sodium", "grams")


def _vectors() -> list[tuple[str, float, float]]:
    lines = [line for line in VECTORS.read_text().splitlines() if not line.startswith("#")]
    return [(row["rule"], float(row["analysed"]), float(row["declared"])) for row in csv.DictReader(lines)]


def _line(label: Label, name: str) -> LabelLine:
    return next(line for line in label.lines if line.name == name)


def test_the_vectors_are_all_there() -> None:
    assert len(_vectors()) == 45
    assert {rule for rule, _, _ in _vectors()} == {*RULES, "vitmin_pct_dv"}


@pytest.mark.parametrize(("rule", "analysed", "declared"), _vectors())
def test_rounding(rule: str, analysed: float, declared: float) -> None:
    got = percent_of_vitamin(analysed) if rule == "vitmin_pct_dv" else label_round(rule, analysed)
    assert got == declared


@given(st.sampled_from(RULES), st.floats(0.0, 5000.0))
def test_a_declared_value_may_have_been_what_it_was(rule: str, value: float) -> None:
    declared = label_round(rule, value)
    was = may_have_been(rule, declared)
    assert was.low - 1e-6 <= value <= was.high + 1e-6
    assert label_round(rule, declared) == declared, "rounded again it stays"


@given(st.sampled_from(RULES), st.floats(0.0, 5000.0), st.floats(0.0, 5000.0))
def test_more_is_never_declared_as_less(rule: str, one: float, two: float) -> None:
    low, high = sorted((one, two))
    assert label_round(rule, low) <= label_round(rule, high)


def test_daily_values() -> None:
    """21 CFR 101.9(c)(8)(iv) and (c)(9), adults."""
    assert daily_values() == {
        "fat_g": 78,
        "satfat_g": 20,
        "cholesterol_mg": 300,
        "sodium_mg": 2300,
        "carb_g": 275,
        "fiber_g": 28,
        "added_g": 50,
        "vitd_mcg": 20,
        "calcium_mg": 1300,
        "iron_mg": 18,
        "potassium_mg": 4700,
    }
    assert percent_of_drv(575.0, 2300.0) == 25.0
    assert percent_of_drv(1.95, 78.0) == 3.0, "2.5 % is up"


def test_reference_amounts() -> None:
    """21 CFR 101.12(b): barbecue sauce 2 tbsp, vinegar and marinades 1 tbsp, mustard 1 tsp, spices 1/4 tsp."""
    spoons = {use: reference_amount(use).value for use in MIX_USES}
    assert spoons["sauce"] == spoons["glaze"] == pytest.approx(2 * TABLESPOON_M3)
    assert spoons["spritz"] == pytest.approx(TABLESPOON_M3)
    assert spoons["binder"] == pytest.approx(TEASPOON_M3)
    assert spoons["rub"] == pytest.approx(0.25 * TEASPOON_M3)


def test_a_label_of_a_rub_by_hand() -> None:
    """A tenth of the rub of the hand-worked sums: 52.46 kcal, 2331.3 mg sodium, 10.219 g sugars, 1.668 g fibre."""
    made = batch_of(replace(mix(HAND_RUB), serving=Amount("weight", 0.021)))
    label = label_of(made)
    assert label.standing == STANDING
    assert "not a regulated label" in STANDING
    assert label.servings == pytest.approx(10.0)
    want = {
        "Calories": (50.0, None),  # 52.46: nearest 10 above 50
        "Fat": (0.5, 1.0),  # 0.6883 g: nearest 0.5; of 78 g
        "Saturated": (0.0, 0.0),  # 0.1182 g
        "Cholesterol": (0.0, 0.0),
        "Sodium": (2330.0, 101.0),  # 2331.3: nearest 10; of 2300
        "Carbohydrate": (13.0, 5.0),  # 12.535 g; of 275 g: 4.56 %
        "Fibre": (2.0, 6.0),  # 1.668 g; of 28 g: 5.96 %
        "Sugars": (10.0, None),
        "of which added": (10.0, 19.0),  # brown sugar alone: 9.702 g; of 50 g: 19.4 %
        "Protein": (1.0, None),
        "Calcium": (20.0, 2.0),  # 20.38 mg; of 1300: 1.57 %, nearest 2
        "Iron": (1.0, 6.0),  # 1.0144 mg; of 18: 5.64 %
        "Potassium": (130.0, 2.0),  # 125.12 mg; of 4700: 2.66 %
    }
    for name, (declared, percent) in want.items():
        line = _line(label, name)
        assert (line.declared, line.percent) == (declared, percent), name
    trans = _line(label, "Trans")
    assert trans.declared is None, "SR28 as we have it does not say; it is not zero"


def test_a_plate_by_hand() -> None:
    """6 kg of raw spareribs for 12, cooked to 76 % (USDA), 32 % of that bone (SR28 10940): 258.4 g of meat each.

    Per 100 g: 361 kcal, 20.89 g protein, 91 mg sodium (SR28 10940). Nine tenths of a rub with 23313 mg sodium stay.
    """
    meat = meats()["spareribs"]
    assert meat.edible_share() == pytest.approx(0.76 * 0.68)
    plate = Plate("spareribs", 6.0, 12.0, stays=0.9)
    label = label_of(batch_of(replace(mix(HAND_RUB), plate=plate)))
    each = 2.584
    assert label.serving_kg == pytest.approx(0.2584 + 0.9 * 0.210 / 12)
    assert _line(label, "Calories").value.middle == pytest.approx(each * 361 + 0.9 * 524.6 / 12)
    assert _line(label, "Sodium").value.middle == pytest.approx(each * 91 + 0.9 * 23313 / 12)
    assert _line(label, "Sodium").declared == 1980.0  # 235.1 + 1748.5 = 1983.6
    own = label_of(batch_of(replace(mix(HAND_RUB), plate=replace(plate, yield_share=0.60))))
    assert own.serving_kg < label.serving_kg
    assert _line(label, "Protein").value.middle == pytest.approx(each * 20.89 + 0.9 * 6.977 / 12)


def test_yields_are_those_of_the_tables() -> None:
    """USDA cooking yields (2014): spareribs 76 %, back ribs 82 %; edible shares of purchase by hand from SR28."""
    assert meats()["back-ribs"].yield_share == 0.82
    assert meats()["boston-butt"].edible_share() == pytest.approx(0.528, abs=1e-3)  # (1 - 0.24) x 0.695
    assert meats()["turkey"].edible_share() == pytest.approx(0.538, abs=1e-3)  # (1 - 0.29) x 0.758
    assert meats()["chicken-thigh"].edible_share() < meats()["chicken-thigh"].edible_yield  # type: ignore[operator]


def test_allergens_of_us_and_eu() -> None:
    made = batch({"butter": 10.0, "soy-sauce": 10.0, "yellow-mustard": 5.0, "celery-seed": 1.0, "worcestershire": 5.0})
    contains, may = allergens_of(made, "us")
    assert contains == ("Milk", "Wheat", "Soybeans")
    assert may == ("Fish (Worcestershire sauce)",)
    contains, _ = allergens_of(made, "eu")
    assert contains == ("Milk", "Cereals containing gluten", "Soybeans", "Celery", "Mustard")


def test_there_are_nine_and_fourteen() -> None:
    """FALCPA with the FASTER Act: nine; Regulation (EU) 1169/2011, annex II: fourteen."""
    rows = read_table("pitreckon.catalog", "foods/allergens.csv")
    assert len({row["us"] for row in rows if row["us"]}) == 9
    assert len({row["eu"] for row in rows}) == 14
    known = {row["word"] for row in rows}
    for food in foods().values():
        assert {*food.contains, *food.may_contain} <= known, food.key


def test_cost_per_serving_by_hand() -> None:
    """100 g at 2.90 and 60 g at 3.00 a kilogram: 0.29 + 0.18 = 0.47; 16 servings of 10 g."""
    rub = mix({"brown-sugar": 100.0, "salt": 60.0})
    priced = tuple(replace(line, price_per_kg=p) for line, p in zip(rub.lines, (2.9, 3.0), strict=True))
    label = label_of(batch_of(replace(rub, lines=priced, serving=Amount("weight", 0.010))))
    assert label.cost == pytest.approx(0.47 / 16)
    nested = batch_of(replace(rub, lines=(MixLine(Amount("weight", 0.32), mix=replace(rub, lines=priced)),)))
    assert nested.cost == pytest.approx(0.94)
    half = batch_of(replace(rub, lines=(priced[0], rub.lines[1])))
    assert half.cost is None, "a price that is missing makes no sum"


def test_a_serving_larger_than_the_batch_is_refused() -> None:
    with pytest.raises(InputError, match="more than the batch"):
        label_of(batch_of(replace(mix(HAND_RUB), serving=Amount("weight", 1.0))))


def test_at_least_is_said_where_a_part_is_not_known() -> None:
    label = label_of(batch({"salt": 50.0, "hot-sauce": 50.0}, "sauce"))
    vitamin = _line(label, "Vitamin D")
    assert vitamin.declared is None, "nothing of it is known"
    with_lard = _line(label_of(batch({"lard": 50.0, "hot-sauce": 50.0}, "sauce")), "Vitamin D")
    assert with_lard.at_least
    assert with_lard.value == Range(pytest.approx(with_lard.value.low), float("inf"))
