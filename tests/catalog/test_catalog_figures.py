"""Every number of the shipped catalog: that it has a source, and that it agrees with what the source says."""

from __future__ import annotations

import csv
import math
import re
import tomllib
from pathlib import Path
from typing import Any

import ht
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from tests.oracles.convection import convection_mixed_cylinder

from pitreckon import catalog
from pitreckon.catalog.shelf import OWN_DATA, plain

HERE = Path(__file__).parent
CUTS = catalog.cuts()
PITS = catalog.pits()
ANIMALS = catalog.animals()
SHELVES = {
    "animals": ANIMALS, "cuts": CUTS, "pits": PITS, "wraps": catalog.wraps(), "fuels": catalog.fuels(),
}  # fmt: skip
ENTRIES = [(folder, key) for folder, shelf in SHELVES.items() for key in shelf]
SET_PHRASES = ("common practice, no source", "from memory", "fitted, see validation/README.md", "computed: ")


def sr28_rows() -> dict[str, dict[str, str]]:
    lines = (HERE / "data" / "sr28_rows.csv").read_text().splitlines()
    return {row["ndb"]: row for row in csv.DictReader(line for line in lines if not line.startswith("#"))}


def numbers_in(table: dict[str, Any]) -> int:
    """Numbers in a raw file, an inline table with a value counting as one."""
    if "value" in table:
        return 1
    found = 0
    for held in table.values():
        parts = held if isinstance(held, list) else [held]
        found += sum(numbers_in(part) for part in parts if isinstance(part, dict))
        found += isinstance(held, int | float) and not isinstance(held, bool)
    return found


def test_the_issue_s_cuts_pits_wraps_and_fuels_are_there() -> None:
    assert set(CUTS) == {
        "spareribs", "st-louis-ribs", "back-ribs", "country-style-ribs", "boston-butt", "brisket-whole",
        "brisket-flat", "brisket-point", "beef-plate-ribs", "beef-back-ribs", "chicken-half", "chicken-thigh",
        "chicken-wing", "turkey-breast", "pork-loin",
        "chicken-whole", "chicken-spatchcocked", "turkey-whole", "turkey-leg", "chuck-roast", "tri-tip", "pork-belly",
        "lamb-shoulder", "lamb-leg", "pork-chop", "sausage", "salmon-side",
    }  # fmt: skip
    assert set(PITS) == {
        "pellet-cooker", "offset-log-burner", "kettle", "upright-drum", "ceramic", "insulated-cabinet",
        "water-smoker", "oven", "gas-cooker", "electric-cabinet", "banked-grill",
    }  # fmt: skip
    assert set(ANIMALS) == {"pork", "beef", "lamb", "chicken", "turkey", "duck", "goose", "fish"}
    assert set(SHELVES["wraps"]) == {"foil", "paper", "tray", "insulated-box"}
    assert set(SHELVES["fuels"]) == {
        "pellets", "split-hardwood", "lump-charcoal", "briquettes", "gas", "electric",
    }  # fmt: skip


@pytest.mark.parametrize(("folder", "key"), ENTRIES)
def test_every_number_in_the_file_is_a_figure_with_a_source(folder: str, key: str) -> None:
    held = list(catalog.figures(SHELVES[folder][key]))
    raw = tomllib.loads((OWN_DATA / folder / f"{key}.toml").read_text())
    assert len(held) == numbers_in(raw) > 0
    for name, figure in held:
        assert math.isfinite(figure.value), name
        cited = re.search(r"\d|USDA|FSIS|firewood", figure.source) is not None
        assert figure.source.startswith(SET_PHRASES) or cited, (name, figure.source)


def test_spellings_are_told_apart() -> None:
    for folder, shelf in SHELVES.items():
        assert shelf, folder
        seen: dict[str, str] = {}
        for entry in shelf.values():
            for spelling in {plain(each) for each in (entry.key, entry.name, *entry.also)}:
                assert spelling not in seen, (folder, spelling, seen[spelling], entry.key)
                seen[spelling] = entry.key


@pytest.mark.parametrize("key", CUTS)
def test_composition_is_the_row_that_the_source_names(key: str) -> None:
    """USDA SR28, tests/catalog/data/sr28_rows.csv."""
    rows = sr28_rows()
    composition = CUTS[key].composition
    for part in ("water", "protein", "fat", "ash"):
        figure = getattr(composition, part)
        found = re.match(r"USDA SR28 NDB (\d{5})", figure.source)
        assert found, figure.source
        assert figure.value == pytest.approx(float(rows[found[1]][f"{part}_g"]) / 100, abs=1e-9)


