"""Whose rules and models an animal takes: official charts for fish, ground meat, lamb and birds."""

from __future__ import annotations

import pytest

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.safety.history.history import History
from pitreckon.safety.microbes.models import LISTERIA, SALMONELLA_MEAT, grows_as, killed_in
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Handled, Meat

MIN_S = 60.0


def cooked(meat: Meat, fahrenheit: float, hold_s: float = 2.0, rule: str = "") -> str:
    """What a rule, or what decides, says of a piece whose middle comes to a temperature, stays so long, and cools."""
    top_c = (fahrenheit - 32.0) / 1.8
    times = [0.0, 40 * MIN_S, 40 * MIN_S + hold_s, 60 * MIN_S + hold_s]
    piece = judge_piece("it", meat, [History.measured(times, [4.0, top_c, top_c, 50.0])])
    verdict = piece.verdict(rule) if rule else piece.group("cooking")
    assert verdict is not None
    return verdict.verdict


# FSIS safe minimum internal temperature chart, 14 Apr 2025: fish 145 F, ground meat 160 F, poultry 165 F
@pytest.mark.parametrize(("cut", "rule", "least_f"), [
    ("salmon-side", "usda-fish", 145.0), ("salmon-side", "", 145.0), ("sausage", "usda-ground", 160.0),
    ("sausage", "", 160.0), ("chicken-whole", "usda-poultry", 165.0), ("turkey-whole", "usda-poultry", 165.0),
])  # fmt: skip
def test_a_moment_at_the_official_least_is_enough_and_a_degree_less_is_not(cut: str, rule: str, least_f: float) -> None:
    meat = Meat.of(catalog.cut(cut), UNTOUCHED)
    assert cooked(meat, least_f + 0.2, rule=rule) == "met"
    assert cooked(meat, least_f - 1.0, rule=rule) != "met"


def test_birds_may_also_meet_the_table_that_decides() -> None:
    """FSIS-GD-2021-14, tables 3 and 4 at 12 % fat: 155 F for 54.4 s in chicken, 1.3 min in turkey."""
    for cut, hold_s in (("chicken-whole", 54.4), ("turkey-whole", 78.0)):
        meat = Meat.of(catalog.cut(cut), UNTOUCHED)
        assert cooked(meat, 155.1, hold_s + 5.0) == "met"
        assert cooked(meat, 155.1, hold_s - 20.0) != "met"


def test_lamb_is_judged_as_meat() -> None:
    """FSIS-GD-2021-14, table 2, for beef, lamb and pork: 145 F for 4 min; a moment is too little."""
    lamb = Meat.of(catalog.cut("lamb-leg"), UNTOUCHED)
    assert cooked(lamb, 145.2, 4.5 * MIN_S) == "met"
    assert cooked(lamb, 145.2) != "met"
    assert lamb.family == "meat"


def test_a_sausage_is_ground_whatever_is_said_of_it() -> None:
    for handled in (None, UNTOUCHED, Handled(injected=True)):
        assert Meat.of(catalog.cut("sausage"), handled).states == ("ground",)


def test_injected_fish_is_shown_the_stricter_rule() -> None:
    """FDA Food Code 3-401.11(A)(2), from memory: 155 F for 17 s."""
    fish = Meat.of(catalog.cut("salmon-side"), Handled(injected=True))
    history = History.measured([0.0, 40 * MIN_S, 41 * MIN_S, 60 * MIN_S], [4.0, 63.2, 63.2, 50.0])
    verdicts = {each.rule.key: each.verdict for each in judge_piece("it", fish, [history]).verdicts}
    assert verdicts["usda-fish"] == "met"
    assert verdicts["food-code-fish-non-intact"] != "met"
    assert "food-code-fish" not in verdicts
    assert not any(key.startswith("fsis-") and key != "fsis-thawed" for key in verdicts), "those are for meat, poultry"


def test_models_of_an_animal() -> None:
    assert killed_in("lamb") == killed_in("pork") == (SALMONELLA_MEAT, LISTERIA)
    assert killed_in("fish") == (LISTERIA,)
    for animal in ("duck", "bison"):
        with pytest.raises(InputError, match=f"'{animal}' has no model.*beef"):
            killed_in(animal)
    assert [grows_as(each) for each in ("lamb", "fish", "turkey", "bison")] == ["beef", "beef", "chicken", "beef"]


def test_families() -> None:
    found = {animal: Meat(animal).family for animal in ("duck", "goose", "poultry", "mixed", "fish", "bison")}
    assert found == {"duck": "poultry", "goose": "poultry", "poultry": "poultry", "mixed": "poultry", "fish": "fish",
                     "bison": "meat"}  # fmt: skip
