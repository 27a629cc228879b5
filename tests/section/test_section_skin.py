"""What passes a face: a skin that resists, a wrap without bound where meat boils, juice and condensate that run off."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from scipy.optimize import brentq
from tests.oracles import surface as oracle_surface
from tests.oracles.readable import rates

from pitreckon import catalog
from pitreckon.physics import vapour
from pitreckon.section import laws, shapes
from pitreckon.section.course import COLUMN, Until
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import surround

pytestmark = pytest.mark.kernel


AIR_C, H, P = 107.0, 10.0, trial.SEA_LEVEL_PA
WET = {"diffusion": 1e-7, "skin_b": 1e-3, "start_c": 40.0, "boil_c": 100.0}
"""Water follows so easily that no surface can dry, and none is squeezed out."""


def bare(air_c=AIR_C, **over):
    around = surround(air_c=air_c, pressure_pa=P, convection_w_m2k=H, emissivity=0.9, open_fraction=1.0, mirrored=False)
    return around | {"vapour_pa": 2400.0, "until": Until.NEVER} | over


def rate_of(given_kg_m2, vapour_pa, *, temp_c=60.0, wrap=0.0, x=3.0, pool=0.0, **parameters):
    """Rates of the readable kernel of one thin piece at a temperature, its faces having given off so much bare."""
    section = trial.SMALL["slab"]()
    members = trial.members(1, **parameters)
    p = {name: members[name] for name in ("scale", *trial.PORK)}
    piece = rates.Piece.of(section)
    table = trial.course(1, bare(holds_liquid=pool, vapour_pa=vapour_pa) | trial.every_face("through", wrap)).table
    stage = {name: table[0, i] for name, i in COLUMN.items()}
    tally = np.zeros((6 + 2 * section.outer_cell.size, 1))
    tally[rates.POOL] = pool * 1e3
    tally[piece.skins] = given_kg_m2
    water = np.full((section.cells, 1), x)
    cold = rates.State(np.zeros_like(water), water, tally)
    state = rates.State(rates.fields_of(piece, p, cold).capacity * temp_c, water, tally)
    fields = rates.fields_of(piece, p, state)
    air = np.full(1, AIR_C)
    return rates.derivative(piece, p, rates.Around(air, air, stage), state, fields).tally[:, 0], stage


@trial.by_engine
@pytest.mark.parametrize("resistance", [0.0, 200.0, 1200.0])
def test_a_wet_body_under_a_skin_settles_where_less_evaporates(engine, resistance):
    """Against a root of the balance of heat with film and skin in series, reckoned apart."""
    skin = {"skin_r": resistance, "skin_e": 0.01, "skin_n": 6.0}  # whole within minutes
    trace = simulate(
        shapes.slab(0.02, n=7, spacing_m=2e-3),
        trial.members(1, trial.INERT, **(WET | skin)),
        trial.steady(AIR_C),
        trial.course(1, bare()),
        horizon_s=3 * 3600.0,
        engine=engine,
    )
    coefficient = oracle_surface.stefan_coefficient_behind_skin(float(bare()["vapour_0"]), resistance)

    def gains(t):
        flux = coefficient * np.log((P - 2400.0) / (P - vapour.saturation_pressure(t)))
        heat = H * (AIR_C - t) + oracle_surface.radiation_flux_stefan_boltzmann(t, AIR_C, 0.9)
        return heat - flux * vapour.latent_heat_linear(t)

    settled = brentq(gains, 20.0, 99.0)
    assert trace["surface_c"][-1, 0] == pytest.approx(settled, abs=0.3)
    # Its outer side is as dry as the share of the vapour's way that lies in the skin.
    left = coefficient / float(bare()["vapour_0"])
    assert trace["activity"][-1, 0] == pytest.approx(left, abs=2e-3)


def test_what_condenses_meets_no_skin():
    """On a colder piece a whole skin changes nothing; on a warmer one it leaves 1/(1 + R S) of the vapour."""
    cold = [rate_of(given, 60000.0)[0][rates.EVAPORATED] for given in (0.0, 50.0)]
    assert cold[0] < 0.0
    assert cold[1] == pytest.approx(cold[0], rel=1e-12)
    (none, stage), (whole, _) = rate_of(0.0, 2400.0), rate_of(50.0, 2400.0)
    left = 1.0 / (1.0 + 1200.0 * float(stage["vapour_0"][0]))
    assert whole[rates.EVAPORATED] == pytest.approx(left * none[rates.EVAPORATED], rel=1e-4)


@pytest.mark.kernel
def test_a_skin_grows_by_what_is_given_off_bare_alone():
    """Not in a wrap, and not by what condenses; by the flow itself where it is bare."""
    piece = rates.Piece.of(trial.SMALL["slab"]())
    bare_flow = rate_of(0.0, 2400.0)[0]
    assert bare_flow[piece.skins].sum() == pytest.approx(bare_flow[rates.EVAPORATED], rel=1e-12)
    assert (rate_of(0.0, 60000.0)[0][piece.skins] == 0.0).all()
    wrapped = {f"vapour_{g}": 0.0 for g in range(shapes.GROUPS)} | trial.every_face("through", 1e-4)
    trace = simulate(
        trial.SMALL["slab"](),
        trial.members(1, start_c=60.0),
        trial.steady(120.0),
        trial.course(1, bare() | wrapped),
        horizon_s=3600.0,
        snapshot_s=3600.0,
    )
    section = trial.SMALL["slab"]()
    first = 2 * section.cells + 6 + section.outer_cell.size
    assert (trace.snapshot.columns[first : first + section.outer_cell.size] == 0.0).all()
    assert trace["evaporated"][-1, 0] > 0.0


@trial.by_engine
def test_a_tight_wrap_comes_to_boiling_and_no_further(engine):
    """The flow through it has no bound there: with foil's own leak a piece in hot air stands within 1.5 degC of it."""
    around = surround(
        air_c=135.0,
        pressure_pa=P,
        convection_w_m2k=15.0,
        emissivity=0.9,
        open_fraction=1.0,
        mirrored=False,
        wrap=catalog.wrap("foil"),
    )
    members = trial.members(1, start_c=70.0)
    trace = simulate(
        trial.SMALL["slab"](),
        members,
        trial.steady(135.0),
        trial.course(1, around | {"vapour_pa": 2400.0, "until": Until.NEVER}),
        horizon_s=2 * 3600.0,
        engine=engine,
    )
    assert trace["core_c"][-1, 0] == pytest.approx(trial.PORK["boil_c"], abs=1.5)
    assert trace["core_c"].max() < trial.PORK["boil_c"] + 1.0


