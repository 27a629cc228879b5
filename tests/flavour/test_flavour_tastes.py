"""Sweetness and pungency as published; a mix between the least and the most of what is in it; salt and brine."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.flavour.mixes import batch
from tests.sparing import examples

from pitreckon.catalog.foods import Range, foods
from pitreckon.flavour.taste.sweetness import (
    capsaicinoids_ppm,
    equilibrium_salt_g_per_kg,
    relative_sweetness,
    salt_from_sodium_mg,
    salt_volumes_m3,
    sweetness_of,
)
from pitreckon.flavour.taste.tastes import TASTES, scoville_by_dry_mass, tastes_of

KEYS = sorted(foods())
RECIPES = st.dictionaries(st.sampled_from(KEYS), st.floats(0.1, 500.0), min_size=1, max_size=6)
NEAR = 0.05


def test_each_sugar_is_as_sweet_as_published() -> None:
    """PMC10346066 table 2 and an encyclopedia: both values of each within the range."""
    published = {
        "sucrose": (1.0, 1.0),
        "fructose": (1.7, 1.73),
        "glucose": (0.8, 0.74),
        "maltose": (0.5, 0.33),
        "lactose": (0.2, 0.16),
    }
    for kind, values in published.items():
        got = relative_sweetness()[kind]
        assert (got.low, got.high) == (min(values), max(values))


@pytest.mark.parametrize(
    ("food", "published"), [("honey", 1.0), ("brown-sugar", 1.0), ("molasses", 0.9), ("sugar", 1.0)]
)
def test_sweeteners_come_out_as_published(food: str, published: float) -> None:
    """PMC10346066 table 2, by weight: reckoned from the sugars of SR28 and not from that table's own rows."""
    got = sweetness_of(foods()[food])
    assert got.low / 100.0 - NEAR <= published <= got.high / 100.0 + NEAR


def test_a_sweet_mix_by_hand() -> None:
    """50 g sugar (99.80 sucrose) and 50 g honey (0.89, 35.75 glucose, 40.94 fructose, 1.44 maltose, 3.10 more)."""
    sweet = tastes_of(batch({"sugar": 50.0, "honey": 50.0}))[0].value
    least = 0.5 * 99.80 + 0.5 * (0.89 + 35.75 * 0.74 + 40.94 * 1.70 + 1.44 * 0.33 + 3.10 * 0.74)
    most = 0.5 * 99.80 + 0.5 * (0.89 + 35.75 * 0.80 + 40.94 * 1.73 + 1.44 * 0.50 + 3.10 * 1.73)
    assert sweet == Range(pytest.approx(least), pytest.approx(most))


