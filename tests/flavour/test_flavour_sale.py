"""A batch for sale: weights, jars, packs, dates, against rules of packers and of scales."""

from __future__ import annotations

from datetime import date
from statistics import NormalDist

import numpy as np
import pytest

from pitreckon.errors import InputError
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.sale.batch import Asked, names_of, sale_of
from pitreckon.flavour.sale.cost import Bought, cost_of
from pitreckon.flavour.sale.fill import allowed_shortage_kg, chance_of, fill_of, jars_filled, mass_for
from pitreckon.flavour.sale.lots import best_before, lots_from_text
from pitreckon.flavour.sale.net import net_words
from pitreckon.flavour.sale.scale import parse_step, scale_words, weights_of

OUNCE_KG = 0.028349523125
RUB = """
[mix]
name = "orchard rub"
use  = "rub"
[[ingredient]]
food = "brown sugar"
amount = "280 g"
price = "2.90 per kg"
pack = "5 kg"
[[ingredient]]
food = "kosher salt, flakes"
amount = "260 g"
price = "3 per kg"
[[ingredient]]
food = "mustard powder"
amount = "60 g"
price = "14 per kg"
pack = "1 lb"
"""
LOTS = """
[[lot]]
food = "brown-sugar"
lot = "S 11"
best_before = 2028-01-31
[[lot]]
food = "kosher salt, flakes"
lot = "K 2"
best_before = 2030-01-01
[[lot]]
food = "dry mustard"
lot = "M 7"
best_before = "2027-05-31"
"""


def _asked(**more: object) -> Asked:
    return Asked(**{"jars": 200, "fill_kg": 12 * OUNCE_KG, "made": date(2026, 11, 30), **more})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("grams", "market", "short_g"),
    [
        # Directive 76/211/EEC, annex I, 2.4, as published: 9 %, 4.5 g, 4.5 %, 9 g, 3 %, 15 g, 1.5 %.
        (40, "eu", 3.6),
        (75, "uk", 4.5),
        (150, "eu", 6.75),
        (250, "eu", 9.0),
        (340, "eu", 10.2),
        (750, "eu", 15.0),
        (2000, "eu", 30.0),
        # NIST Handbook 133, table 2-5, from memory: 0.008 lb below 0.12 lb, 0.036 lb below 0.84 lb, 0.044 lb at 1 lb.
        (50, "us", 3.6),
        (340.19, "us", 16.3),
        (453.6, "us", 19.9),
    ],
)
def test_shortages_that_are_allowed(grams: float, market: str, short_g: float) -> None:
    assert allowed_shortage_kg(grams / 1000.0, market) * 1000.0 == pytest.approx(short_g, rel=1e-9)


@pytest.mark.parametrize("spread", [0.0, 0.005, 0.015, 0.03, 0.06])
def test_the_three_rules_of_packers_hold(spread: float) -> None:
    """Mean no less than the label; one in forty below the allowed shortage, one in ten thousand below twice of it."""
    fill = fill_of(0.34, "eu", spread)
    assert fill.mean_kg >= 0.34
    if spread:
        jar = NormalDist(fill.mean_kg, fill.spread_kg)
        assert jar.cdf(0.34 - fill.short_kg) <= 0.025 + 1e-12
        assert jar.cdf(0.34 - 2.0 * fill.short_kg) <= 1e-4 + 1e-12


def test_jars_as_drawn_one_by_one() -> None:
    """The reckoned chance against 20,000 batches filled jar by jar, with the loss and each fill drawn."""
    fill, draws = fill_of(0.34, "us", 0.015), np.random.default_rng(7)
    mass = mass_for(200, fill, 0.03)
    lost = 0.03 * np.exp(np.log(2.0) / 1.6448536 * draws.standard_normal(20_000))
    fills = draws.normal(fill.mean_kg, fill.spread_kg, (20_000, 230)).cumsum(axis=1)
    filled = (fills <= (mass * (1.0 - lost))[:, None]).sum(axis=1)
    assert np.mean(filled >= 200) == pytest.approx(0.95, abs=0.006)
    for chance in (0.95, 0.5, 0.05):
        assert abs(np.quantile(filled, 1.0 - chance, method="lower") - jars_filled(mass, fill, 0.03, chance)) <= 1
    assert chance_of(0, mass, fill, 0.03) == 1.0


