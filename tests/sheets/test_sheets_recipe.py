"""The recipe card on paper and as JSON-LD, as other programs read it.

JSON-LD: PyLD expands it; every property is held against the schema.org vocabulary as ``msgspec-schemaorg`` ships it;
durations are read by ``isodate``. The PDF is read by pypdf, the Markdown by the eye of a test.
"""

from __future__ import annotations

import html
import io
import json
import re
from dataclasses import replace
from datetime import timedelta
from functools import cache
from typing import Any

import isodate
import msgspec_schemaorg.models as vocabulary
import pypdf
import pytest
from pyld import jsonld
from validation.readers.cards import HERE

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.read import mix_from_text
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card.card import Card, card_of
from pitreckon.lessons.card.finished import finished_item
from pitreckon.sheets.documents.recipe import Recipe, recipe_of, stages_of, step_of
from pitreckon.sheets.documents.recipecard import recipe_sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.html import page_of, script_element
from pitreckon.sheets.writers.jsonld import NUTRITION, iso_duration, recipe_document, recipe_jsonld
from pitreckon.sheets.writers.markdown import markdown_of
from pitreckon.sheets.writers.pdf import pdf_of
from pitreckon.sheets.writers.text import text_of

RUB = """[mix]
name = "orchard rub"
use = "rub"
covers = ["2.5 kg"]
[[ingredient]]
food = "brown sugar"
amount = "2 tbsp"
[[ingredient]]
food = "kosher salt, flakes"
amount = "24 g"
"""
GLAZE = """[mix]
name = "quince <glaze> & more"
use = "glaze"
covers = ["3 racks"]
[[ingredient]]
food = "honey"
amount = "90 g"
[[ingredient]]
food = "cider vinegar"
amount = "3 tbsp"
"""


def mixes() -> list[Mix]:
    return [mix_from_text(RUB, "rub.toml"), mix_from_text(GLAZE, "glaze.toml")]


@cache
def card(item: str = "racks") -> Card:
    cook = cook_from_text((HERE / "orchard-supper.toml").read_text("utf-8"), "orchard-supper.toml")
    ledger = log_from_text((HERE / "orchard-supper.csv").read_text("utf-8"), "orchard-supper.csv", cook)
    return card_of(finished_item(cook, ledger, item), readers=200)


@cache
def recipe(pieces: int | None = None) -> Recipe:
    return recipe_of(card(), mixes(), pieces=pieces)


@pytest.mark.kernel
def test_more_racks_take_more_of_everything() -> None:
    three, nine = recipe(), recipe(9)
    assert three.meal.pieces == 3  # as many as were cooked
    for one, other in zip(three.mixes, nine.mixes, strict=True):
        assert other.batch.mass_kg == pytest.approx(3.0 * one.batch.mass_kg)
    assert nine.serves == pytest.approx(3 * three.serves, abs=1)
    assert stages_of(nine, Reader("UTC"))[0].takes == stages_of(three, Reader("UTC"))[0].takes  # a piece gets as much


@pytest.mark.kernel
@pytest.mark.parametrize("given", [{"pieces": 0}, {"pieces": 501}, {"serves": 0}])
def test_absurd_sizes_are_refused(given: dict[str, int]) -> None:
    with pytest.raises(InputError):
        recipe_of(card(), **given)


@pytest.mark.kernel
def test_what_to_look_for_comes_before_the_time() -> None:
    for stage in stages_of(recipe(), Reader("UTC")):
        assert "until" not in stage.takes
    text = text_of(recipe_sheet(recipe()))
    assert text.index("until a thin probe slides in") < text.index("look first after", text.index("Wrap in"))


@pytest.mark.kernel
def test_the_line_to_change_is_numbered_as_on_the_card() -> None:
    change = card().change
    assert change is not None
    stages = stages_of(recipe(), Reader("UTC"))
    number = step_of(recipe(), change.line)
    assert f"The line to change is {number}." in " ".join(text_of(recipe_sheet(recipe())).split())
    look_for = stages[number - 1].look_for
    if change.line and " not until " in change.words:
        assert change.words.endswith(f"not until {look_for}")


