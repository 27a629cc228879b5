"""A wet surface settles where it must, and wet meat does not pass its boiling point."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from tests.oracles.surface import wet_surface

from pitreckon import catalog
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.section import shapes
from pitreckon.section.course import Until
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import surround

H = np.array([5.0, 10.0, 20.0])
# Fully wet, emissivity 0.9, walls at the air's 107 degC, sea level: surface for h 5/10/20 (from the
# project's physics notes, 3.4: convection, radiation and Lewis evaporation, computed apart from this code).
SETTLED = {0.0075: (47.0, 41.9, 38.5), 0.015: (48.6, 44.0, 41.0)}


def pit_vapour_pa(humidity_ratio, pressure_pa=trial.SEA_LEVEL_PA):
    """Vapour pressure of air; 0.621945 is the ratio of molar masses (ASHRAE Fundamentals, ch. 1)."""
    return pressure_pa * humidity_ratio / (0.621945 + humidity_ratio)


@trial.by_engine
@pytest.mark.parametrize("humidity_ratio", SETTLED)
def test_fully_wet_body_settles_at_the_wet_bulb_with_radiation(engine, humidity_ratio):
    """Within 0.3 degC. Water follows so easily that no surface can dry, none is squeezed out, no skin grows."""
    around = surround(
        air_c=107.0,
        pressure_pa=trial.SEA_LEVEL_PA,
        convection_w_m2k=H,
        emissivity=0.9,
        open_fraction=1.0,
        mirrored=False,
    )
    trace = simulate(
        shapes.slab(0.02, n=7, spacing_m=2e-3),
        trial.members(3, trial.INERT, diffusion=1e-7, skin_b=1e-3, skin_r=0.0, start_c=40.0, boil_c=100.0),
        trial.steady(107.0, 3),
        trial.course(3, around | {"vapour_pa": pit_vapour_pa(humidity_ratio), "until": Until.NEVER}),
        horizon_s=3600.0,
        engine=engine,
    )
    assert trace["activity"][-1] == pytest.approx(1.0, abs=1e-3)
    surface = trace["surface_c"][-1]
    assert trace["core_c"][-1] == pytest.approx(surface, abs=0.3)  # nothing goes into the body any more
    assert surface == pytest.approx(SETTLED[humidity_ratio], abs=0.3)
    balance = [wet_surface(107.0, humidity_ratio, float(h)).temp_c for h in H]
    assert surface == pytest.approx(balance, abs=0.3)


@pytest.mark.kernel
@pytest.mark.parametrize("altitude_m", [0.0, 2000.0])
def test_wet_wrapped_meat_stays_at_its_boiling_point(altitude_m):
    """In a 135 degC pit, foil round it: no cell with over 0.2 kg/kg of water passes boiling by 1 degC."""
    pressure = pressure_isa(altitude_m)
    boil_c = boiling_point(pressure)
    section = shapes.slab(0.02, n=9, spacing_m=0.6e-3)
    around = surround(
        air_c=135.0,
        pressure_pa=pressure,
        convection_w_m2k=15.0,
        emissivity=0.9,
        open_fraction=1.0,
        mirrored=False,
        wrap=catalog.wraps()["foil"],
        wrap_leak=1e-11,  # folded tight: the usual leak alone keeps it a few degrees cooler
    )
    members = trial.members(1, start_c=70.0, pressure_pa=pressure, boil_c=boil_c, hold_drop=0.1)
    stages = trial.course(1, around | {"vapour_pa": 2000.0, "until": Until.NEVER})
    hottest = []

    def watch(_seconds, state, fields):
        wet = state.water > 0.2
        hottest.append(float(np.max(fields.temp_c, where=wet, initial=-1e9)))

    horizon = 2.5 * 3600.0
    trial.watched(watch, section, members, trial.steady(135.0), stages, horizon_s=horizon)
    assert max(hottest) < boil_c + 1.0
    assert max(hottest) > boil_c - 0.5  # it does get there

    compiled = simulate(section, members, trial.steady(135.0), stages, horizon_s=horizon)
    assert np.nanmax(compiled["core_c"]) < boil_c + 1.0
    assert np.nanmax(compiled["core_c"]) > boil_c - 2.0


def test_a_glaze_dries_over_fat_as_over_meat():
    """What is brushed on lies on top: the share of the face that fat or skin covers does not hold its water back."""
    around = {
        "air_c": 135.0,
        "pressure_pa": trial.SEA_LEVEL_PA,
        "convection_w_m2k": 10.0,
        "emissivity": 0.9,
        "mirrored": False,
    }
    plain, glazed = (surround(**around, open_fraction=0.7, glazed=glazed) for glazed in (False, True))
    lean = surround(**around, open_fraction=1.0)
    assert glazed["vapour_0"] == lean["vapour_0"] == pytest.approx(plain["vapour_0"] / 0.7)
    changed = {name for name in plain if plain[name] != glazed[name]}
    assert changed == {"vapour_0"}, "it is brushed on the upper faces alone"