@pytest.mark.parametrize("seed", range(20))
def test_rounding_keeps_the_whole_true(seed: int) -> None:
    draws = np.random.default_rng(seed)
    parts = [(f"food {n}", float(each)) for n, each in enumerate(10.0 ** draws.uniform(-3.5, 1.0, 9))]
    step = float(draws.choice([0.001, 0.005, 0.00028349523125]))
    found = weights_of(parts, step)
    whole = sum(mass for _, mass in parts)
    assert 0.0 <= found.mass_kg - whole + 1e-9 <= 1.001 * step + 1e-9
    for each in found.weighed:
        assert abs(each.shown_kg / step - round(each.shown_kg / step)) < 1e-5
        assert abs(each.shown_kg - each.exact_kg) < 1.001 * step
        enough = each.shown_kg > 19.4 * step
        assert enough or each.name in found.too_little  # OIML R 76: no weighing below 20 steps


def test_a_premix_brings_what_the_mix_has() -> None:
    found = weights_of([("sugar", 7.0), ("salt", 3.0), ("pepper", 0.004)], 0.001)
    (premix,) = found.premixes
    share = premix.own_kg / (premix.own_kg + premix.carrier_kg)
    assert share * premix.taken_kg == pytest.approx(0.004, rel=0.01)
    sugar = next(each.shown_kg for each in found.weighed if each.name == "sugar")
    assert sugar + (1.0 - share) * premix.taken_kg == pytest.approx(7.0, abs=0.0011)
    assert premix.own_kg >= found.least_kg
    assert weights_of([("sugar", 0.05), ("pepper", 0.0001)], 0.001).too_little == ("pepper",)


def test_packs_are_bought_whole() -> None:
    """By hand: 7.5 kg at 2 a kilogram in packs of 2 kg are 4 packs, 16 paid, 0.5 kg left, 15 used."""
    cost = cost_of([Bought("sugar", 7.5, 2.0, 2.0)], 100, 0.85, 0.6, "USD")
    (sugar,) = cost.bought
    assert (sugar.packs, sugar.left_kg, sugar.paid, sugar.used) == (4, 0.5, 16.0, 15.0)
    assert cost.of_jar == pytest.approx(1.0)
    assert cost.price == pytest.approx(2.5)  # (2.50 - 1.00) / 2.50 = 60 %
    assert cost_of([Bought("salt", 1.0, None, None)], 9, 0.0, 0.5, "USD").price is None


def test_the_earliest_date_decides_and_none_is_promised_where_one_is_missing() -> None:
    mix = mix_from_text(RUB, "rub.toml")
    lots = lots_from_text(LOTS, "lots.toml", names_of(mix))
    sale = sale_of(mix, _asked(), lots)
    assert sale.date.day == date(2027, 5, 31)
    assert "lot M 7" in sale.date.decides
    without = best_before([part.name for part in sale.parts], lots[:2])
    assert without.day is None
    assert without.missing
    with pytest.raises(InputError, match="is not in the mix"):
        lots_from_text(LOTS.replace("brown-sugar", "sawdust"), "lots.toml", names_of(mix))
    with pytest.raises(InputError, match=r"lots\.toml, line 5"):
        lots_from_text(LOTS.replace("2028-01-31", '"soon"'), "lots.toml", names_of(mix))


def test_a_label_says_what_its_market_wants() -> None:
    """12 oz are 340 g on labels everywhere (21 CFR 101.7); mustard is an allergen in the EU and none in the US."""
    mix = mix_from_text(RUB, "rub.toml")
    assert net_words(12 * OUNCE_KG, "us") == "NET WT 12 OZ (340 g)"
    us, eu = (sale_of(mix, _asked(market=market)) for market in ("us", "eu"))
    assert "Mustard" not in us.contains
    assert "Mustard" in eu.contains
    assert us.ingredients[:2] == ("Brown sugar", "Kosher salt")
    assert us.mass_kg == pytest.approx(us.batch.mass_kg, abs=0.0011)
    assert us.lot == "OR-261130"


def test_scales_of_every_unit_and_what_is_refused() -> None:
    assert parse_step("0.1 oz") == (pytest.approx(0.1 * OUNCE_KG), "oz")
    assert scale_words(0.5, *parse_step("0.01 lb")) == "1.10 lb"
    for wrong in ("a lot", "1 lb 2 oz", "0 g"):
        with pytest.raises(InputError):
            parse_step(wrong)
    mix = mix_from_text(RUB, "rub.toml")
    with pytest.raises(InputError, match="margin"):
        sale_of(mix, _asked(margin=0.99))
    with pytest.raises(InputError, match="too coarse"):
        sale_of(mix, _asked(jars=1, fill_kg=0.05, step_kg=0.1))