@pytest.mark.parametrize("key", CUTS)
def test_bone_share_is_what_the_refuse_column_prints(key: str) -> None:
    """USDA SR28: the bone's percentage where the row parts it from other refuse, else the whole refuse."""
    figure = CUTS[key].composition.bone_fraction
    found = re.match(r"USDA SR28 NDB (\d{5})", figure.source)
    if found is None:
        assert key in {"pork-loin", "chuck-roast", "pork-belly", "salmon-side"}
        assert figure.value == 0.0
        return
    row = sr28_rows()[found[1]]
    printed = re.search(r"[Bb]one(?: and (?:cartilage|connective tissue))? (\d+)%", row["refuse"])
    percent = float(printed[1]) if printed else float(row["refuse_pct"])
    if percent == 1.0:  # a brisket's and a tri-tip's 1 % is connective tissue
        percent = 0.0
    assert figure.value == pytest.approx(percent / 100)


@pytest.mark.parametrize("key", CUTS)
def test_lengths_make_the_mass(key: str) -> None:
    shape = CUTS[key].shape
    assert shape.volume_m3 * 1050 == pytest.approx(shape.mass_kg.value, rel=0.10)


def test_thick_places_are_as_thick_as_the_trade_has_them() -> None:
    """Inches over a ruler, common practice, no source: brisket where point and flat overlap 3 to 3 1/2, flat 1 1/2 to
    2 1/4, butt 4 to 5, plate ribs 2 to 3, spareribs 1 1/8 to 1 1/2, turkey breast 3 1/2 to 4 1/2, chop 1 1/2."""
    for key, low, high in (
        *(("brisket-whole", 3.0, 3.5), ("brisket-flat", 1.5, 2.25), ("boston-butt", 4.0, 5.0)),
        *(("beef-plate-ribs", 2.0, 3.0), ("st-louis-ribs", 1.125, 1.5), ("spareribs", 1.125, 1.5)),
        *(("turkey-breast", 3.5, 4.5), ("pork-chop", 1.25, 1.75), ("chuck-roast", 2.0, 3.0)),
    ):
        shape = CUTS[key].shape
        thick = shape.height_m if isinstance(shape, catalog.Drum) else shape.thickness_m  # type: ignore[union-attr]
        assert low * 0.0254 <= thick.value <= high * 0.0254, key


@pytest.mark.parametrize("key", [key for key, cut in CUTS.items() if isinstance(cut.shape, catalog.Rack)])
def test_the_drawn_bone_weighs_about_what_the_refuse_column_says(key: str) -> None:
    """Rib bone 1600 kg/m3 (marrow and cortical, cortical 1700-2000 in NBS Handbook 85), meat 1050."""
    cut = CUTS[key]
    assert isinstance(cut.shape, catalog.Rack)
    rib = cut.shape
    drawn_m2 = math.pi * rib.bone_half_width_m.value * rib.bone_half_height_m.value
    bone = drawn_m2 / (rib.bone_spacing_m.value * rib.thickness_m.value)
    share = 1600 * bone / (1600 * bone + 1050 * (1 - bone))
    # the refuse column also holds cartilage and sinew: the drawn bone may be lighter, not much heavier
    assert 0.6 * cut.composition.bone_fraction.value < share < 1.1 * cut.composition.bone_fraction.value


def test_a_rack_weighs_what_three_weighed_racks_did() -> None:
    """Three St. Louis racks on one cook's scale: 2.69, 2.67 and 2.69 lb raw."""
    mean_kg = (2.69 + 2.67 + 2.69) / 3 * 0.45359237
    assert CUTS["st-louis-ribs"].shape.mass_kg.value == pytest.approx(mean_kg, rel=0.01)


def test_scale_is_the_cube_root_of_the_mass() -> None:
    butt = CUTS["boston-butt"]
    assert butt.scale(8 * butt.shape.mass_kg.value) == pytest.approx(2.0)


@pytest.mark.parametrize("key", CUTS)
def test_least_core_temperature_is_the_agency_s(key: str) -> None:
    """FSIS safe minimum internal temperature chart, 14 Apr 2025: whole cuts 145 F and 3 min rest, ground meat 160 F,
    poultry 165 F, fish 145 F."""
    cut = CUTS[key]
    poultry = cut.animal in {"chicken", "turkey"}
    fahrenheit, rest_s = {"sausage": (160, 0), "salmon-side": (145, 0)}.get(key, (165, 0) if poultry else (145, 180))
    assert cut.kind == {160: "ground", 165: "poultry"}.get(fahrenheit, "intact")
    assert cut.texture.least_core_c.value == pytest.approx((fahrenheit - 32) / 1.8, abs=0.05)
    assert cut.texture.least_rest_s.value == rest_s


@pytest.mark.parametrize("key", CUTS)
def test_a_course_ends_with_the_meat_done(key: str) -> None:
    """A course that goes by core temperature goes at least to the official minimum."""
    cut = CUTS[key]
    reached = [(float(stage.until.split()[0]) - 32) / 1.8 for stage in cut.course if stage.until.endswith(" F")]
    assert any(stage.until == "tender" for stage in cut.course) or max(reached) >= (
        cut.texture.least_core_c.value - 0.05
    )


