"""Each fast law of the kernels against its form in ``physics`` or ``tests/oracles``, over the range it states."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest
from numba import njit
from tests.oracles import convection as oracle_convection
from tests.oracles import lethality as oracle_lethality
from tests.oracles import reaction as oracle_reaction
from tests.oracles import surface as oracle_surface
from tests.oracles import vapour as oracle_vapour
from tests.oracles import water as oracle_water

from pitreckon import catalog
from pitreckon.physics import surface, vapour
from pitreckon.section import laws, surroundings
from pitreckon.section.compiler import Apart, set_up
from pitreckon.section.precision import OUTER

set_up()
GAS_CONSTANT = 8.314462618
ZERO_K = 273.15


def worst(fast, slow, points):
    """Largest relative difference over the points."""
    return max(abs(float(fast(float(p))) / slow(float(p)) - 1.0) for p in points)


def test_exp_near():
    assert worst(laws.exp_near, exp, np.linspace(-32.0, 32.0, 4001)) < 1e-7


def test_exp_small():
    assert worst(laws.exp_small, exp, np.linspace(-4.0, 4.0, 4001)) < 1e-6


def test_limited():
    for x in (-np.inf, -3.0, -1.0, 0.5, 2.0, 7.0, np.inf):
        assert laws.limited(x, -1.0, 2.0) == min(max(x, -1.0), 2.0)
    np.testing.assert_array_equal(laws.limited(np.array([-2.0, 1.0, 9.0]), 0.0, 2.0), [0.0, 1.0, 2.0])
    assert np.isnan(laws.limited(np.nan, 0.0, 1.0))  # a member that fails must not be mended by a limit


@njit(**OUTER, pipeline_class=Apart)
def _all_laws(t, out):
    """Every law that the compiled kernel calls, at one temperature."""
    out[0] = laws.exp_near(0.2 * t)
    out[1] = laws.exp_small(3.0 - 0.05 * t)
    out[2], out[3] = laws.transport_and_holding(t, laws.melt_factor(2.0))
    out[4] = laws.diffusion_shape(t)
    out[5] = laws.saturation_pressure(t)
    out[6] = laws.saturation_slope(t, laws.saturation_pressure(t))
    out[7] = laws.kill_rate(t)
    out[8] = laws.arrhenius(1.0 / (t + 273.15), 1e4, laws.AT_90_C)
    out[9] = laws.latent_heat(t)
    out[10] = laws.limited(t, 30.0, 60.0)
    out[11] = laws.free_water(0.05 * t - 2.0)
    out[12] = laws.surface_activity(0.01 * t, 0.15)
    out[13] = laws.log_ratio(101325.0, 2400.0, 600.0 * t)
    out[14] = laws.log_near(0.25 * t)
    out[15] = laws.skin_resistance(0.05 * t, 1200.0, 1.9, 4.0)


@pytest.mark.kernel
def test_compiled_code_and_python_evaluate_the_same_laws():
    """In double to rounding; in single as near as its seven digits allow."""
    for t in np.linspace(1.0, 119.0, 25):
        python, double, single = np.zeros(16), np.zeros(16), np.zeros(16, np.float32)
        _all_laws.py_func(t, python)
        _all_laws(t, double)
        _all_laws(np.float32(t), single)
        np.testing.assert_allclose(double, python, rtol=1e-13)
        np.testing.assert_allclose(single, python, rtol=1e-4)


def test_laws_take_arrays():
    t = np.array([20.0, 60.0, 95.0])
    for law in (laws.diffusion_shape, laws.saturation_pressure, laws.kill_rate, laws.exp_small):
        points = t / 40.0 if law is laws.exp_small else t
        np.testing.assert_allclose(law(points), [law(float(x)) for x in points], rtol=1e-14)
    melt = laws.melt_factor(np.array([-2.0, 0.0, 2.0]))
    both = laws.transport_and_holding(t, melt)
    each = [laws.transport_and_holding(float(x), float(m)) for x, m in zip(t, melt, strict=True)]
    np.testing.assert_allclose(np.array(both).T, each, rtol=1e-14)


def holding(t, shift=0.0):
    return laws.transport_and_holding(t, laws.melt_factor(shift))[1]


def transport(t, shift=0.0):
    return laws.transport_and_holding(t, laws.melt_factor(shift))[0]


def test_holding_share_is_the_sigmoid_of_the_holding_capacity():
    """C = 0.745 - 0.345 share (van der Sman 2007)."""
    for t in np.linspace(-2.0, 140.0, 200):
        capacity = 0.745 - 0.345 * holding(float(t))
        assert capacity == pytest.approx(oracle_water.holding_capacity_van_der_sman(float(t)), rel=5e-7)


@pytest.mark.parametrize("shift", [-60.0, -6.0, -2.0, 1.5, 5.0, 60.0])
def test_a_shifted_sigmoid_is_the_sigmoid_at_a_shifted_temperature(shift):
    for t in np.linspace(max(-20.0, shift - 2.0), min(140.0, shift + 150.0), 60):
        capacity = 0.745 - 0.345 * holding(float(t), shift)
        assert capacity == pytest.approx(oracle_water.holding_capacity_van_der_sman(float(t) - shift), rel=5e-7)


def test_melt_factor():
    for shift in np.linspace(-60.0, 60.0, 121):
        assert laws.melt_factor(float(shift)) == pytest.approx(30.0 * exp(-0.25 * (60.0 - shift - 52.0)), rel=2e-7)


def test_transport():
    at_70 = oracle_water.darcy_transport_coefficient(70.0)

    def slow(t):
        return oracle_water.darcy_transport_coefficient(t) / at_70

    assert worst(transport, slow, np.linspace(0.0, 110.0, 400)) < 0.002
    assert worst(transport, slow, np.linspace(-2.0, 140.0, 400)) < 0.02


def test_transport_does_not_hang_on_the_shift():
    """Both are reckoned with one division; the shift must not leak into the transport."""
    for t in np.linspace(-20.0, 140.0, 60):
        one = transport(float(t))
        assert [transport(float(t), s) for s in (-40.0, -5.0, 5.0, 40.0)] == pytest.approx([one] * 4, rel=1e-6)


def test_free_water_and_its_slope():
    """Nothing far below the holding capacity, all of the excess far above; the slope is that of the water."""
    for excess in np.linspace(-3.0, 3.0, 241):
        free = laws.free_water(excess)
        assert free == pytest.approx((excess + np.hypot(excess, laws.FREE_WIDTH)) / 2.0, rel=1e-12)
        slope = (laws.free_water(excess + 1e-6) - laws.free_water(excess - 1e-6)) / 2e-6
        assert laws.free_share(excess, free) == pytest.approx(slope, abs=1e-7)
    assert laws.free_water(-3.0) < 0.004
    assert laws.free_share(3.0, laws.free_water(3.0)) == pytest.approx(1.0, abs=2e-3)


def test_diffusion_shape():
    def slow(t):
        return oracle_reaction.rate_arrhenius(t, 1.0, 40.0, 43e3)

    assert worst(laws.diffusion_shape, slow, np.linspace(0.0, 120.0, 400)) < 0.002


def test_saturation_pressure():
    points = np.linspace(0.01, 140.0, 600)
    assert worst(laws.saturation_pressure, vapour.saturation_pressure_wagner_pruss, points) < 7e-5


def test_saturation_slope():
    """Within 6 % of the slope of Wagner & Pruss's pressure, 0..140 degC."""

    def fast(t):
        return laws.saturation_slope(t, laws.saturation_pressure(t))

    def slow(t):
        high, low = (vapour.saturation_pressure_wagner_pruss(t + d) for d in (1e-3, -1e-3))
        return (high - low) / 2e-3

    assert worst(fast, slow, np.linspace(0.1, 140.0, 300)) < 0.06


