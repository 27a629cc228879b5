"""The pit: air through the readings and past them, and where its humidity comes from."""

from __future__ import annotations

import numpy as np
import pytest
from supper import START, air
from tests.oracles.surface import wet_surface

from pitreckon import catalog
from pitreckon.reckon.draws import draw_pit, hypercube, stream
from pitreckon.reckon.levels import PIT_UNKNOWNS
from pitreckon.reckon.pitair import KNOT_S, ambient_ratio, grate_air, pit_vapour, running_median, wander
from pitreckon.reckon.waterpan import pan_evaporation
from pitreckon.section.surroundings import convection

N = 64
PIT = catalog.pit("pellet-cooker")


@pytest.fixture(scope="module")
def draw():
    return draw_pit(PIT, hypercube(stream(3, "pit drum"), PIT_UNKNOWNS, N))


def series(draw, readings, knots=240, set_c=135.0):
    return grate_air(PIT, "drum", draw, np.full(knots, set_c), readings, START.timestamp(), 3)


def test_members_go_through_the_readings_plus_their_offset(draw):
    got = series(draw, air(140.0, 0, 60))
    rows = (np.arange(0, 61, 5) * 60 / KNOT_S).astype(int)
    np.testing.assert_allclose(got[rows] - draw.offset_k, 140.0, atol=1e-9)


def test_past_the_readings_they_part_and_go_back_to_what_the_pit_does(draw):
    got = series(draw, air(145.0, 0, 60)) - draw.offset_k
    assert got[61].std() < got[120].std()
    assert got[200].mean() == pytest.approx(145.0, abs=2.0)  # ten over its setting all along: it will stay so


def test_a_single_excursion_fades(draw):
    dial = [*air(135.0, 0, 0), *air(135.0, 30, 30), *air(110.0, 60, 60)]  # read now and then
    got = series(draw, dial) - draw.offset_k
    assert got[60].mean() == pytest.approx(110.0, abs=1e-9)
    assert got[150].mean() == pytest.approx(131.0, abs=4.0)


def test_a_lid_that_a_logger_saw_lifted_is_in_the_trades_times_already(draw):
    lifted = [*air(135.0, 0, 55), *air(105.0, 60, 60), *air(120.0, 65, 65), *air(135.0, 70, 120)]
    np.testing.assert_allclose(series(draw, lifted), series(draw, air(135.0, 0, 120)))
    sinking = [*air(135.0, 0, 55), *air(105.0, 60, 120)]
    assert (series(draw, sinking) - draw.offset_k)[80:120].mean() == pytest.approx(105.0, abs=0.2)
    last = [*air(135.0, 0, 55), *air(105.0, 60, 60)]  # just lifted, or just out: not believed until it stays
    assert (series(draw, last) - draw.offset_k)[60].mean() == pytest.approx(135.0, abs=1e-9)


def test_gaps_are_not_known(draw):
    got = series(draw, [*air(135.0, 0, 10), *air(135.0, 120, 130)])
    assert got[65].std() > 1.2 * draw.offset_k.std() or (got[65] - draw.offset_k).std() > 2.0
    assert (got[5] - draw.offset_k).std() < 1e-9


def test_wander_has_the_spread_it_was_asked_for():
    made = wander(np.random.default_rng(1), 4000, 32, 7.0, 600.0)
    assert made[400:].std() == pytest.approx(7.0, rel=0.06)
    assert np.diff(made, axis=0).std() < 1.0


def test_hypercube_hits_every_stratum():
    """Latin hypercube: each of n equal-probability strata holds one draw (McKay et al. 1979, from memory)."""
    from scipy.special import ndtr

    z = hypercube(stream(1, "a"), ("x", "y"), 50)
    for name in ("x", "y"):
        assert sorted((ndtr(z[name]) * 50).astype(int)) == list(range(50))
    assert abs(np.corrcoef(z["x"], z["y"])[0, 1]) < 0.5


def test_streams_depend_on_seed_and_label_alone():
    same = stream(1, "a").random(3), stream(1, "a").random(3)
    np.testing.assert_array_equal(*same)
    assert not np.array_equal(stream(1, "a").random(3), stream(1, "b").random(3))
    assert not np.array_equal(stream(1, "a").random(3), stream(2, "a").random(3))


def test_pit_humidity_is_of_the_size_that_the_fuel_gives(draw):
    """Vented fuel burner: W 0.01-0.04 (computed: combustion of pellets at 50-70 % heat loss)."""
    vapour = pit_vapour(PIT, catalog.fuels()[PIT.fuel], draw, 107.0, 20.0, 0.0075, 5.0, 101325.0)
    ratio = 0.622 * vapour / (101325.0 - vapour)
    assert 0.010 < np.median(ratio) < 0.040


