"""Earlier cooks teach a plan what its pits burn: which of them count, and that plan and sheet say so."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.cook.write import cook_text
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry, Store
from pitreckon.plan.fuel.balance import Weather, steady_kg_h
from pitreckon.plan.fuel.calibration import learn_from
from pitreckon.plan.fuel.earlier import earlier_in, lesson_notes, lessons_of
from pitreckon.plan.schedule.problem import place_of
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes

SERVE = datetime(2026, 10, 17, 23, tzinfo=UTC)
PITS = (PitWish("barn pit", "kettle", (121.0, 135.0)), PitWish("kitchen", "oven", (107.0,)))
WISHES = Wishes("supper", "UTC", SERVE, PITS, (ItemWish("thighs", "chicken-thigh", pieces=8, mass_kg=0.2),))


def fed_day(
    serve: datetime, kg: float | None, *, pit: str = "barn pit", kind: str = "kettle"
) -> tuple[Cook, list[Act]]:
    """A supper whose fire was fed every hour for five hours."""
    begin = serve - timedelta(hours=6)
    item = ItemPlan("butt", "boston-butt", 1, 3.6, pit, begin)
    cook = Cook("a day", "UTC", serve, 0.0, 15.0, None, (PitPlan(pit, kind, 121.0),), (item,))
    return cook, [Act(begin + timedelta(hours=h), pit, "fed the fire", fuel_kg=kg) for h in range(6)]


@pytest.fixture
def store(tmp_path: Path):
    with Store.open(tmp_path / "ledger.sqlite") as made:
        yield made


def keep(store: Store, cook: Cook, acts: list[Act]) -> None:
    store.append(store.add_cook(cook_text(cook), cook.name).id, [Entry(f"e{n}", act) for n, act in enumerate(acts)])


def test_only_earlier_cooks_of_the_same_pit_and_kind_count(store: Store) -> None:
    keep(store, *fed_day(SERVE - timedelta(days=7), 1.2))
    keep(store, *fed_day(SERVE - timedelta(days=9), 1.2))
    right = lessons_of(WISHES, earlier_in(store, WISHES))
    assert set(right) == {"barn pit"}
    assert right["barn pit"].cooks == 2
    assert right["barn pit"].factor.p50 > 1.5
    # none of these says anything of this pit before this day
    keep(store, *fed_day(SERVE, 0.1))
    keep(store, *fed_day(SERVE + timedelta(days=1), 0.1))
    keep(store, *fed_day(SERVE - timedelta(days=3), 0.1, pit="yard pit"))
    keep(store, *fed_day(SERVE - timedelta(days=4), 0.1, kind="ceramic"))
    keep(store, fed_day(SERVE - timedelta(days=5), None)[0], [])
    assert lessons_of(WISHES, earlier_in(store, WISHES)) == right


def test_a_plan_that_cannot_be_read_is_passed_over(store: Store, caplog: pytest.LogCaptureFixture) -> None:
    keep(store, *fed_day(SERVE - timedelta(days=7), 1.2))
    store.add_cook('[cook]\nname = "barn pit"\n', "half a plan", cook_id="half")
    assert len(earlier_in(store, WISHES)) == 1
    assert "half" in caplog.text


def test_feedings_without_a_weight_teach_nothing_and_are_told(store: Store) -> None:
    keep(store, *fed_day(SERVE - timedelta(days=7), None))
    lessons = lessons_of(WISHES, earlier_in(store, WISHES))
    assert lesson_notes(lessons, ["kitchen", "barn pit"]) == (
        "barn pit: Nothing learned yet: what pits of its kind usually burn. 6 feedings have no amount written down.",
    )


def test_a_lesson_is_that_of_the_same_cooks_by_hand(store: Store) -> None:
    days = [fed_day(SERVE - timedelta(days=7 * n), 0.4 + 0.1 * n) for n in (1, 2, 3)]
    for cook, acts in days:
        keep(store, cook, acts)
    earlier = earlier_in(store, WISHES)
    assert lessons_of(WISHES, earlier)["barn pit"] == learn_from("barn pit", "kettle", earlier)
    assert [ledger.acts("barn pit")[0].fuel_kg for _, ledger in reversed(earlier)] == pytest.approx([0.5, 0.6, 0.7])


@given(st.floats(0.2, 4.0))
def test_the_planner_reckons_with_what_the_pit_was_found_to_burn(over: float) -> None:
    lesson = learn_from("barn pit", "kettle", [])
    taught = replace(lesson, factor=replace(lesson.factor, p50=over))
    usual, learned = place_of(PITS[0], WISHES), place_of(PITS[0], WISHES, taught)
    assert usual.fuel_kg_h[0] == pytest.approx(steady_kg_h(catalog.pit("kettle"), 121.0, Weather()))
    assert learned.fuel_kg_h == pytest.approx([over * rate for rate in usual.fuel_kg_h])
    assert math.isclose(learned.area_m2, usual.area_m2)
