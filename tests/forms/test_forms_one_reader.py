"""One reader of what people type: the same amount in every file, examples that are right, errors that have a kind."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from pitreckon.alerts.settings import ALERTS
from pitreckon.cook import keys as cook_keys
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.until import parse_until
from pitreckon.errors import ErrorKind, InputError, Place
from pitreckon.flavour.read import LINE, MIX, OWN_FOOD, PLATE, mix_from_tables, mix_from_text
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys
from pitreckon.forms.names import KnownNames
from pitreckon.intake.mqtt.input import KEYS as BROKER
from pitreckon.intake.mqtt.input import TOPIC
from pitreckon.intake.settings import DEVICE
from pitreckon.lessons.diagnosis.report import DID, FAULT
from pitreckon.plan import keys as day_keys
from pitreckon.plan.read import wishes_from_tables, wishes_from_text
from pitreckon.units import FOOT_M, POUND_KG

FILES: dict[str, dict[str, Keys[object]]] = {
    "cook": {name: getattr(cook_keys, name) for name in ("COOK", "PIT", "ITEM", "STAGE", "TRIPS")},
    "day": {name: getattr(day_keys, name) for name in ("DAY", "GUESTS", "HANDS", "AWAY", "PIT", "ITEM")},
    "mix": {"MIX": MIX, "LINE": LINE, "OWN_FOOD": OWN_FOOD, "PLATE": PLATE},
    "settings": {"DEVICE": DEVICE, "MQTT": BROKER, "TOPIC": TOPIC, "ALERTS": ALERTS},
    "report": {"DID": DID, "REPORT": Keys(dict, FAULT)},
}
KEYS = [(file, head, key) for file, heads in FILES.items() for head, keys in heads.items() for key in keys.keys]
SERVE = datetime(2026, 10, 10, 23, tzinfo=UTC)
DAY = """[cook]
name = "supper"
zone = "America/Chicago"
serve = "2026-10-10 18:00"

[[pit]]
name = "big box"
kind = "pellet-cooker"
set = "275 F"
grate_area = "400 sq in"

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 3
price = "4.99 / lb"
put_on = "2026-10-10 12:00"

[[item]]
name = "the 'racks' again"
cut = "st-louis-ribs"
pieces = 3
put_on = "2026-10-10 12:00"
"""
MIX_FILE = """[mix]
name = "rub"
use = "rub"
covers = ["2 racks"]