def test_latent_heat():
    assert worst(laws.latent_heat, vapour.latent_heat_linear, np.linspace(0.0, 150.0, 100)) < 1e-12
    # The line itself is some parts in a thousand off where a kernel evaporates (0-100 degC).
    assert worst(laws.latent_heat, oracle_vapour.latent_heat_wagner_pruss, np.linspace(0.01, 100.0, 100)) < 0.005


def test_surface_activity():
    for b in (0.05, 0.15, 0.3):
        points = np.geomspace(1e-3, 10.0, 100)
        for x in points:
            expected = oracle_surface.water_activity_oswin(float(x), b)
            assert laws.surface_activity(float(x), b) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("highest", "bound"), [(0.5, 1e-6), (0.8, 1e-6), (laws.MOST_VAPOUR, 3e-6)])
def test_log_ratio_is_the_driving_force_of_stefans_law(highest, bound):
    pressure = 101325.0
    coefficient = surface.vapour_permeance(0.01, 80.0) * pressure
    for low in (0.0, 2400.0, 30000.0, 95000.0):
        for high in np.linspace(0.0, highest * pressure, 60):
            expected = oracle_surface.evaporation_flux_stefan(0.01, float(high), low, 80.0, pressure)
            got = coefficient * laws.log_ratio(pressure, low, float(high))
            assert got == pytest.approx(expected, rel=bound, abs=1e-12)


def test_log_ratio_does_not_cancel_in_single_precision():
    """Near equilibrium, where little flows either way."""
    pressure = np.float32(101325.0)
    for low in (2400.0, 60000.0):
        for more in (0.5, 5.0, 50.0):
            exact = log((101325.0 - low) / (101325.0 - low - more))
            got = laws.log_ratio(pressure, np.float32(low), np.float32(low + more))
            assert float(got) == pytest.approx(exact, rel=1e-5)


def test_log_near():
    points = np.geomspace(1.0 / 32.0, 32.0, 402)
    assert worst(laws.log_near, log, points) < 1e-6