def test_an_animal_takes_the_models_and_rules_that_are_for_it() -> None:
    """FSIS-GD-2021-14, table 2, is for beef, lamb and pork; tables 3 and 4 for chicken and turkey; none for fish."""
    by_family: dict[str, set[str]] = {}
    for each in ANIMALS.values():
        by_family.setdefault(each.family, set()).add(each.key)
    assert by_family["fish"] == {"fish"}
    assert by_family["poultry"] == {"chicken", "turkey", "duck", "goose"}
    assert {ANIMALS[key].killed_as for key in ("beef", "lamb", "pork")} == {"meat"}
    assert all(ANIMALS[key].killed_as == key for key in ("chicken", "turkey", "fish"))
    assert all(85 <= each.usual_set_c.value <= 200 for each in ANIMALS.values())
    assert len({each.usual_set_c.value for each in ANIMALS.values()}) > 4, "each has its own, not pork's"


@pytest.mark.parametrize("key", [key for key, pit in PITS.items() if catalog.fuel(pit.fuel).burns])
def test_air_flow_follows_from_walls_and_share(key: str) -> None:
    """Heat balance: what does not go through the walls warms the air that goes out, 1010 J/kgK."""
    exchange = PITS[key].exchange
    by_balance = exchange.heat_loss_w_per_k.value * (1 / exchange.wall_share.value - 1) / 1010
    assert exchange.air_flow_kg_s.value == pytest.approx(by_balance, rel=0.05)


def test_convection_is_above_that_of_still_air() -> None:
    """Still air gives 5-7 W/m2K, Churchill-Chu for a cylinder, by the library ht; a plume to 10, a draught to 20."""
    film_c, difference_k = 82.0, 50.0
    air = {name: PropsSI(name, "T", film_c + 273.15, "P", 101325, "Air") for name in ("D", "V", "L", "C")}
    nu = air["V"] / air["D"]
    prandtl = air["V"] * air["C"] / air["L"]
    found = []
    for diameter in (0.03, 0.15):
        grashof = 9.81 / (film_c + 273.15) * difference_k * diameter**3 / nu**2
        nusselt = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof)
        found.append(nusselt * air["L"] / diameter)
    assert found[1] == pytest.approx(5, abs=0.5)
    assert found[0] == pytest.approx(7, abs=0.5)
    for pit in PITS.values():
        about = convection_mixed_cylinder(0.1, pit.surface.air_speed_m_s.value, 107.0, 57.0)
        low = 10 if pit.fan or pit.key == "offset-log-burner" else found[1]
        assert low <= about <= (20 if low == 10 else 10)


def test_wood_s_heating_value_follows_from_its_water() -> None:
    """Net values outside: ENplus A1 asks at least 16.6 MJ/kg, typically 17.0-17.3; a cord of hickory or oak
    gives 17.9-24.6 million Btu in heat-value tables."""
    fuels = SHELVES["fuels"]
    for fuel in fuels.values():
        if fuel.burns:
            dry = fuel.higher_heating_dry_j_kg.value - 2.443e6 * 9 * fuel.hydrogen.value
            net = (1 - fuel.moisture.value) * dry - 2.443e6 * fuel.moisture.value
            assert fuel.lower_heating_j_kg.value == pytest.approx(net, rel=0.002), fuel.key
    assert 16.6e6 <= fuels["pellets"].lower_heating_j_kg.value <= 17.4e6
    wood = fuels["split-hardwood"]
    cord_btu = wood.lower_heating_j_kg.value * wood.density_kg_m3.value * 3.625 / 1055.06
    assert 17.9e6 < cord_btu < 24.6e6


def test_propane_against_coolprop() -> None:
    gas = catalog.fuel("propane")
    assert gas.density_kg_m3.value == pytest.approx(PropsSI("D", "T", 293.15, "Q", 0, "Propane"), rel=0.02)
    carbon = 3 * 12.011e-3
    assert gas.hydrogen.value == pytest.approx(1 - carbon / PropsSI("M", "Propane"), rel=0.002)


def test_paper_s_permeance_is_its_transmission_rate_in_si() -> None:
    """300-3000 g/m2 day at 38 C and 90 % humidity (the range in the file's note), pressure by psychrolib."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = 0.9 * psychrolib.GetSatVapPres(38.0)
    low, high = (grams / 1000 / 86400 / pressure for grams in (300, 3000))
    assert low < catalog.wrap("butcher paper").vapour_permeance_kg_m2_s_pa.value < high


def test_faces_that_wraps_cover() -> None:
    wraps = SHELVES["wraps"]
    assert wraps["tray"].cover_top.value == 0
    assert wraps["tray"].cover_under.value == 1
    assert 0 < wraps["tray"].cover_side.value < 1
    assert wraps["foil"].cover_top.value == wraps["foil"].cover_side.value == 1
    assert wraps["insulated-box"].gap_conductance_w_m2k.value < 0.1 * wraps["foil"].gap_conductance_w_m2k.value
