"""How cuts are bought, what people eat, and the kitchen: sources, and agreement with tables outside the project."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pitreckon import catalog
from pitreckon.catalog import figures
from pitreckon.catalog.buying import Buying, all_buying, before_fire, buying, portions
from pitreckon.catalog.shelf import OWN_DATA
from pitreckon.errors import InputError
from pitreckon.plan.buying.yields import usual_loss

POUND_KG = 0.45359237


def served_share(buy: Buying) -> float:
    """Share of a piece, as it goes on, that is on the table with its bone, from the catalog's means alone."""
    return 1.0 - buy.water_share.value - buy.beyond_water_share.value


def planned_share(buy: Buying) -> float:
    """Share of a piece, as it goes on, that is eaten, from the catalog's means alone."""
    return served_share(buy) - buy.not_eaten_share.value


def test_every_cut_says_how_it_is_bought() -> None:
    assert set(all_buying()) == {*catalog.cuts(), "other"}
    assert buying("nothing-of-the-kind").key == "other"


def test_every_number_has_its_source() -> None:
    for entry in (*all_buying().values(), portions(), before_fire()):
        held = list(figures(entry))
        assert held, entry.key
        for name, figure in held:
            assert figure.source, f"{entry.key}.{name}"
            if figure.source.startswith("common practice"):
                assert figure.source == "common practice, no source"


# USDA Table of Cooking Yields 2014 (seen second-hand), cooked over raw weight, bone in, in %; and edible cooked
# over raw by protein in USDA SR28 pairs. These stop between 145 and 185 F. Meat that is cooked to 195-205 F goes on
# losing water for hours and renders fat, so barbecue is to lie below them, and by no more than that loss explains.
ROASTED = {"spareribs": 76, "back-ribs": 82}
EDIBLE = {
    "spareribs": 51.8, "back-ribs": 52.2, "boston-butt": 55.3, "brisket-whole": 70.5, "brisket-flat": 61.6,
    "brisket-point": 71.6, "beef-back-ribs": 32.0, "chicken-half": 46.3, "turkey-breast": 64.9, "pork-loin": 75.0,
    "beef-plate-ribs": 48.7, "chicken-whole": 46.3, "chicken-spatchcocked": 46.3, "turkey-whole": 53.8,
    "turkey-leg": 58.2, "chuck-roast": 64.1, "tri-tip": 82.3, "lamb-shoulder": 45.2, "lamb-leg": 55.0,
    "pork-chop": 54.8, "sausage": 80.0, "salmon-side": 92.4,
}  # fmt: skip


@pytest.mark.parametrize(("key", "roasted"), ROASTED.items())
def test_on_the_table_with_bones_is_below_the_usda_roast(key: str, roasted: float) -> None:
    assert roasted - 15 <= 100 * served_share(buying(key)) <= roasted


@pytest.mark.parametrize("key", ["spareribs", "back-ribs", "boston-butt", "brisket-whole", "brisket-flat",
                                 "brisket-point", "beef-back-ribs", "chuck-roast", "lamb-shoulder"])  # fmt: skip
def test_tender_cuts_yield_less_than_the_tables_for_tenderless_cooking(key: str) -> None:
    assert EDIBLE[key] - 20 <= 100 * planned_share(buying(key)) <= EDIBLE[key]


@pytest.mark.parametrize("key", ["chicken-half", "turkey-breast", "pork-loin", "beef-plate-ribs", "chicken-whole",
                                 "turkey-whole", "turkey-leg", "tri-tip", "lamb-leg", "pork-chop",
                                 "sausage"])  # fmt: skip
def test_cuts_near_the_tables_temperatures_yield_as_they_do(key: str) -> None:
    # cooked as far as in the tables
    assert 100 * planned_share(buying(key)) == pytest.approx(EDIBLE[key], abs=5)


