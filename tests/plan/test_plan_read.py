"""A cook file that asks for a day: what it means, and one clear message with its line for everything that is wrong."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pitreckon.errors import InputError
from pitreckon.plan.read import asks_for_a_plan, wishes_from_text
from pitreckon.units import parse_area, parse_price

TEXT = """[cook]
name = "harvest supper"
zone = "America/Chicago"
serve = "2026-10-10 18:00"
chance = "80 %"
earliest = "2026-10-10 06:00"

[guests]
adults = 10
children = 4
leftovers = "10 %"
sides = "many"

[hands]
cooks = 2

[[hands.away]]
from = "13:00"
until = "15:00"

[[pit]]
name = "big box"
kind = "pellet-cooker"
set = ["250 F", "275 F", "250 F"]
grates = 3

[[item]]
name = "racks"
cut = "st-louis-ribs"
pits = ["Big Box"]
wrapping = "either"
longest_hold = "5h"
price = "4.99 / lb"

[[item]]
name = "butt"
cut = "boston-butt"
share = 0.5
state = "frozen"
longest_hold = "none"
"""


def test_what_it_means() -> None:
    wishes = wishes_from_text(TEXT, "supper.toml")
    assert wishes.serve_utc == datetime(2026, 10, 10, 23, tzinfo=UTC)
    assert wishes.chance == 0.8
    assert wishes.guests is not None
    assert (wishes.guests.count, wishes.guests.sides) == (14, "many")
    (away,) = wishes.hands.away
    assert (away.from_utc, away.until_utc) == (
        datetime(2026, 10, 10, 18, tzinfo=UTC),
        datetime(2026, 10, 10, 20, tzinfo=UTC),
    )
    assert wishes.pits[0].sets_c == pytest.approx((121.11, 135.0), abs=0.01)
    racks, butt = wishes.items
    assert racks.pits == ("big box",)
    assert racks.price_per_kg == pytest.approx(11.0, abs=0.01)
    assert butt.most_hold_s == 0.0
    assert butt.state == "frozen"


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('chance = "80 %"', 'chance = "100 %"', 5, "chance"),
        ("adults = 10", "adults = -1", 9, "adults is -1"),
        ("adults = 10", 'adults = "ten"', 9, "not a whole number"),
        ('sides = "many"', 'sides = "heaps"', 12, "heaps"),
        ("cooks = 2", "cooks = 0", 15, "cooks is 0"),
        ('until = "15:00"', 'until = "late"', 19, "late"),
        ('"275 F", "250 F"]', '"hot"]', 24, "hot"),
        ("grates = 3", "grates = 99", 25, "grates is 99"),
        ('pits = ["Big Box"]', 'pits = ["small box"]', 30, "small box"),
        ('wrapping = "either"', 'wrapping = "maybe"', 31, "maybe"),
        ('longest_hold = "5h"', 'longest_hold = "50h"', 32, "longest_hold"),
        ('price = "4.99 / lb"', 'price = "cheap"', 33, "cheap"),
        ("share = 0.5", "share = 0", 38, "share"),
        ("share = 0.5", "shares = 0.5", 38, "shares"),
    ],
)
def test_each_fault_names_its_line(old: str, new: str, line: int, says: str) -> None:
    with pytest.raises(InputError) as refused:
        wishes_from_text(TEXT.replace(old, new), "supper.toml")
    assert says in str(refused.value)
    assert refused.value.place is not None
    assert refused.value.place.line == line
    assert refused.value.remedy


def test_what_asks_for_a_plan_and_what_does_not() -> None:
    assert asks_for_a_plan(TEXT, "x")
    planned = '[cook]\nname="x"\n[[pit]]\nset="250 F"\n[[item]]\nput_on="2026-10-10 08:00"\n'
    assert not asks_for_a_plan(planned, "x")
    assert asks_for_a_plan(planned.replace('set="250 F"', 'set=["250 F"]'), "x")
    assert asks_for_a_plan(planned.replace('put_on="2026-10-10 08:00"', "pieces=3"), "x")


def test_areas_and_prices() -> None:
    assert parse_area("2 sq ft") == pytest.approx(0.1858, abs=1e-4)
    assert parse_price("11 / kg") == 11.0
    for odd in ("", "x", "3 apples", "-1 m2"):
        with pytest.raises(InputError):
            parse_area(odd)
    for odd in ("", "free", "3", "3 / stone"):
        with pytest.raises(InputError):
            parse_price(odd)