def test_a_water_pan_and_more_meat_make_it_moister(draw):
    smoker = catalog.pit("water-smoker")
    wet = draw_pit(smoker, hypercube(stream(3, "pit drum"), PIT_UNKNOWNS, N))
    fuel = catalog.fuels()
    dry = np.median(pit_vapour(PIT, fuel[PIT.fuel], draw, 110.0, 20.0, 0.0075, 5.0, 101325.0))
    assert np.median(pit_vapour(smoker, fuel[smoker.fuel], wet, 110.0, 20.0, 0.0075, 5.0, 101325.0)) > 1.5 * dry
    more = np.median(pit_vapour(PIT, fuel[PIT.fuel], draw, 110.0, 20.0, 0.0075, 30.0, 101325.0))
    assert more > dry


@pytest.mark.parametrize("kind", ["insulated-cabinet", "water-smoker", "kettle", "gas-cooker"])
def test_air_holds_no_more_than_saturated(kind):
    """A cold smoke: vapour past saturation condensed on the meat and cooked it, in a pit of 20 °C to a core of 68 °C.

    Saturated at 20 and 60 °C: 2339 and 19,947 Pa (IAPWS-95 tables, from memory).
    """
    pit = catalog.pit(kind)
    fuel = catalog.fuels()[pit.fuel]
    own = draw_pit(pit, hypercube(stream(3, "pit drum"), PIT_UNKNOWNS, N))
    for set_c, saturated_pa in ((20.0, 2339.0), (60.0, 19947.0)):
        assert pit_vapour(pit, fuel, own, set_c, 20.0, 0.0075, 14.0, 101325.0).max() <= 1.001 * saturated_pa
    assert (pit_vapour(pit, fuel, own, 400.0, 20.0, 0.0075, 14.0, 101325.0) > 0.0).all()  # the hottest that can be set


def test_a_pan_that_is_set_in_is_the_wet_surface_of_physics():
    """With so much air that it changes nothing: the flux of ``wet_surface`` over its area, within 0.2 %."""
    speed, walls, flow = np.array([0.2, 0.6, 1.5]), np.array([-5.0, 0.0, 8.0]), np.full(3, 1e6)
    for air_c, ratio in ((107.0, 0.0075), (150.0, 0.03)):
        gives = pan_evaporation(PIT, speed, air_c, walls, np.full(3, ratio), flow, 101325.0)
        area = PIT.exchange.pan_m2.value
        for each, u, wall in zip(gives, speed, walls, strict=True):
            film = float(convection(np.sqrt(area), u, air_c, 101325.0))
            wet = wet_surface(air_c, ratio, film, emissivity=0.95, wall_c=air_c + wall)
            assert each == pytest.approx(area * wet.flux_kg_m2_s, rel=2e-3)


def test_a_pan_makes_its_own_air_moister_and_so_gives_off_less(draw):
    fuel = catalog.fuels()[PIT.fuel]
    dry, wet = (pit_vapour(PIT, fuel, draw, 121.0, 20.0, 0.0075, 5.0, 101325.0, pan) for pan in (None, True))
    assert (wet > dry + 200.0).all()
    little, much = (
        pan_evaporation(PIT, np.ones(1), 121.0, np.zeros(1), np.full(1, 0.02), np.full(1, flow), 101325.0)[0]
        for flow in (1e-4, 1.0)
    )
    assert 0.0 < little < 0.8 * much
    smoker = catalog.pit("water-smoker")
    run_dry = pit_vapour(smoker, catalog.fuels()[smoker.fuel], draw, 110.0, 20.0, 0.0075, 5.0, 101325.0, False)
    as_usual = pit_vapour(smoker, catalog.fuels()[smoker.fuel], draw, 110.0, 20.0, 0.0075, 5.0, 101325.0)
    assert (run_dry < as_usual).all()


def test_damp_weather_makes_a_moister_pit(draw):
    fuel = catalog.fuels()[PIT.fuel]
    dry, damp = (
        pit_vapour(PIT, fuel, draw, 121.0, 30.0, ambient_ratio(30.0, rh, 101325.0), 5.0, 101325.0) for rh in (0.1, 0.9)
    )
    assert (damp > dry + 1000.0).all()


def test_the_running_median_is_that_of_the_values_about_each() -> None:
    """By hand for a few values, which SciPy's filter of so many more does not do: 1.17 reads past them for 2 and 4."""
    rng = np.random.default_rng(5)
    for n in (*range(1, 8), 20, 40, 41, 42, 300):
        values = rng.normal(size=n)
        there_and_back = np.concatenate((values, values[::-1]))
        about = [[there_and_back[(i + off) % (2 * n)] for off in range(-20, 21)] for i in range(n)]
        np.testing.assert_array_equal(running_median(values, 41), [sorted(each)[20] for each in about])
        if n > 20:
            from scipy.ndimage import median_filter

            assert running_median(values, 41).tobytes() == median_filter(values, 41, mode="reflect").tobytes()
