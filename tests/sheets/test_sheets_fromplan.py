"""What a plan has found, in the words of a sheet."""

from __future__ import annotations

from tests.sheets.paper import MADE, ZONE, cook, minutes, outlook

from pitreckon.plan.buying.shopping import Shopping, ShoppingLine
from pitreckon.plan.fuel.use import FuelUse
from pitreckon.plan.prep.chores import Chore
from pitreckon.plan.space.layout import GrateLayout, Lie, Room
from pitreckon.reckon import Quantiles
from pitreckon.sheets.documents.fromplan import fuel_lines, jobs_of, room_lines, shopping_lines
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Line
from pitreckon.sheets.reader import Reader

US, METRIC = Reader(ZONE), Reader(ZONE, "C", "kg")
USE = FuelUse(
    "big box", "pellets", Quantiles(0.8, 1.0, 1.3, 1.0), Quantiles(6.0, 7.0, 9.0, 1.0), Quantiles(0, 0, 0, 1), 4.5,
    ((14400.0, 2.25),), 16200.0, None, {"walls": 1.0}, "",
)  # fmt: skip


def test_the_shopping_list_has_its_headings() -> None:
    meat = ShoppingLine("meat", "St. Louis ribs", 9.0, "kg", "90 % sure", 7, 1.1, 1.4, 84.5)
    foil = ShoppingLine("wraps", "foil", 7.05, "m", "for racks")
    trays = ShoppingLine("wraps", "tray", 3.0, "pieces", "for butt")
    shopping = Shopping((meat, foil, trays), "USD", 84.5, ())
    assert shopping_lines(shopping, METRIC) == {
        "Meat": (Line("St. Louis ribs", "7 of 1.1 kg to 1.4 kg, 9 kg in all, 84.50", "90 % sure"),),
        "Wraps": (Line("foil", "8 m", "for racks"), Line("tray", "3 pieces", "for butt")),
    }
    assert shopping_lines(shopping, US)["Wraps"][0].amount == "24 ft"  # 7.05 m are 23.1 ft


def test_a_chore_takes_hands_at_its_beginning() -> None:
    thaw = Chore("racks", "thaw", "into the refrigerator", minutes(-2880), minutes(-60), 300.0, "two days", 0.0, 4)
    rub = Chore("racks", "season", "rub", minutes(-50), minutes(-20), 1800.0, "within the hour", 1800.0, 4)
    first, second = jobs_of((thaw, rub), US)
    assert (first.at_utc, first.until_utc) == (minutes(-2880), minutes(-2875))
    assert first.note == "until Sat 11:00; two days"
    assert (second.until_utc, second.note) == (minutes(-20), "within the hour")
    rows = list(run_sheet(cook(), outlook(), chores=(first, second), made_utc=MADE).rows())
    assert [r.key for r in rows[:2]] == ["job/racks/thaw", "job/racks/season"]
    assert rows[0].free_until_utc == minutes(-50)


def test_fuel_is_bought_for_the_worse_days_and_added_on_time() -> None:
    (line,) = fuel_lines((USE,), METRIC)
    assert line.what.startswith("big box: ")
    assert (line.amount, line.why) == ("9 kg", "about 1 kg an hour; fill in 4.5 kg first; one fill lasts 4 h 30 min")


def test_who_lies_where() -> None:
    grates = (
        GrateLayout(1, 0.3, 0.2, (Lie("racks", 3, "by the fire", 8.0), Lie("racks", 1, "", 0.0))),
        GrateLayout(2, 0.3, 0.0, ()),
    )
    room = Room("big box", False, 1.1, 0.4, 0.3, grates, (("butt", 1),), False, "too little", "One more pit", ())
    assert room_lines((room,), METRIC) == (
        Line("big box, grate 1 from the top", "racks ×3 by the fire (+8 °C); racks ×1"),
        Line("big box: no room", "butt ×1", "One more pit"),
    )