def test_the_new_cuts_where_a_table_is_far_from_the_pit() -> None:
    # salmon: SR28's pair lost 8 % in a quick oven; an hour and more over a fire dries it more, but not by a quarter
    assert EDIBLE["salmon-side"] - 20 <= 100 * planned_share(buying("salmon-side")) < EDIBLE["salmon-side"]
    # a spatchcocked bird and a whole one come to the same plate, per pound that is bought
    whole, flat = buying("chicken-whole"), buying("chicken-spatchcocked")
    of_bought = [planned_share(each) * (1 - each.trim_share.value) for each in (whole, flat)]
    assert of_bought[0] == pytest.approx(of_bought[1], abs=0.02)
    # common practice, no source: half of a whole turkey is eaten
    assert planned_share(buying("turkey-whole")) == pytest.approx(0.5, abs=0.04)
    # Lowe B., four legs of lamb: 26 lb 11 oz raw, 18 lb 13 oz roasted to 79 C, 28 % lost; ours stop at 63 C
    assert 0.72 <= served_share(buying("lamb-leg")) <= 0.82
    # common practice, no source: belly cooked tender weighs 55 to 70 % of what it did
    assert 0.55 <= served_share(buying("pork-belly")) <= 0.70


def test_a_rack_as_served() -> None:
    # three weighed racks, lb raw to cooked: 2.69 to 1.87, 2.67 to 1.84, 2.69 to 1.92 (a trade page, common practice)
    weighed = [1.87 / 2.69, 1.84 / 2.67, 1.92 / 2.69]
    assert min(weighed) - 0.02 <= served_share(buying("st-louis-ribs")) <= max(weighed) + 0.02


def test_smoked_brisket() -> None:
    # Kerth et al., smoked whole briskets, open to the end: 59.3 % are left (85 C + 3 h), 56.0 % (90 C + 3 h); SR28's
    # pair of briskets braised under a lid: 71.3 %. Ours is open to 165 F and in paper from there on, so it lies between
    # them; in Kerth's own cook the model leaves what they found (validation/README.md, within 2 points)
    assert 0.593 <= served_share(buying("brisket-whole")) <= 0.713
    # of what is bought, with the fat that is trimmed off: 50 % (40-60), common practice
    each = buying("brisket-whole")
    assert planned_share(each) * (1 - each.trim_share.value) == pytest.approx(0.50, abs=0.05)


# What a whole piece loses in all [-]: three weighed racks (common practice); Natick's boneless yield less the bone;
# else SR28 pairs with their protein conserved, bone in as the cut's file has it (tri-tip, loin: USDA yields of 2014)
LOST = {
    "st-louis-ribs": 0.301, "spareribs": 1 - 0.466 - 0.243, "brisket-flat": 0.99 * (1 - 0.622),
    "chicken-half": 0.68 * (1 - 0.681), "chicken-whole": 0.68 * (1 - 0.681), "chicken-spatchcocked": 0.68 * (1 - 0.681),
    "turkey-whole": 0.71 * (1 - 0.758), "turkey-breast": 0.86 * (1 - 0.754), "turkey-leg": 0.83 * (1 - 0.701),
    "chuck-roast": 1 - 0.641, "lamb-shoulder": 0.78 * (1 - 0.579), "lamb-leg": 0.78 * (1 - 0.705),
    "pork-chop": 0.78 * (1 - 0.830), "pork-loin": 1 - (0.75 + 0.815) / 2, "tri-tip": 1 - 0.84,
}  # fmt: skip


@pytest.mark.parametrize("key", LOST)
def test_a_piece_loses_in_all_what_scales_and_tables_say(key: str) -> None:
    assert 1.0 - served_share(buying(key)) == pytest.approx(LOST[key], abs=0.02)


@pytest.mark.kernel
@pytest.mark.parametrize("key", sorted(catalog.cuts()))
def test_the_water_of_a_buying_file_is_the_model_s(key: str) -> None:
    """So that a plan does not change when the model is run for it; ``scripts/make_losses.py`` writes it anew."""
    lost, each = np.array(usual_loss(key)), buying(key).water_share
    assert each.value == pytest.approx(lost.mean(), abs=0.005)
    assert each.sd == pytest.approx(lost.std(ddof=1), abs=0.005)


def test_spareribs_without_bone() -> None:
    # U.S. Army Natick 1972: boneless cooked meat 46.6 % of the raw rack, of 3 lb
    assert planned_share(buying("spareribs")) == pytest.approx(0.466, abs=0.03)


def test_legal_ceiling_of_barbecue() -> None:
    # 9 CFR 319.80: barbecued meat weighs at most 70 % of the fresh meat; here as served, large cuts done tender
    for key in ("boston-butt", "brisket-whole", "brisket-flat", "brisket-point"):
        assert served_share(buying(key)) <= 0.70