def _table() -> dict[str, tuple[float, float]]:
    text = files("pitreckon.flavour").joinpath("data/scoville.csv").read_text("utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {row["item"]: (float(row["shu_low"]), float(row["shu_high"])) for row in rows}


@pytest.mark.parametrize(
    ("food", "row"),
    [
        ("cayenne", "cayenne"),
        ("paprika", "pimento, sweet paprika type"),
        ("ground-ancho", "ancho/poblano"),
        ("ground-guajillo", "guajillo"),
        ("ground-arbol", "de arbol"),
        ("ground-habanero", "habanero"),
        ("black-pepper", "black pepper"),
    ],
)
def test_a_pepper_alone_is_as_hot_as_published(food: str, row: str) -> None:
    got = scoville_by_dry_mass(batch({food: 30.0}))
    assert (got.low, got.high) == (pytest.approx(_table()[row][0]), pytest.approx(_table()[row][1]))


def test_pungency_by_hand() -> None:
    """16 units to a part per million; 5 g at 40,000 in 100 g of dry rub is 2,000: both from the common tables.

    Cayenne's published 30,000 to 50,000 with 8.05 % water (SR28 02031), in salt with 0.20 % (SR28 02047).
    """
    assert capsaicinoids_ppm(16e6) == 1e6, "pure capsaicin"
    assert capsaicinoids_ppm(16.1e6) == pytest.approx(1e6, rel=0.01), "weight of capsaicin in AOAC 995.03, from memory"
    got = scoville_by_dry_mass(batch({"cayenne": 5.0, "salt": 95.0}))
    dry = 5.0 * 0.9195 + 95.0 * 0.998
    assert got.low == pytest.approx(30_000 * 5.0 * 0.9195 / dry)
    assert got.high == pytest.approx(50_000 * 5.0 * 0.9195 / dry)
    assert got.middle == pytest.approx(2_000, rel=0.1)
    as_it_is = next(taste for taste in tastes_of(batch({"cayenne": 5.0, "water": 95.0})) if taste.name == "hot").value
    assert as_it_is.middle == pytest.approx(40_000 * 0.05 * 0.9195), "water thins it"


@settings(max_examples=examples(60))
@given(RECIPES)
def test_a_mix_lies_between_what_is_in_it(recipe: dict[str, float]) -> None:
    made = batch(recipe)
    singles = {key: batch({key: 100.0}) for key in recipe}
    for n, name in enumerate(TASTES):
        mixed = tastes_of(made)[n]
        alone = [tastes_of(single)[n] for single in singles.values()]
        told = [each.value for each in alone if each.value.known]
        if not told:
            assert not mixed.value.known
            continue
        least = min(tastes_of(single)[n].value.low for single in singles.values())  # of what is not known: nothing
        assert least <= mixed.value.low * (1 + 1e-9) + 1e-12, name
        assert mixed.value.high <= max(each.high for each in told) * (1 + 1e-9) + 1e-12, name
        assert mixed.value.low <= mixed.value.high
    hot = scoville_by_dry_mass(made)
    each_hot = [foods()[key].shu for key in recipe]
    assert min(each.low for each in each_hot) <= hot.low * (1 + 1e-9)
    assert hot.high <= max(each.high for each in each_hot) * (1 + 1e-9)
    for nutrient, value in made.contents.nutrients.items():
        per = [single.contents.nutrients[nutrient].times(made.mass_kg / 0.1) for single in singles.values()]
        assert min(p.low for p in per) <= value.low * (1 + 1e-9) + 1e-9, nutrient
        assert value.high <= max(p.high for p in per) * (1 + 1e-9) + 1e-9, nutrient


def test_what_is_not_known_is_said() -> None:
    sour = tastes_of(batch({"cider-vinegar": 90.0, "paprika": 10.0}))[3]
    assert sour.not_known == ("Paprika",)
    assert sour.value == Range(pytest.approx(4 * 0.9), pytest.approx(6 * 0.9))
    alone = tastes_of(batch({"paprika": 10.0}))[3]
    assert not alone.value.known


def test_salt_from_sodium() -> None:
    """Salt is 39.34 % sodium (molar masses 22.990 and 58.443); SR28's table salt has 38758 mg in 100 g: 98.5 %."""
    assert salt_from_sodium_mg(393.4) == pytest.approx(1.0, rel=1e-3)
    salt = tastes_of(batch({"salt": 100.0}))[1].value
    assert salt.middle == pytest.approx(98.5, abs=0.1)


def test_a_spoonful_of_one_salt_is_not_one_of_another() -> None:
    """Table salt 6 g a teaspoon (SR28), flakes 2.8, rolled 4.8 (from memory): the same weight, twice the spoons."""
    volumes = salt_volumes_m3(0.018)
    assert volumes["flake-salt"] / volumes["salt"] == pytest.approx(6.0 / 2.8, rel=0.02)
    assert volumes["rolled-salt"] / volumes["salt"] == pytest.approx(6.0 / 4.8, rel=0.02)
    by_type = [batch({key: 18.0}).contents.salt_g.middle for key in volumes]
    assert by_type == [pytest.approx(by_type[0])] * 3, "by weight they are the same"


def test_a_brine_by_hand() -> None:
    """100 g salt in 1.9 kg water with 2 kg meat of 70 % water: 100 g in 3.3 kg of water, 1.4 kg of it in the meat."""
    got = equilibrium_salt_g_per_kg(0.1, 1.9, 2.0, Range.exact(0.7))
    assert got.middle == pytest.approx(100.0 / 3.3 * 1.4 / 2.0)
    assert got.middle > 1000.0 * 0.1 / (1.9 + 2.0 + 0.1) * 0.8, "near the share of the whole that cooks reckon with"
