"""The nutrition declaration of the EU and the UK: order, factors, salt, rounding, and what is not declared."""

from __future__ import annotations

from datetime import date

import pytest

from pitreckon.errors import InputError
from pitreckon.flavour.declared import declared_of, declared_words, missing_of
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.sale.batch import Asked, sale_of
from pitreckon.flavour.weigh.batch import Batch, batch_of


def mix(*parts: str, use: str = "sauce") -> Batch:
    lines = "".join(f'[[ingredient]]\nfood = "{food}"\namount = "{amount}"\n' for food, amount in map(_pair, parts))
    return batch_of(mix_from_text(f'[mix]\nname = "a"\nuse = "{use}"\n{lines}', "a.toml"))


def _pair(part: str) -> tuple[str, str]:
    food, _, amount = part.partition(": ")
    return food, amount or "100 g"


def words(batch: Batch) -> dict[str, str]:
    return {each.name: each.words for each in declared_of(batch)}


def test_plain_foods_are_declared_as_on_their_packs() -> None:
    """Sugar 1700 kJ / 400 kcal and oil 3700 kJ / 900 kcal stand on every pack of them; beer of 5 % has about 180 kJ /
    43 kcal (USDA SR28 14003: 43 kcal); vinegar's energy is that of its acid.
    """
    sugar, oil, beer = (words(mix(food)) for food in ("sugar", "olive oil", "beer"))
    assert list(sugar) == ["Energy", "Fat", "of which saturates", "Carbohydrate", "of which sugars", "Protein", "Salt"]
    assert (sugar["Energy"], sugar["of which sugars"], sugar["Fat"]) == ("1700 kJ / 400 kcal", "100 g", "<0.5 g")
    assert (oil["Energy"], oil["Fat"], oil["of which saturates"]) == ("3700 kJ / 900 kcal", "100 g", "14 g")
    assert beer["Energy"] == "180 kJ / 43 kcal"
    assert words(mix("cider vinegar"))["Energy"] == "82 kJ / 19 kcal"  # 5.09 g of acid by 13 kJ, 0.93 g by 17


def test_a_rub_by_hand() -> None:
    """100 g of sugar (99.98 g of it carbohydrate) and 100 g of salt (38.758 g of sodium) in 200 g.

    49.99 g by 17 and 4: 849.8 kJ, 199.96 kcal. 19.379 g of sodium by 2.5: 48.45 g of salt.
    """
    got = words(mix("sugar", "salt", use="rub"))
    assert got["Energy"] == "850 kJ / 200 kcal"
    assert (got["Carbohydrate"], got["Salt"], got["Protein"]) == ("50 g", "48.4 g", "<0.5 g")


@pytest.mark.parametrize(
    ("rule", "grams", "declared"),
    [
        ("grams", 9.96, "10 g"),
        ("grams", 10.4, "10 g"),
        ("grams", 0.51, "0.5 g"),
        ("saturates", 0.1, "<0.1 g"),
        ("saturates", 9.94, "9.9 g"),
        ("salt", 0.0125, "<0.01 g"),
        ("salt", 0.015, "0.02 g"),
        ("salt", 0.996, "1 g"),
        ("salt", 29.11, "29.1 g"),
    ],
)
def test_rounding_is_the_guidances(rule: str, grams: float, declared: str) -> None:
    """European Commission, guidance on tolerances, December 2012, table 4, read as quoted elsewhere."""
    assert declared_words(rule, grams) == declared


OWN = """
[mix]
name = "jar sauce"
use = "sauce"
[[ingredient]]
food = "sugar"
amount = "50 g"
[[ingredient]]
food = "hot paste"
amount = "50 g"
[[food]]
name = "hot paste"
serving_weight = "30 g"
calories = 20
carbohydrate = "4 g"
sugars = "2 g"
protein = "1 g"
"""


def test_what_is_not_known_is_not_declared() -> None:
    """The paste's label tells neither fat nor sodium: nothing is made up, and such a label is refused."""
    made = mix_from_text(OWN, "own.toml")
    missing = missing_of(declared_of(batch_of(made)))
    assert "Salt" in missing
    assert "Energy" in missing
    asked = Asked(jars=10, fill_kg=0.3, made=date(2026, 11, 30), market="eu")
    assert sale_of(made, asked).declared
    with pytest.raises(InputError, match="too little is known"):
        sale_of(made, Asked(jars=10, fill_kg=0.3, made=date(2026, 11, 30), market="eu", nutrition=True))
    with pytest.raises(InputError, match="form of their own"):
        Asked(jars=10, fill_kg=0.3, made=date(2026, 11, 30), nutrition=True)