# IMPS weight ranges [lb], all from memory: the whole of the ranges that a pit would see
IMPS = {"spareribs": (2.5, 5.5), "st-louis-ribs": (2, 3), "back-ribs": (1.5, 2.25), "boston-butt": (4, 12),
        "brisket-whole": (12, 18), "brisket-flat": (4, 8), "beef-plate-ribs": (3, 6)}  # fmt: skip


@pytest.mark.parametrize(("key", "range_lb"), IMPS.items())
def test_pieces_lie_in_their_imps_range(key: str, range_lb: tuple[float, float]) -> None:
    each = buying(key)
    low, high = range_lb
    assert low * POUND_KG * 0.999 <= each.piece_low_kg.value < each.piece_high_kg.value <= high * POUND_KG * 1.001
    # what goes on is about the piece that the cut's own file describes
    on_kg = (each.piece_low_kg.value + each.piece_high_kg.value) / 2 * (1 - each.trim_share.value)
    assert on_kg == pytest.approx(catalog.cut(key).shape.mass_kg.value, rel=0.12)


# people that a piece feeds: St. Louis 1/3 rack, back ribs 1/2 rack, 2 thighs (common practice); 0.8 lb raw spareribs
@pytest.mark.parametrize(("key", "people"), [("st-louis-ribs", 3.0), ("back-ribs", 2.0), ("chicken-thigh", 0.5),
                                             ("spareribs", 4.0 / 0.8)])  # fmt: skip
def test_pieces_feed_about_as_many_as_the_trade_says(key: str, people: float) -> None:
    each = buying(key)
    bought_kg = (each.piece_low_kg.value + each.piece_high_kg.value) / 2
    edible_kg = bought_kg * (1 - each.trim_share.value) * planned_share(each)
    assert edible_kg / portions().adult_kg.value == pytest.approx(people, rel=0.25)


NEW = ("chicken-whole", "chicken-spatchcocked", "turkey-whole", "turkey-leg", "chuck-roast", "tri-tip", "pork-belly",
       "lamb-shoulder", "lamb-leg", "pork-chop", "sausage", "salmon-side")  # fmt: skip


@pytest.mark.parametrize("key", NEW)
def test_what_goes_on_is_the_piece_that_the_cut_describes(key: str) -> None:
    each = buying(key)
    on_kg = (each.piece_low_kg.value + each.piece_high_kg.value) / 2 * (1 - each.trim_share.value)
    assert on_kg == pytest.approx(catalog.cut(key).shape.mass_kg.value, rel=0.03)


def test_official_numbers() -> None:
    # MSU E3259: 24 h per 5 lb in the refrigerator, 30 min per lb in water; USDA: 2 h, 1 h above 90 F, 40 F
    room = before_fire()
    assert room.fridge_s_per_kg.value * 5 * POUND_KG == pytest.approx(86400.0, rel=1e-4)
    assert room.water_s_per_kg.value * POUND_KG == pytest.approx(1800.0, rel=1e-3)
    assert (room.out_s.value, room.out_hot_s.value) == (7200.0, 3600.0)
    assert room.hot_air_c.value == pytest.approx((90 - 32) / 1.8, abs=0.05)
    assert room.fridge_c.value <= (40 - 32) / 1.8


def test_the_user_s_own_portions(tmp_path: Path) -> None:
    (tmp_path / "portions").mkdir()
    text = (OWN_DATA / "portions" / "usual.toml").read_text()
    (tmp_path / "portions" / "usual.toml").write_text(text.replace("value = 0.1512", "value = 0.2"))
    assert portions(tmp_path).adult_kg.value == 0.2


def test_a_bad_file_is_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "buying").mkdir()
    text = (OWN_DATA / "buying" / "back-ribs.toml").read_text()
    (tmp_path / "buying" / "back-ribs.toml").write_text(text.replace("value = 1.021", "value = 0.2"))
    with pytest.raises(InputError) as caught:
        buying("back-ribs", tmp_path)
    assert caught.value.place.field == "piece_high_kg"
    assert str(caught.value.place.file).endswith("back-ribs.toml")
