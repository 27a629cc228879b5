"""What a form holds becomes a cook file that means it, whatever was typed."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.read import cook_from_tables, cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.forms.toml_write import toml_text, typed

COOK = {"name": "harvest supper", "zone": "America/Chicago", "serve": "2026-10-17 18:00", "air": "57 F", "altitude": ""}
PIT = {"name": "barn pit", "kind": "pellet-cooker", "set": "275 F"}
RACKS = {
    "name": "racks",
    "cut": "st-louis-ribs",
    "pieces": "4",
    "weight": "2 lb 10 oz",
    "put_on": "2026-10-17 13:15",
}
STAGES = [{"do": "open", "until": "colour"}, {"do": "wrapped", "wrap": "foil", "until": "tender"}]


def filled(*items: dict[str, str]) -> dict[str, object]:
    """The tables of a form with these items."""
    return {"cook": typed(COOK), "pit": [typed(PIT)], "item": [typed(item, "pieces") for item in items]}


def test_a_form_becomes_a_cook() -> None:
    tables = filled(RACKS, {**RACKS, "name": "more", "pieces": ""})
    tables["item"][0]["stage"] = [typed(stage) for stage in STAGES]  # type: ignore[index]
    cook = cook_from_tables(tables, "form")
    assert cook == cook_from_text(toml_text(tables), "kept")
    assert (cook.name, cook.pits[0].label, [item.pieces for item in cook.items]) == (
        "harvest supper",
        "barn pit",
        [4, 1],
    )
    assert [stage.kind for stage in cook.items[0].stages] == ["open", "wrapped"]
    assert cook.items[1].stages == ()


def test_a_fault_is_named_by_its_field() -> None:
    for changed, field in (({"pieces": "four"}, "pieces"), ({"pieces": "-2"}, "pieces"), ({"weight": "2"}, "weight")):
        with pytest.raises(InputError) as caught:
            cook_from_tables(filled(RACKS | changed), "form")
        assert (caught.value.place.field, caught.value.place.line) == (f"item 1: {field}", None)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_any_text_comes_back_as_it_was_typed(text: str) -> None:
    read = tomllib.loads(toml_text({"cook": typed({"name": text}), "item": [typed({"name": text, "weight": text})]}))
    assert read.get("cook", {}).get("name", "") == text.strip()
    assert read["item"][0].get("weight", "") == text.strip()


@given(st.text("0123456789٣²", max_size=12))
def test_pieces_are_a_number_or_a_text(text: str) -> None:
    (item,) = tomllib.loads(toml_text({"item": [typed({"pieces": text}, "pieces")]}))["item"]
    assert item == ({} if not text.strip() else {"pieces": item["pieces"]})
    assert str(item.get("pieces", "")).lstrip("0") == text.lstrip("0")


@pytest.mark.parametrize("start", [{}, {"start": "38 F"}])
def test_a_start_that_nobody_told_is_not_written_down(start: dict[str, str]) -> None:
    cook = cook_from_tables(filled({**RACKS, **start}), "form")
    assert cook.items[0].start_said is bool(start)
    assert ("start" in tomllib.loads(cook_text(cook))["item"][0]) is bool(start)
    assert cook_from_text(cook_text(cook), "kept") == cook


def test_a_cook_is_read_back_with_its_courses() -> None:
    """A step of a scale that ends a stage, an hour that the clocks repeat, and weights that are no round number."""
    zone = "America/Chicago"
    at = datetime(2026, 11, 1, 6, 30, tzinfo=UTC)  # 01:30 for the first time on the day on which the clocks go back
    course = (
        StagePlan("open", Until("colour", 0.55)),
        StagePlan("wrapped", Until("core", 95.0), wrap="foil", liquid_kg=0.06),
        StagePlan("rest", Until("minutes", 1500.0)),
        StagePlan("hold", Until("clock", at + timedelta(hours=12)), air_c=73.9),
    )
    item = ItemPlan("butt", "boston-butt", 2, 3.1234, "box", at, sugar=1.0, thickness_m=0.11, stages=course)
    serve = at + timedelta(hours=12)
    cook = Cook("supper", zone, serve, 0.0, None, 0.4, (PitPlan("box", "kettle", 121.11),), (item,))
    again = cook_from_text(cook_text(cook), "written")
    assert again.items[0].stages == course
    assert again.items[0].put_on_utc == at
    assert again.items[0].mass_kg == pytest.approx(3.1234, abs=5e-5)
    assert (again.serve_utc, again.weather_rh, again.pits) == (serve, 0.4, cook.pits)
