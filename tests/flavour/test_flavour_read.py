"""Mix files: what a good one gives, and one clear message for each way to get it wrong."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Amount, Cover
from pitreckon.flavour.read import mix_from_text, read_mix
from pitreckon.units import TABLESPOON_M3

DOC = Path(__file__).parents[2] / "docs" / "reference" / "mix-file.md"
GOOD = """\
[mix]
name = "gate rub"
use = "rub"
part = "1 tbsp"
covers = ["2 racks", "2.5 kg", "230 in2"]

[[ingredient]]
food = "Brown sugar"
amount = "4 parts"

[[ingredient]]
food = "salt"
amount = "40 g"
price = "1.50 per lb"

[[ingredient]]
food = "yard honey"
amount = "1 1/2 tsp"

[[food]]
name = "yard honey"
serving = "1 tbsp"
serving_weight = "21 g"
calories = 60
sodium = "0 mg"
pungency = "100 to 400 SHU"
contains = "mustard"

[plate]
meat = "ribs"
raw = "3 kg"
serves = 6
"""
INNER = '[mix]\nname = "inner"\nuse = "rub"\n[[ingredient]]\nfood = "salt"\namount = "5 g"\n'


def _fault(text: str) -> InputError:
    with pytest.raises(InputError) as caught:
        mix_from_text(text, "gate.toml")
    return caught.value


def _line(needle: str) -> int:
    return GOOD[: GOOD.index(needle)].count("\n") + 1


def test_a_good_file() -> None:
    mix = mix_from_text(GOOD, "gate.toml")
    sugar, salt, honey = mix.lines
    assert (mix.name, mix.use) == ("gate rub", "rub")
    assert mix.part is not None
    assert (mix.part.kind, mix.part.value) == ("spoons", pytest.approx(TABLESPOON_M3))
    assert mix.covers[:2] == (Cover(2.0, "rack"), Cover(2.5, "weight"))
    assert (mix.covers[2].what, mix.covers[2].value) == ("area", pytest.approx(230 * 0.0254**2))
    assert (sugar.food, sugar.amount) == ("brown-sugar", Amount("parts", 4.0))
    assert salt.price_per_kg == pytest.approx(1.5 / 0.45359237)
    assert (honey.food, honey.own) == (None, "yard honey")
    own = mix.own("yard honey")
    assert (own.energy_kcal, own.sodium_mg, own.shu, own.contains) == (60.0, 0.0, (100.0, 400.0), ("mustard",))
    assert own.fat_g is None, "what the label does not say is not known"
    assert mix.plate is not None
    assert (mix.plate.meat, mix.plate.yield_share, mix.plate.stays) == ("spareribs", None, 1.0)


@pytest.mark.parametrize(
    ("old", "new", "field", "trouble", "remedy"),
    [
        ('food = "salt"', 'food = "slat"', "food", "slat", "salt"),
        ('amount = "40 g"', "amount = 40", "amount", "no unit", "40 g"),
        ('amount = "40 g"', 'amount = "a bit"', "amount", "not an amount", "40 g"),
        ('amount = "40 g"', 'amount = "-4 g"', "amount", "negative", ""),
        ('amount = "40 g"', 'amount = "0 g"', "amount", "0 g", "between"),
        ('use = "rub"', 'use = "rubb"', "use", "rubb", "rub"),
        ('part = "1 tbsp"\n', "", "part", "part", "part ="),
        ('part = "1 tbsp"', 'prat = "1 tbsp"', "prat", "no key", "part"),
        ('food = "salt"', 'food = "brown sugar"', "food", "twice", "once"),
        ('price = "1.50 per lb"', 'price = "1.50"', "price", "no price", "per kg"),
        ('serving = "1 tbsp"\n', "", "amount", "spoonful of 'yard honey'", "serving"),
        ('pungency = "100 to 400 SHU"', 'pungency = "hot"', "pungency", "hot", "SHU"),
        ('contains = "mustard"', 'contains = "mustrad"', "contains", "mustrad", "mustard"),
        ('sodium = "0 mg"', 'sugars = "90 g"', "sugars", "90 g", "between"),
        ('meat = "ribs"', 'meat = "sparerips"', "meat", "sparerips", "spareribs"),
        ("serves = 6", "serves = 0", "serves", "0", "between"),
        ('"230 in2"]', '"many"]', "covers", "many", "2 racks"),
    ],
)
def test_one_message_with_place_and_remedy(old: str, new: str, field: str, trouble: str, remedy: str) -> None:
    assert GOOD.count(old) == 1
    error = _fault(GOOD.replace(old, new))
    assert error.place.file == "gate.toml"
    assert error.place.field is not None
    assert error.place.field.endswith(f": {field}")
    assert trouble in error.trouble
    assert remedy in error.remedy
    if new and field in new:
        assert error.place.line is not None
        if field != "food" or "twice" not in trouble:
            assert error.place.line == _line(old)


def test_no_mix_no_ingredients_and_no_toml() -> None:
    assert "[mix]" in _fault("").trouble
    assert "no ingredients" in _fault('[mix]\nname = "a"\nuse = "rub"\n').trouble
    assert "TOML" in _fault("[mix\n").trouble
    assert "one food or one mix" in _fault(GOOD.replace('food = "salt"', 'food = "salt"\nmix = "a.toml"')).trouble


def test_a_mix_in_a_mix_is_read_from_beside_it(tmp_path: Path) -> None:
    (tmp_path / "inner.toml").write_text(INNER)
    outer = tmp_path / "outer.toml"
    outer.write_text(GOOD.replace('food = "salt"', 'mix = "inner.toml"'))
    inner = read_mix(outer).lines[1].mix
    assert inner is not None
    assert inner.name == "inner"


def test_a_mix_that_is_in_itself_is_refused(tmp_path: Path) -> None:
    one, two = tmp_path / "one.toml", tmp_path / "two.toml"
    one.write_text(INNER.replace('food = "salt"', 'mix = "two.toml"'))
    two.write_text(INNER.replace('food = "salt"', 'mix = "./one.toml"'))
    with pytest.raises(InputError, match="a part of") as caught:
        read_mix(one)
    assert (caught.value.place.file, caught.value.place.line) == (str(two), 5)


def test_a_mix_that_is_not_there_or_at_fault_is_placed(tmp_path: Path) -> None:
    outer = tmp_path / "outer.toml"
    outer.write_text(INNER.replace('food = "salt"', 'mix = "gone.toml"'))
    with pytest.raises(InputError, match="no such file") as caught:
        read_mix(outer)
    assert (caught.value.place.file, caught.value.place.line) == (str(outer), 5)
    (tmp_path / "gone.toml").write_text(INNER.replace("5 g", "5"))
    with pytest.raises(InputError, match="no unit") as caught:
        read_mix(outer)
    assert (caught.value.place.file, caught.value.place.line) == (str(tmp_path / "gone.toml"), 6)


@pytest.mark.parametrize("head", ["[mix]", "[[ingredient]]", "[[food]]", "[plate]"])
def test_the_reference_lists_every_key_that_is_read_and_no_other(head: str) -> None:
    """The reader's own list comes from its answer to an unknown key."""
    sections = re.split(r"^## ", DOC.read_text(encoding="utf-8"), flags=re.MULTILINE)
    section = next(part for part in sections if part.startswith(head))
    documented = set(re.findall(r"^\| `(\w+)` \|", section, re.MULTILINE))
    text = re.sub(rf"^{re.escape(head)}$", f"{head}\nzzzz = 1", GOOD, count=1, flags=re.MULTILINE)
    assert documented == set(re.findall(r"\w+", _fault(text).remedy.partition(":")[2]))


@settings(max_examples=examples(150))
@given(st.text(max_size=30))
def test_any_amount_is_read_or_refused(text: str) -> None:
    from pitreckon.flavour.amounts import parse_amount, parse_cover, parse_shu
    from pitreckon.units import parse_area, parse_price

    for parse in (parse_amount, parse_area, parse_cover, parse_price, parse_shu):
        with contextlib.suppress(InputError):  # any other error is a bug
            parse(text)
