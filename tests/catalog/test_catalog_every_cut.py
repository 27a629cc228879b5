"""Every cut goes the whole way: forecast, amounts, label, rules, cooling, and the question what went wrong."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from pitreckon import catalog
from pitreckon.catalog.buying import buying
from pitreckon.cook import Cook, ItemPlan
from pitreckon.cook.plan import PitPlan
from pitreckon.flavour.forcard import Meal, plate_label, serves_of, weighed_for
from pitreckon.flavour.mix import Amount, Cover, Mix, MixLine
from pitreckon.lessons.diagnosis.diagnose import weigh
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.plan.buying.quantities import quantities
from pitreckon.plan.wishes import Guests, ItemWish, PitWish, Wishes
from pitreckon.reckon.forecast import Reckoning, reckoning
from pitreckon.safety.cooling.plan import plan_cooling
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.rules.meat import UNTOUCHED

pytestmark = pytest.mark.kernel


CUTS = sorted(catalog.cuts())
SERVE = datetime(2026, 10, 10, 23, tzinfo=UTC)
RUB = Mix("salt", "rub", (MixLine(Amount("weight", 0.010), food="salt"),), covers=(Cover(1.0, "weight"),))


@pytest.fixture(scope="module")
def reckoned() -> dict[str, Reckoning]:
    """Twelve members of every cut, each alone on a pit that is set as is usual for its animal."""
    found = {}
    for key in CUTS:
        cut = catalog.cut(key)
        pit = PitPlan("pit", "pellet-cooker", catalog.animal(cut.animal).usual_set_c.value)
        item = ItemPlan(key, key, 1, cut.shape.mass_kg.value, "pit", datetime(2026, 10, 10, 8, tzinfo=UTC))
        found[key] = reckoning(Cook("all", "UTC", None, 0.0, 20.0, 0.6, (pit,), (item,)), members=12, seed=1)
    return found


@pytest.mark.parametrize("key", CUTS)
def test_it_is_reckoned_to_its_end(key: str, reckoned: dict[str, Reckoning]) -> None:
    (run,) = reckoned[key].runs
    cut = catalog.cut(key)
    assert np.isnan(run.trace.failed_s).all()
    assert np.isfinite(run.ready_s).all(), "every member gets ready"
    until = run.trace.time_s[:, None] <= run.ready_s[None, :]
    core_c = run.trace["core_c"]
    assert np.isfinite(core_c[until]).all()
    assert np.isfinite(run.trace.loss[until]).all()
    hottest = np.nanmax(core_c, axis=0)
    assert (hottest >= cut.texture.least_core_c.value - 1.0).all()
    assert (hottest <= 105.0).all()
    assert 0.2 <= np.median(run.ready_s) / 3600.0 <= 24.0


@pytest.mark.parametrize("key", CUTS)
def test_its_amounts_are_planned(key: str) -> None:
    wishes = Wishes(
        "supper", "UTC", SERVE, (PitWish("pit", "pellet-cooker", (121.1,)),), (ItemWish(key, key),), guests=Guests(20)
    )
    (item,) = quantities(wishes, draws=200).items
    eaten = item.edible_share * item.pieces * (buying(key).piece_low_kg.value + buying(key).piece_high_kg.value) / 2
    # 20 adults eat a third of a pound each, and the plan is sure of it: no less, and not three times as much
    assert 20 * 0.15 * 0.9 <= eaten <= max(20 * 0.15 * 3.0, 2.0 * eaten / item.pieces)


@pytest.mark.parametrize("key", CUTS)
def test_its_plate_has_a_label(key: str) -> None:
    meal = Meal(key, 2, catalog.cut(key).shape.mass_kg.value)
    label = plate_label(weighed_for([RUB], meal), meal, serves_of(meal))
    assert label is not None, "a table has this meat"
    lines = {line.name: line for line in label.lines}
    each = label.serving_kg * 10.0
    energy, fat, protein = (lines[name].value.middle / each for name in ("Calories", "Fat", "Protein"))
    # factors of 21 CFR 101.9(c)(1)(i): 4 kcal a gram of protein, 9 of fat; SR28 has its own, a little other
    assert energy == pytest.approx(4.0 * protein + 9.0 * fat, rel=0.06)
    assert 10.0 <= protein <= 32.0
    assert ("Fish" in label.contains) == (catalog.cut(key).animal == "fish"), "21 U.S.C. 343(w): fish is named"


# FSIS safe minimum internal temperature chart, 14 Apr 2025, and FSIS-GD-2021-14: the rules that decide the cooking
DECIDE = {"meat": {"fsis-meat"}, "poultry": {"fsis-poultry"}, "fish": {"usda-fish"}}


@pytest.mark.parametrize("key", CUTS)
def test_the_rules_of_its_animal_hold(key: str, reckoned: dict[str, Reckoning]) -> None:
    cut = catalog.cut(key)
    family = catalog.animal(cut.animal).family
    (piece,) = judge_cook(reckoned[key], {key: UNTOUCHED}).ahead
    verdicts = {each.rule.key: each for each in piece.verdicts if each.rule.group == "cooking"}
    governing = {name for name, each in verdicts.items() if each.rule.governs}
    assert governing == DECIDE[family] | ({"usda-ground"} if cut.kind == "ground" else set())
    assert all(family in each.rule.animals for each in piece.verdicts)
    assert ("usda-whole-cuts" in verdicts) == (family == "meat" and cut.kind == "intact")
    if cut.texture.done_by == "tender":  # far past any least temperature
        assert {each.verdict for each in verdicts.values()} == {"met"}


@pytest.mark.parametrize("key", CUTS)
def test_what_is_left_is_cooled(key: str) -> None:
    plan = plan_cooling(key, catalog.cut(key).shape.mass_kg.value * 0.7, 65.0, members=8)
    assert len(plan.trials) >= 2
    assert max(trial.makes for trial in plan.trials) > 0.9, "some way cools it in time"


@pytest.mark.parametrize("key", ["lamb-leg", "salmon-side", "sausage", "chicken-whole", "pork-belly"])
def test_it_can_be_asked_what_went_wrong(key: str) -> None:
    assert weigh(Report(cut=key, faults=("dry",)), members=8).odds(("dry",))
