"""The shopping list: only what follows from numbers, and all of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from pitreckon import catalog
from pitreckon.catalog.buying import before_fire
from pitreckon.cook import StagePlan, Until
from pitreckon.plan.buying.quantities import quantities
from pitreckon.plan.buying.shopping import GROUPS, sheet_m, shopping
from pitreckon.plan.wishes import Guests, ItemWish, PitWish, Wishes

RACKS = ItemWish("racks", "st-louis-ribs", price_per_kg=9.0, salt_g_per_kg=12.0)
BUTT = ItemWish("butt", "boston-butt", wrapping="without")


def wishes(*items: ItemWish) -> Wishes:
    pit = PitWish("pit", "pellet-cooker", (121.1,))
    serve = datetime(2026, 10, 10, 23, tzinfo=UTC)
    return Wishes("supper", "America/Chicago", serve, (pit,), items, guests=Guests(24), currency="EUR")


def test_the_list_adds_up() -> None:
    asked = wishes(RACKS, BUTT)
    amounts = quantities(asked)
    bought = shopping(asked, amounts)
    racks, butt = amounts.items
    assert {line.group for line in bought.lines} <= set(GROUPS)
    meat = bought.of("meat")
    assert [line.pieces for line in meat] == [racks.pieces, butt.pieces]
    assert sum(line.amount for line in meat) == pytest.approx(racks.bought_kg + butt.bought_kg)
    for line in meat:
        assert line.low_kg * line.pieces <= line.amount <= line.high_kg * line.pieces
    assert (meat[0].price, bought.price, bought.unpriced, bought.currency) == (
        racks.price,
        racks.price,
        ("butt",),
        "EUR",
    )
    salt = bought.of("rub")[0]
    usual = before_fire().salt_g_per_kg.value
    assert salt.amount == pytest.approx((racks.on_kg * 12.0 + butt.on_kg * usual) / 1000.0)
    # a rack in foil, twice round: common practice is about 4 ft of an 18 in roll a rack, in two sheets
    (foil,) = bought.of("wraps")
    assert foil.unit == "m"
    assert foil.amount / racks.pieces == pytest.approx(2 * 4 * 0.3048 / 2, rel=0.4)
    # 70 g of glaze on a rack, common practice
    (glaze,) = bought.of("glaze")
    assert glaze.amount / racks.pieces == pytest.approx(0.070, rel=0.1)


def test_wraps_follow_the_wish() -> None:
    either = wishes(replace(BUTT, wrapping="either", wrap="paper"))
    assert [line.what for line in shopping(either, quantities(either)).of("wraps")] == ["Uncoated paper"]
    without = wishes(BUTT)
    assert shopping(without, quantities(without)).of("wraps") == ()
    tray = wishes(replace(BUTT, wrapping="with", wrap="tray", pieces=3))
    (line,) = shopping(tray, quantities(tray)).of("wraps")
    assert (line.amount, line.unit) == (3, "pieces")


def test_an_item_s_own_course_counts() -> None:
    minutes = Until("minutes", 3600.0)
    own = (
        StagePlan("open", minutes),
        StagePlan("wrapped", minutes, wrap="foil"),
        StagePlan("sauced", minutes, glaze_kg=0.1),
    )
    asked = wishes(replace(RACKS, stages=own, pieces=4, salt_g_per_kg=0.0))
    bought = shopping(asked, quantities(asked))
    assert bought.of("glaze")[0].amount == pytest.approx(0.4)
    assert [line.what for line in bought.of("rub")] == ["The rest of the rub"]
    plain = wishes(replace(RACKS, stages=own[:1], pieces=4))
    bought = shopping(plain, quantities(plain))
    assert bought.of("glaze") == bought.of("wraps") == ()


def test_a_long_piece_takes_sheets_side_by_side() -> None:
    kitchen, brisket = before_fire(), catalog.cut("brisket-whole")
    # twice the girth of a brisket 0.25 m wide with folds, each from two widths of a roll of 45 cm
    thick = brisket.shape.thickness_m.value
    assert sheet_m(brisket, 5.9, kitchen) == pytest.approx(2 * 2 * (2 * (thick + 0.25) + 0.15))
    assert sheet_m(brisket, 3.0, kitchen) < sheet_m(brisket, 5.9, kitchen) / 2