[[ingredient]]
food = "salt"
amount = "40 g"
price = "2 per kg"
"""


def fault_of(read: Callable[[], object]) -> InputError:
    with pytest.raises(InputError) as caught:
        read()
    return caught.value


@pytest.mark.parametrize(("file", "head", "key"), KEYS, ids=[f"{f}-{h}-{k.key}" for f, h, k in KEYS])
def test_the_example_of_a_key_is_read_by_that_key(file: str, head: str, key: Key) -> None:
    assert head in FILES[file]
    around = cook_keys.Around(
        ZoneInfo("America/Chicago"), SERVE, KnownNames.from_catalog(), {"big box": "big box"}, after_utc=SERVE
    )
    raw = tomllib.loads(f"{key.key} = {key.example}")
    fields = Fields(raw, (), "example", "example", None, around)
    assert key.read(fields) is not None
    wrong = Fields({key.key: [{}]}, (), "example", "example", None, around)
    assert fault_of(lambda: key.read(wrong)).place == Place("example", None, f"example: {key.key}")


def test_there_are_keys() -> None:
    assert len(KEYS) > 100


@pytest.mark.parametrize(
    ("price", "per_kg"),
    [
        ("$4.99/lb", 4.99 / POUND_KG),
        ("4.99 per lb", 4.99 / POUND_KG),
        ("4.99 / LB", 4.99 / POUND_KG),
        ("11 € / kg", 11.0),
        ("4.50 per 500 g", 9.0),
        ("2 a kg", 2.0),
        ("0 / kg", 0.0),
        ("1e-05 / kg", 1e-5),
    ],
)
def test_one_price_in_every_file(price: str, per_kg: float) -> None:
    item = wishes_from_text(DAY.replace("4.99 / lb", price), "day").items[0]
    line = mix_from_text(MIX_FILE.replace("2 per kg", price), "mix").lines[0]
    assert item.price_per_kg == line.price_per_kg == pytest.approx(per_kg)


@pytest.mark.parametrize("price", ["", "free", "3", "3 / stone", "3 per 0 g", "-3 / kg", "3 / kg / kg"])
def test_what_is_no_price_is_none_in_any_file(price: str) -> None:
    day = fault_of(lambda: wishes_from_text(DAY.replace("4.99 / lb", price), "day"))
    mix = fault_of(lambda: mix_from_text(MIX_FILE.replace("2 per kg", price), "mix"))
    assert (day.trouble, day.remedy) == (mix.trouble, mix.remedy)
    assert (day.place.line, mix.place.line) == (16, 9)


@pytest.mark.parametrize(
    ("area", "square_m"),
    [
        ("0.4 m²", 0.4),
        ("0.4 m2", 0.4),
        ("0.4m2", 0.4),
        ("1 1/2 sq ft", 1.5 * FOOT_M**2),
        ("2 ft²", 2.0 * FOOT_M**2),
        ("4000 cm2", 0.4),
        ("600 square inches", 600 * 0.0254**2),
    ],
)
def test_one_area_in_every_file(area: str, square_m: float) -> None:
    pit = wishes_from_text(DAY.replace("400 sq in", area), "day").pits[0]
    (cover,) = mix_from_text(MIX_FILE.replace("2 racks", area), "mix").covers
    assert pit.grate_m2 == pytest.approx(square_m)
    assert (cover.value, cover.what) == (pytest.approx(square_m), "area"), "never pieces called m²"


@pytest.mark.parametrize("odd", ["0.4 m³", "3 km²", "2 m ²"])
def test_no_unit_becomes_a_kind_of_piece(odd: str) -> None:
    assert "0.4 m2" in fault_of(lambda: mix_from_text(MIX_FILE.replace("2 racks", odd), "mix")).remedy


def test_the_remedy_belongs_to_the_file_and_the_key() -> None:
    """A time away ends at a time, though ``until`` of a stage may be a colour."""
    away = fault_of(lambda: wishes_from_text(DAY + '\n[[hands.away]]\nfrom = "13:00"\n', "day"))
    assert (away.trouble, away.remedy) == ("until is missing", 'Write it as in until = "15:00"')
    stage = fault_of(lambda: wishes_from_text(DAY + '\n[[item.stage]]\ndo = "open"\n', "day"))
    assert (stage.trouble, stage.remedy) == ("until is missing", 'Write it as in until = "colour"')


def test_a_complaint_about_an_item_lands_on_it_whatever_items_are_called() -> None:
    late = DAY.replace('put_on = "2026-10-10 12:00"\n', "", 1).replace("10 12:00", "10 19:00")
    fault = fault_of(lambda: wishes_from_text(late, "day"))
    assert "goes on after the serving time" in fault.trouble
    assert (fault.place.line, fault.place.field) == (late[: late.index("put_on")].count("\n") + 1, "item 2: put_on")
    none = DAY.replace("pieces = 3\n", "")
    fault = fault_of(lambda: wishes_from_text(none, "day"))
    assert (fault.place.line, fault.place.field) == (none[: none.index("[[item]]")].count("\n") + 1, "item 1: pieces")
    twice = MIX_FILE + '\n[[ingredient]]\nfood = "Salt"\namount = "5 g"\n'
    fault = fault_of(lambda: mix_from_text(twice, "mix"))
    assert (fault.place.line, fault.place.field) == (twice[: twice.index("Salt")].count("\n") + 1, "ingredient 2: food")


def test_what_a_message_says_decides_nothing() -> None:
    for typed in ("difference of opinion", "smaller part"):
        assert fault_of(lambda typed=typed: parse_until(typed)).remedy.startswith("Write a mark")
    for typed in ("2 h 90 min", "+275 F", "2 h 1 h", "-600 F"):
        fault = fault_of(lambda typed=typed: parse_until(typed))
        assert fault.kind is ErrorKind.SLIP
        assert not fault.remedy.startswith("Write a mark"), "the slip itself says more than a list of forms"


def test_an_error_keeps_its_kind_wherever_it_is_placed() -> None:
    fault = InputError("a", "b", kind=ErrorKind.NO_VALUE)
    assert fault.at(file="x").kind is fault.put(Place("y")).kind is ErrorKind.NO_VALUE
    assert fault.at(file="x").put(Place("y")).place == Place("y")


def test_a_form_is_read_as_a_file_is_and_has_no_lines() -> None:
    tables = tomllib.loads(DAY)
    assert wishes_from_tables(tables, "the form") == wishes_from_text(DAY, "day")
    assert mix_from_tables(tomllib.loads(MIX_FILE), "the form") == mix_from_text(MIX_FILE, "mix")
    tables["item"][1]["cut"] = "unicorn"
    assert fault_of(lambda: wishes_from_tables(tables, "the form")).place == Place("the form", None, "item 2: cut")


def test_names_in_any_spelling() -> None:
    known = KnownNames.from_catalog()
    assert known.cut("ST. LOUIS_ribs") == known.cut("st louis ribs") == "st-louis-ribs"
    plan = DAY.replace("pieces = 3\nput_on", 'pieces = 3\nweight = "2 lb"\npit = "BIG BOX"\nput_on')
    plan = plan.replace('price = "4.99 / lb"\n', 'weight = "2 lb"\n').replace('grate_area = "400 sq in"\n', "")
    assert {item.pit for item in cook_from_text(plan, "plan").items} == {"big box"}