@pytest.mark.parametrize("steepness", [1.0, 2.0, 4.0, 7.0])
def test_skin_resistance(steepness):
    """Against the law of physics, from a 32nd of the middle to 32 times it; at nothing given off next to nothing."""
    for given in np.geomspace(1.9 / 32.0, 1.9 * 32.0, 200):
        expected = oracle_surface.skin_resistance_hill(float(given), 1200.0, 1.9, steepness)
        got = laws.skin_resistance(float(given), 1200.0, 1.9, steepness)
        assert got == pytest.approx(expected, rel=5e-5)
    assert laws.skin_resistance(0.0, 1200.0, 1.9, steepness) <= 1.001 * 1200.0 * 32.0**-steepness


def test_convection_of_an_ensemble_is_that_of_the_law():
    size, speed = np.array([0.05, 0.1, 0.2, 0.3]), np.array([0.2, 1.0, 0.6, 3.0])
    for air_c in (20.0, 107.0, 177.0):
        got = surroundings.convection(size, speed, air_c, 101325.0)
        expected = [
            oracle_convection.convection_mixed_cylinder(float(d), float(u), air_c, surroundings.FILM_SURFACE_C)
            for d, u in zip(size, speed, strict=True)
        ]
        np.testing.assert_allclose(got, expected, rtol=1e-12)


def test_a_wrap_and_the_film_outside_it_are_in_series():
    """What ``surround`` hands to the kernel, times the driving force, is the law of physics."""
    foil, pressure = catalog.wrap("foil"), 101325.0
    around = surroundings.surround(
        air_c=121.0,
        pressure_pa=pressure,
        convection_w_m2k=8.0,
        emissivity=0.9,
        open_fraction=0.5,
        mirrored=True,
        wrap=foil,
    )
    film = surroundings.vapour_coefficient(8.0, 121.0, pressure) / pressure
    sheet = foil.leak_kg_m2_s_pa.value + foil.vapour_permeance_kg_m2_s_pa.value
    for at_face in (20000.0, 60000.0, 97000.0):
        flux = around["through_0"] * laws.log_ratio(pressure, 3000.0, at_face)
        expected = oracle_surface.evaporation_flux_wrapped_stefan(film, sheet, at_face, 3000.0, pressure)
        assert flux == pytest.approx(expected, rel=1e-5)
    assert around["vapour_0"] == 0.0


def arrhenius(t_c, activation, ref_c):
    return laws.arrhenius(1.0 / (t_c + ZERO_K), activation / GAS_CONSTANT, 1.0 / (ref_c + ZERO_K))


def test_arrhenius():
    for activation, ref in ((83e3, 90.0), (43e3, 40.0), (160e3, 90.0)):

        def slow(t, activation=activation, ref=ref):
            return oracle_reaction.rate_arrhenius(t, 1.0, ref, activation)

        def fast(t, activation=activation, ref=ref):
            return arrhenius(t, activation, ref)

        assert worst(fast, slow, np.linspace(0.0, 150.0, 300)) < 1e-7


def test_reference_temperatures():
    assert pytest.approx(1.0 / (90.0 + ZERO_K), rel=1e-15) == laws.AT_90_C
    assert pytest.approx(1.0 / (58.0 + ZERO_K), rel=1e-15) == laws.AT_58_C
    assert laws.arrhenius(laws.AT_90_C, 1e4, laws.AT_90_C) == 1.0


def test_arrhenius_is_limited_far_away():
    assert arrhenius(-20.0, 1e5 * GAS_CONSTANT, 90.0) == pytest.approx(exp(-30.0), rel=1e-6)
    assert arrhenius(180.0, 1e5 * GAS_CONSTANT, 20.0) == pytest.approx(exp(30.0), rel=1e-6)


def test_shrinkage_of_collagen():
    def fast(t):
        return laws.SHRINK_RATE * laws.arrhenius(1.0 / (t + ZERO_K), laws.SHRINK_EA_OVER_R, laws.AT_58_C)

    assert worst(fast, oracle_reaction.collagen_shrink_rate_bertola, np.linspace(40.0, 65.0, 60)) < 1e-6


def test_kill_rate():
    def slow(t):
        return oracle_lethality.lethal_rate_bigelow(t, laws.KILL_REF_C, laws.KILL_Z_K)

    assert worst(laws.kill_rate, slow, np.linspace(4.0, 136.0, 300)) < 1e-6
    assert log(laws.kill_rate(-20.0)) == pytest.approx(-12.0 * log(10.0), rel=1e-6)


def test_water_heat_capacity_is_near_choi_okos():
    """4.1762 - 9.0864e-5 T + 5.4731e-6 T2 kJ/kg K, Choi & Okos 1986."""
    for t in np.linspace(0.0, 100.0, 21):
        expected = 1e3 * (4.1762 - 9.0864e-5 * t + 5.4731e-6 * t * t)
        assert expected == pytest.approx(laws.WATER_CP_J_KGK, rel=0.008)
