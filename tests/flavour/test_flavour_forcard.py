"""Mixes on a card: weighed for the meat, and a label whose sums are worked by hand from USDA SR28."""

from __future__ import annotations

import pytest

from pitreckon.errors import InputError
from pitreckon.flavour.forcard import Meal, plate_label, serves_of, weighed_for
from pitreckon.flavour.mix import Amount, Cover, Mix, MixLine
from pitreckon.flavour.weigh.batch import surface_m2

MEAL = Meal("st-louis-ribs", 4, 1.25, "rack")


def salted(use: str = "rub", covers: tuple[Cover, ...] = (), grams: float = 20.0) -> Mix:
    return Mix("salt and sugar", use, (
        MixLine(Amount("weight", 0.5 * grams / 1000.0), food="salt"),
        MixLine(Amount("weight", 0.5 * grams / 1000.0), food="sugar"),
    ), covers=covers)  # fmt: skip


@pytest.mark.parametrize(
    ("covers", "by", "factor"),
    [
        ((Cover(2.5, "weight"), Cover(99.0, "rack")), "weight", 2.0),  # 5 kg over 2.5 kg
        ((Cover(0.5, "area"),), "area", surface_m2("st-louis-ribs", 4, 1.25) / 0.5),
        ((Cover(2.0, "rack"),), "pieces", 2.0),
        ((Cover(8.0, "piece"),), "pieces", 0.5),
        ((Cover(3.0, "tray"),), "", 1.0),
        ((), "", 1.0),
    ],
)
def test_weighed_for_the_meat(covers: tuple[Cover, ...], by: str, factor: float) -> None:
    (found,) = weighed_for([salted(covers=covers)], MEAL)
    assert found.by == by
    assert found.batch.mass_kg == pytest.approx(0.020 * factor)


def test_twice_the_racks_take_twice_the_rub() -> None:
    mix = salted(covers=(Cover(2.5, "weight"),))
    (one,), (two,) = weighed_for([mix], MEAL), weighed_for([mix], Meal("st-louis-ribs", 8, 1.25, "rack"))
    assert two.batch.mass_kg == pytest.approx(2.0 * one.batch.mass_kg)


def test_a_glaze_goes_on_the_upper_faces_alone() -> None:
    covers = (Cover(0.5, "area"),)
    rub, glaze = weighed_for([salted(covers=covers), salted("glaze", covers)], MEAL)
    assert glaze.batch.mass_kg < 0.7 * rub.batch.mass_kg


def test_the_plate_is_the_meat_and_what_stays_of_its_mixes() -> None:
    """By hand. 100 g of salt has 38,758 mg sodium (SR28 02047), 100 g of sugar 99.98 g (SR28 19335) and 1 mg sodium.

    A rub of 20 g stays whole, of a wrap of 20 g three tenths: 13 g of salt and as much sugar over 10 servings.
    """
    mixes = weighed_for([salted(covers=(Cover(5.0, "weight"),)), salted("wrap", (Cover(5.0, "weight"),))], MEAL)
    with_mixes = plate_label(mixes, MEAL, 10.0)
    tiny = weighed_for([salted(covers=(Cover(5.0, "weight"),), grams=0.01)], MEAL)
    bare = plate_label(tiny, MEAL, 10.0)
    assert with_mixes is not None
    assert bare is not None

    def of(label, nutrient: str) -> float:  # type: ignore[no-untyped-def]
        return next(line.value.middle for line in label.lines if line.nutrient == nutrient)

    stays_g = 10.0 + 0.3 * 10.0
    assert of(with_mixes, "sodium_mg") - of(bare, "sodium_mg") == pytest.approx(stays_g / 10.0 * 387.59, rel=0.003)
    assert of(with_mixes, "sugars_g") - of(bare, "sugars_g") == pytest.approx(stays_g / 10.0 * 0.9980, rel=0.01)
    assert of(with_mixes, "protein_g") == pytest.approx(of(bare, "protein_g"), rel=1e-6)


def test_a_meat_that_is_an_allergen_is_named() -> None:
    """21 U.S.C. 321(qq): fish. A bought sausage may hold wheat or soy: its label has to be read."""
    salmon, link = Meal("salmon-side", 1, 1.25), Meal("sausage", 4, 0.113)
    of_fish = plate_label(weighed_for([salted()], salmon), salmon, 5.0)
    of_links = plate_label(weighed_for([salted()], link), link, 4.0)
    assert of_fish is not None and of_links is not None  # noqa: PT018
    assert of_fish.contains == ("Fish",)
    assert of_links.contains == ()
    assert any(word.startswith("Wheat (Pork sausage") for word in of_links.may_contain)


def test_no_table_no_label(monkeypatch: pytest.MonkeyPatch) -> None:
    assert plate_label((), MEAL, 4.0) is None
    monkeypatch.setattr("pitreckon.flavour.forcard.meats", dict)  # as for a cut of the user's own
    assert plate_label(weighed_for([salted()], MEAL), MEAL, 4.0) is None
    monkeypatch.undo()
    with pytest.raises(InputError, match="nobody"):
        plate_label(weighed_for([salted()], MEAL), MEAL, 0.0)


def test_serves_grows_with_the_meat() -> None:
    assert serves_of(MEAL) == pytest.approx(2 * serves_of(Meal("st-louis-ribs", 2, 1.25)), abs=1)
    assert serves_of(Meal("chicken-wing", 1, 0.05)) == 1