@pytest.mark.kernel
def test_every_writer_shows_every_stage() -> None:
    sheet = recipe_sheet(recipe(), reader=Reader("America/New_York"))
    pdf = "".join("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf_of(sheet))).pages).split())
    page = html.unescape(re.sub(r"<[^>]+>", "", page_of(sheet)))
    for made in (page, markdown_of(sheet), text_of(sheet, 200)):
        for stage in stages_of(recipe(), sheet.reader):
            assert stage.do in made
            assert stage.do.replace(" ", "") in pdf
        assert "no promise of safety" in made
        assert "carbon monoxide" in made
    assert "quince <glaze>" not in page_of(sheet)  # what others wrote is text and no mark-up
    assert "quince \\<glaze\\> \\& more" in markdown_of(sheet)


@pytest.mark.kernel
def test_the_card_has_three_pages_at_most() -> None:
    assert len(pypdf.PdfReader(io.BytesIO(pdf_of(recipe_sheet(recipe()), "letter"))).pages) <= 3


@pytest.mark.parametrize("span", [0.0, 60.0, 540.0, 3600.0, 5400.0, 36 * 3600.0 + 120.0])
def test_durations_are_iso_8601(span: float) -> None:
    assert isodate.parse_duration(iso_duration(span)).total_seconds() == span


LISTS = {
    "HowToStep": ("CreativeWork", "ItemList", "ListItem"),
    "HowToDirection": ("CreativeWork", "ListItem"),
    "HowToTip": ("CreativeWork", "ListItem"),
}
"""These have more than one parent in schema.org (from memory), of which the vocabulary's classes carry one."""


def properties(kind: str) -> set[str]:
    """Of a type of the schema.org vocabulary, those it inherits included."""
    kinds = (kind, *LISTS.get(kind, ()))
    return {name.rstrip("_") for each in kinds for name in getattr(vocabulary, each).__struct_fields__}


def nodes(value: Any) -> list[dict[str, Any]]:
    if isinstance(value, dict):
        return [value, *(each for inner in value.values() for each in nodes(inner))]
    return [each for inner in value for each in nodes(inner)] if isinstance(value, list) else []


@pytest.mark.kernel
def test_every_property_is_one_of_schema_org() -> None:
    found = nodes(recipe_jsonld(recipe()))
    kinds = {node["@type"] for node in found}
    assert kinds == {"Recipe", "NutritionInformation", "HowToStep", "HowToDirection", "HowToTip", "HowToTool"}
    for node in found:
        own = {key for key in node if not key.startswith("@")}
        assert own <= properties(node["@type"]), (node["@type"], own - properties(node["@type"]))
    assert "stickiness" not in properties("Recipe")  # the list can say no
    assert {name for name, _ in NUTRITION.values()} <= properties("NutritionInformation")


@pytest.mark.kernel
def test_a_processor_of_json_ld_reads_it() -> None:
    """PyLD expands it with a context of the test's own, as nothing is fetched here."""

    def loader(url: str, _options: Any = None) -> dict[str, Any]:
        assert url.rstrip("/") == "https://schema.org"
        context = {"@context": {"@vocab": "https://schema.org/"}}
        return {"contentType": "application/ld+json", "contextUrl": None, "documentUrl": url, "document": context}

    (expanded,) = jsonld.expand(recipe_jsonld(recipe()), {"documentLoader": loader})
    assert expanded["@type"] == ["https://schema.org/Recipe"]
    steps = expanded["https://schema.org/recipeInstructions"]
    assert len(steps) == len(stages_of(recipe(), Reader("America/New_York")))
    (nutrition,) = expanded["https://schema.org/nutrition"]
    assert nutrition["https://schema.org/calories"][0]["@value"].endswith(" kcal")


@pytest.mark.kernel
def test_its_durations_and_numbers_are_the_cards() -> None:
    document = recipe_jsonld(recipe())
    total = isodate.parse_duration(document["totalTime"]).total_seconds()
    assert total >= isodate.parse_duration(document["cookTime"]).total_seconds() > 3600.0
    performed = [
        isodate.parse_duration(part["performTime"]).total_seconds()
        for step in document["recipeInstructions"]
        for part in step["itemListElement"]
        if "performTime" in part
    ]
    assert performed == [line.clock_s for line in card().script.lines]
    label = recipe().label
    assert label is not None
    declared = {line.nutrient: line.declared for line in label.lines}
    assert document["nutrition"]["calories"] == f"{declared['energy_kcal']:g} kcal"
    assert document["nutrition"]["sodiumContent"] == f"{declared['sodium_mg']:g} mg"


def test_nothing_in_it_ends_its_element() -> None:
    element = script_element({"name": "</script><b>", "text": "<!--"})
    assert element.count("<") == 2
    assert json.loads(element.partition(">")[2].rpartition("</script>")[0])["name"] == "</script><b>"


@pytest.mark.kernel
def test_every_number_is_in_the_document() -> None:
    document = json.loads(json.dumps(recipe_document(recipe()), allow_nan=False))
    assert document["right"] == pytest.approx(card().right.share, abs=1e-4)
    assert len(document["lines"]) == len(card().script.lines)
    assert document["jsonld"]["@type"] == "Recipe"


@pytest.mark.kernel
def test_without_mixes_there_is_no_label() -> None:
    bare = recipe_of(card("thighs"))
    assert bare.label is None
    assert "nutrition" not in recipe_jsonld(bare)
    assert "A SERVING" not in text_of(recipe_sheet(bare))


@pytest.mark.kernel
def test_a_card_tells_how_often_and_how_it_was() -> None:
    made = card()
    done = made.finished
    hotter = replace(done, set_c=done.set_c - 8.0, put_on_utc=done.put_on_utc - timedelta(days=21))
    hotter = replace(hotter, off_utc=done.off_utc - timedelta(days=21, minutes=-30))
    told = recipe_of(made, earlier=(hotter,), said=("Ana: good, a shade tough",))
    text = " ".join(text_of(recipe_sheet(told)).split())
    assert "2 times in this house." in text
    assert "pit 14 °F hotter" in text
    assert "Ana: good, a shade tough" in text
    document = recipe_document(told)
    assert document["cooked"]["times"] == 2
    assert document["how_it_was"] == ["Ana: good, a shade tough"]
    assert recipe_document(recipe_of(made))["cooked"] is None
