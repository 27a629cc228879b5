"""Each fast law of the kernels against its counterpart in ``pitreckon.physics``, over the range it states."""

from __future__ import annotations

from math import exp, log

import numpy as np
import pytest

from pitreckon.physics import lethality, reaction, surface, vapour, water
from pitreckon.section import laws


def worst(fast, slow, points):
    """Largest relative difference over the points."""
    return max(abs(float(fast(float(p))) / slow(float(p)) - 1.0) for p in points)


def test_exp_near():
    assert worst(laws.exp_near, exp, np.linspace(-32.0, 32.0, 4001)) < 1e-7


def test_laws_take_arrays():
    t = np.array([20.0, 60.0, 95.0])
    for law in (laws.holding_share, laws.transport_shape, laws.saturation_pressure, laws.kill_rate):
        np.testing.assert_allclose(law(t), [law(float(x)) for x in t], rtol=1e-14)


def test_holding_share_is_the_sigmoid_of_the_holding_capacity():
    """C = 0.745 - 0.345 share (van der Sman 2007)."""
    for t in np.linspace(-2.0, 150.0, 200):
        capacity = 0.745 - 0.345 * laws.holding_share(float(t))
        assert capacity == pytest.approx(water.holding_capacity_van_der_sman(float(t)), rel=1e-7)


def test_transport_shape():
    at_70 = water.darcy_transport_coefficient(70.0)

    def slow(t):
        return water.darcy_transport_coefficient(t) / at_70

    assert worst(laws.transport_shape, slow, np.linspace(0.0, 110.0, 400)) < 0.002
    assert worst(laws.transport_shape, slow, np.linspace(-2.0, 140.0, 400)) < 0.02


def test_diffusion_shape():
    def slow(t):
        return reaction.rate_arrhenius(t, 1.0, 40.0, 43e3)

    assert worst(laws.diffusion_shape, slow, np.linspace(0.0, 120.0, 400)) < 0.002


def test_saturation_pressure():
    points = np.linspace(0.01, 140.0, 600)
    assert worst(laws.saturation_pressure, vapour.saturation_pressure_wagner_pruss, points) < 7e-5


def test_latent_heat():
    assert worst(laws.latent_heat, vapour.latent_heat_linear, np.linspace(0.0, 150.0, 100)) < 1e-12
    # The line itself is some parts in a thousand off where a kernel evaporates (0-100 degC).
    assert worst(laws.latent_heat, vapour.latent_heat_wagner_pruss, np.linspace(0.01, 100.0, 100)) < 0.005


def test_surface_activity():
    for b in (0.05, 0.15, 0.3):
        points = np.geomspace(1e-3, 10.0, 100)
        for x in points:
            expected = surface.water_activity_oswin(float(x), b)
            assert laws.surface_activity(float(x), b) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("highest", "bound"), [(0.5, 1e-6), (0.8, 3e-4)])
def test_log_ratio_is_the_driving_force_of_stefans_law(highest, bound):
    pressure = 101325.0
    coefficient = surface.vapour_permeance(0.01, 80.0) * pressure
    for low in (0.0, 2400.0, 30000.0):
        for high in np.linspace(0.0, highest * pressure, 60):
            expected = surface.evaporation_flux_stefan(0.01, float(high), low, 80.0, pressure)
            got = coefficient * laws.log_ratio(pressure, low, float(high))
            assert got == pytest.approx(expected, rel=bound, abs=1e-12)


def test_arrhenius():
    for activation, ref in ((83e3, 90.0), (43e3, 40.0), (160e3, 90.0)):

        def slow(t, activation=activation, ref=ref):
            return reaction.rate_arrhenius(t, 1.0, ref, activation)

        def fast(t, activation=activation, ref=ref):
            return laws.arrhenius(t, activation / 8.314462618, ref)

        assert worst(fast, slow, np.linspace(0.0, 150.0, 300)) < 1e-7


def test_arrhenius_is_limited_far_away():
    assert laws.arrhenius(-20.0, 1e5, 90.0) == pytest.approx(exp(-30.0), rel=1e-6)
    assert laws.arrhenius(180.0, 1e5, 20.0) == pytest.approx(exp(30.0), rel=1e-6)


def test_shrinkage_of_collagen():
    def fast(t):
        return laws.SHRINK_RATE * laws.arrhenius(t, laws.SHRINK_EA_OVER_R, 58.0)

    assert worst(fast, reaction.collagen_shrink_rate_bertola, np.linspace(40.0, 65.0, 60)) < 1e-6


def test_kill_rate():
    def slow(t):
        return lethality.lethal_rate_bigelow(t, laws.KILL_REF_C, laws.KILL_Z_K)

    assert worst(laws.kill_rate, slow, np.linspace(4.0, 136.0, 300)) < 1e-6
    assert log(laws.kill_rate(-20.0)) == pytest.approx(-12.0 * log(10.0), rel=1e-6)


def test_water_heat_capacity_is_near_choi_okos():
    """4.1762 - 9.0864e-5 T + 5.4731e-6 T2 kJ/kg K, Choi & Okos 1986."""
    for t in np.linspace(0.0, 100.0, 21):
        expected = 1e3 * (4.1762 - 9.0864e-5 * t + 5.4731e-6 * t * t)
        assert expected == pytest.approx(laws.WATER_CP_J_KGK, rel=0.008)