@pytest.mark.kernel
def test_steam_heats_to_its_dew_point_and_runs_off():
    """In air that is nine tenths steam a cold piece comes to the dew point sooner than in dry air as hot.

    What condenses drips, and so does juice of its own.
    """
    steam_pa = 0.9 * P
    dew_c = vapour.saturation_temperature(steam_pa)
    traces = [
        simulate(
            trial.SMALL["slab"](),
            trial.members(1),
            trial.steady(100.0),
            trial.course(1, bare(100.0, vapour_pa=pa)),
            horizon_s=3600.0,
        )
        for pa in (steam_pa, 2400.0)
    ]
    steamed, roasted = (trace["core_c"][:, 0] for trace in traces)
    assert steamed[4] > roasted[4] + 10.0
    assert dew_c - 1.0 < steamed[-1] < 100.5
    assert traces[0]["evaporated"][-1, 0] < -0.02  # it condensed
    assert traces[0]["dripped"][-1, 0] > -traces[0]["evaporated"][-1, 0]  # and ran off, with juice of its own


def test_juice_runs_off_above_the_holding_capacity_and_is_drunk_back_below_it():
    """At 4.5e-6 and 5e-7 m/s of the excess; the second only where liquid stands."""
    held = trial.PORK["water"] * (
        1.0 - trial.PORK["hold_drop"] * laws.transport_and_holding(60.0, laws.melt_factor(0.0))[1]
    )
    faces = trial.SMALL["slab"]().outer_area.sum()
    for x, pool, speed in ((held + 0.5, 0.0, 4.5e-6), (held - 0.5, 0.0, 0.0), (held - 0.5, 1.0, -5e-7)):
        rate, _ = rate_of(0.0, 2400.0, x=x, pool=pool)
        assert rate[rates.DRIPPED] == pytest.approx(0.5 * speed * trial.PORK["dry_density"] * faces, rel=1e-9)
