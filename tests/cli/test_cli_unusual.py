"""What is allowed and far from usual is said with file, line, key and what is usual, and reckoned all the same."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import COOK, Call
from tests.cli.test_cli_schema import PLAN, held

from pitreckon import catalog
from pitreckon.catalog.buying import all_buying
from pitreckon.cli.unusual import found_in
from pitreckon.cook.read import cook_from_text
from pitreckon.plan.read import asks_for_a_plan, wishes_from_text

ROOT = Path(__file__).parents[2]
RACK = COOK.replace("chicken-wing", "st-louis-ribs").replace("pieces = 24", "pieces = 3")
CASES = {
    # what is odd: (old text, new text, field, words)
    "a 26 lb rack": ('"3 oz"', '"26 lb"', "item 1: weight", "26 lb is unusual for one piece (St. Louis ribs): 2 lb"),
    "an ounce of rack": ('"3 oz"', '"1 oz"', "item 1: weight", "1 oz is unusual"),
    "F written as C": ('"325 F"', '"275 C"', "pit 1: set", "a pit set to 527 °F is unusual for pork: about 257 °F"),
    "C written as F": ('"325 F"', '"110 F"', "pit 1: set", "110 C would be"),
    "warm meat": ('"3 oz"', '"2 lb"\nstart = "40 C"', "item 1: start", "104 °F is unusual"),
    "a brick of salt": ('"3 oz"', '"2 lb"\nsalt = "60 g/kg"', "item 1: salt", "60 g of salt"),
    "a slab": ('"3 oz"', '"2 lb"\nthickness = "6 in"', "item 1: thickness", "6 in is unusual for one of 2 lb"),
    "the roof of the world": ("serve =", 'altitude = "15000 ft"\nserve =', "cook: altitude", "15000 ft"),
}


@pytest.mark.parametrize("case", CASES)
def test_each_is_said_once_with_its_place(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from pitreckon.cli import notices
    from pitreckon.cli.unusual import warn_unusual

    old, new, field, words = CASES[case]
    plain = RACK.replace('"3 oz"', '"2 lb"') if '"3 oz"' not in old else RACK
    text = plain.replace(old, new)
    assert text != plain
    notices.forget()
    for _ in range(2):
        warn_unusual(cook_from_text(text, "odd.toml"), text, "odd.toml", "F")
    (line,) = capsys.readouterr().err.splitlines()
    key = field.rpartition(" ")[2]
    at = next(n for n, each in enumerate(text.splitlines(), 1) if re.match(rf"{key} *=", each))
    assert line.startswith(f"warning: odd.toml, line {at}, field '{field}': ")
    assert words in line
    assert notices.said() == [line.removeprefix("warning: ")]


def test_nothing_of_ours_is_unusual() -> None:
    """Every example, every cook that the model was held against, and every cut as it comes at its usual fire."""
    files = [*ROOT.glob("examples/**/*.toml"), *ROOT.glob("validation/**/*.toml")]
    texts = {path.name: path.read_text("utf-8") for path in files}
    cooks = {name: text for name, text in texts.items() if "[cook]" in text}
    assert len(cooks) > 20
    for name, text in cooks.items():
        planned = wishes_from_text(text, name) if asks_for_a_plan(text, name) else cook_from_text(text, name)
        assert not list(found_in(planned, "F")), name
    for key, cut in catalog.cuts().items():
        set_c = catalog.animal(cut.animal).usual_set_c.value
        bought = all_buying()[key]
        for mass_kg in (cut.shape.mass_kg.value, bought.piece_low_kg.value, bought.piece_high_kg.value):
            text = COOK.replace("chicken-wing", key).replace("3 oz", f"{mass_kg} kg").replace("325 F", f"{set_c:.0f} C")
            assert not list(found_in(cook_from_text(text, key), "C")), (key, mass_kg)


@pytest.mark.kernel
def test_it_is_reckoned_all_the_same_and_told_to_programs(pitreckon: Call, tmp_path: Path) -> None:
    odd = tmp_path / "odd.toml"
    odd.write_text(COOK.replace("3 oz", "2 lb"))
    told = pitreckon("reckon", odd, "--members", "8", "--json", "--degrees", "C")
    answer = held("reckon", told.out)
    (warning,) = answer["warnings"]
    assert "907 g is unusual for one piece (Chicken wing, whole)" in warning
    assert told.err == f"warning: {warning}\n"
    assert held("reckon", pitreckon("reckon", odd, "--members", "8", "--json").out)["warnings"] != [warning]  # in lb


@pytest.mark.kernel
@pytest.mark.slow
def test_a_plan_says_it_too(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "none.sqlite"))
    (tmp_path / "day.toml").write_text(PLAN.replace('"325 F"', '"325 F"\nwater_pan = false') + 'weight = "2 lb"\n')
    told = pitreckon("plan", tmp_path / "day.toml", "--limit", "0.5", "--json")
    (warning,) = held("plan", told.out)["warnings"]
    assert "day.toml, line 19, field 'item 1: weight'" in warning


def test_what_no_law_holds_for_is_one_line_without_a_number_of_the_program(pitreckon: Call, tmp_path: Path) -> None:
    hot = tmp_path / "hot.toml"
    hot.write_text(COOK.replace("325 F", "275 C"))
    told = pitreckon("reckon", hot, "--members", "8")
    assert (told.code, told.out) == (2, "")
    warning, fault = told.err.splitlines()
    assert "field 'pit 1: set'" in warning
    assert fault.endswith("Write what is nearer to the usual.")
