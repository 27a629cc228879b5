"""The table of practice and its deal: whole, readable, dealt as committed, and the halves do not touch."""

from __future__ import annotations

from collections import Counter

import pytest
from validation.practice import adapter, deal, table
from validation.practice.score import Scored

from pitreckon import catalog

COMING = (
    "whole-chicken",
    "spatchcocked-chicken",
    "whole-turkey",
    "turkey-leg",
    "chuck-roast",
    "tri-tip",
    "pork-belly",
    "lamb-shoulder",
    "leg-of-lamb",
    "thick-pork-chop",
    "sausage",
    "salmon-side",
)
SETUPS, ROWS = table.setups(), table.rows()


def test_the_table_covers_the_trade():
    assert len(ROWS) >= 140
    names = {setup.cut: adapter.key_of("cut", setup.cut) for setup in SETUPS.values()}
    by_cut = Counter(name for row in ROWS for name in {SETUPS[row.setup].cut, names[SETUPS[row.setup].cut]})
    short = [cut for cut in {*catalog.cuts(), *COMING} if by_cut[cut] < 2]
    assert not short, f"fewer than two rows: {short}"
    assert len({SETUPS[row.setup].pit for row in ROWS}) >= 5
    assert {225.0, 250.0, 275.0, 300.0} <= {setup.gauge_f for setup in SETUPS.values()}
    assert {"bare", "foil", "paper"} <= {stretch.state for setup in SETUPS.values() for stretch in setup.course}
    assert sum(bool(row.sign) for row in ROWS) >= 15


def test_every_row_has_two_ends_and_says_where_it_is_from():
    for row in ROWS:
        assert row.bounded, row.key
        assert row.width == "nine in ten", row.key
        assert row.source == "common practice, no source", row.key
        assert row.note or row.status != "conflict", row.key


def test_a_band_holds_its_own_sign():
    """A band that lies on one side of nothing at all has that side as its sign, or none."""
    for row in (row for row in ROWS if row.sign and row.form != "value"):
        middle = 0.5 * (row.low + row.high)
        assert Scored(row, middle).sign_right, row.key


HEAD = "id,cut,mass_lb,thin,start_f,altitude_m,pit,gauge_f,pan,sugar,course,hours\n"
GOOD = "a,boston-butt,8,1,39,0,pellet-cooker,250,no,some,bare until 165 F; foil until tender,20\n"
ROW_HEAD = "id,setup,quantity,form,against,low,high,unit,sign,width,status,source,note\n"
GOOD_ROW = "r,a,time_to 165F,value,,4,6,h,,nine in ten,practice,mine,\n"


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (GOOD.replace(",8,", ",eight,"), "line 2: column mass_lb"),
        (GOOD.replace("foil until tender", "foil till tender"), "line 2: column course"),
        (GOOD.replace("foil until", "towel until"), "line 2: column course"),
        (GOOD.replace(",no,", ",maybe,"), "line 2: column pan"),
        (GOOD.replace(",20", ""), "line 2: the line has not 12 cells"),
        (GOOD + GOOD, "line 3: column id: 'a' is there twice"),
    ],
)
def test_a_faulty_set_up_is_named(tmp_path, line, says):
    path = tmp_path / "setups.csv"
    path.write_text(HEAD + line, "utf-8")
    with pytest.raises(table.TableError, match=says):
        table.setups(path)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (GOOD_ROW.replace(",4,6,", ",6,4,"), "columns low, high: 6 is not below 4"),
        (GOOD_ROW.replace("r,a,", "r,b,"), "there is no set-up 'b'"),
        (GOOD_ROW.replace("value,,", "ratio,,"), "column against"),
        (GOOD_ROW.replace(",h,", ",hours,"), "column unit: 'hours' is unknown"),
        (GOOD_ROW.replace("mine", ""), "column source is empty"),
        (GOOD_ROW + GOOD_ROW, "line 3: column id: 'r' is there twice"),
    ],
)
def test_a_faulty_row_is_named(tmp_path, line, says):
    of, path = tmp_path / "setups.csv", tmp_path / "rows.csv"
    of.write_text(HEAD + GOOD, "utf-8")
    path.write_text(ROW_HEAD + line, "utf-8")
    with pytest.raises(table.TableError, match=says):
        table.rows(path, of)


def test_the_committed_deal_is_the_one_that_the_seed_gives():
    assert set(deal.dealt()) == set(deal.SPLITS)
    for split, halves in deal.dealt().items():
        assert halves == deal.deal(ROWS, SETUPS, f"{deal.SEED} {split}")


def test_the_deal_does_not_depend_on_the_order_of_the_rows():
    again = deal.deal(tuple(reversed(ROWS)), SETUPS, f"{deal.SEED} half")
    assert again == deal.dealt()["half"]
    assert deal.deal(ROWS, SETUPS, "another seed") != again


@pytest.mark.parametrize("split", deal.SPLITS)
def test_the_fit_never_runs_a_cook_of_the_test_half(split):
    halves = deal.dealt()[split]
    fitted = {key for row in ROWS if halves[row.key] == "fit" for key in row.setups}
    alone = {row.setup for row in ROWS if halves[row.key] == "test" and row.form == "value"}
    assert not fitted & alone


@pytest.mark.parametrize("split", deal.SPLITS)
def test_the_halves_are_halves_in_every_cut(split):
    halves = deal.dealt()[split]
    count = Counter(halves.values())
    assert 0.4 < count["fit"] / len(ROWS) < 0.6
    sides: dict[str, set[str]] = {}
    for row in ROWS:
        if row.form == "value":
            sides.setdefault(SETUPS[row.setup].cut, set()).add(halves[row.key])
    assert all(side == {"fit", "test"} for side in sides.values()), sides
