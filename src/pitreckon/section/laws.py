"""The physical laws in the form that both kernels evaluate, branch-free so that lanes stay in step.

Each is the fast form of a published law; ``tests/section/test_section_laws.py`` holds every one against that, as it
stands in ``physics`` or in ``tests/oracles``, over the stated range. They take floats (compiled kernel) or arrays
(its readable twin in the tests) alike.
"""

from math import log
from typing import Any

import numpy as np

from pitreckon.physics import constants, lethality, reaction, vapour, water
from pitreckon.section.precision import compiled_as, law

SIGMA_W_M2K4 = constants.STEFAN_BOLTZMANN
WATER_CP_J_KGK = constants.WATER_HEAT_CAPACITY
CELSIUS_ZERO_K = constants.ZERO_CELSIUS_K
STEAM_TAU_S = 2.0
"""Time in which heat above the boiling point turns into steam [s]; a wet cell overshoots by this time times its rate of
heating: 2.6 K at the surface of a rack going onto a hot pit, 14 K in the first minutes at 250 degC."""

NOT_NONE = 1e-12
"""Added to a divisor that may be nothing."""

DRY_LIMIT = 0.1
"""Below this water content [kg/kg] transport and boiling fade out linearly, so that no cell goes negative."""


def limited(x: Any, low: Any, high: Any) -> Any:
    """``x`` limited to low..high."""
    return np.clip(x, low, high)


@compiled_as(limited)
def _limited(x: Any, low: Any, high: Any) -> Any:
    return min(max(x, low), high)


@law
def exp_near(x: Any) -> Any:
    """e**x for -32 <= x <= 32, relative error below 1e-7, from multiplications alone.

    A degree-7 Taylor sum of x/128 squared seven times: it vectorises on any machine, with or without a vector
    maths library. The caller keeps x in range.
    """
    y = x * 0.0078125
    e = 1.0 + y * (
        1.0
        + y
        * (
            0.5
            + y
            * (
                0.16666666666666666
                + y
                * (
                    0.041666666666666664
                    + y * (0.008333333333333333 + y * (0.001388888888888889 + y * 0.0001984126984126984))
                )
            )
        )
    )
    e = e * e
    e = e * e
    e = e * e
    e = e * e
    e = e * e
    e = e * e
    return e * e


@law
def exp_small(x: Any) -> Any:
    """e**x for -4 <= x <= 4, relative error below 1e-6: a degree-6 Taylor sum of x/16 squared four times."""
    y = x * 0.0625
    e = 1.0 + y * (
        1.0
        + y
        * (
            0.5
            + y
            * (0.16666666666666666 + y * (0.041666666666666664 + y * (0.008333333333333333 + y * 0.001388888888888889)))
        )
    )
    e = e * e
    e = e * e
    e = e * e
    return e * e


MODULUS_RAW_KPA, MODULUS_RISE_KPA = water.MODULUS_RAW_PA / 1e3, water.MODULUS_RISE_PA / 1e3
HOLDING_PER_K = water.HOLDING_PER_K
MELT_AT_60_C = water.HOLDING_FACTOR * 0.1353352832366127
"""30 exp(-0.25 (60 - 52)): what stands before the falling exponential of the holding capacity at 60 degC."""


@law
def melt_factor(shift_k: Any) -> Any:
    """``MELT_AT_60_C`` for a sigmoid shifted by ``shift_k`` [K], -60..60."""
    return MELT_AT_60_C * exp_near(HOLDING_PER_K * shift_k)


@law
def transport_and_holding(t_c: Any, melt: Any) -> Any:
    """Water transport relative to 70 degC and the share of the holding capacity lost; T in -20..140 degC.

    The transport is Darcy's coefficient E(T)/mu(T): elastic modulus 12 + 83/(1 + exp(-0.3 (T - 60))) kPa and holding
    capacity's share 1/(1 + 30 exp(-0.25 (T - shift - 52))) from van der Sman 2007; viscosity of water (Kestin 1978) as
    the cubic that fits mu(70)/mu(T) within 0.2 % over 0-110 degC. ``melt`` is ``melt_factor`` of the shift. One
    exponential and one division serve both, because both exponents are whole parts of 0.05 (T - 60).
    """
    u = exp_small(3.0 - 0.05 * t_c)
    u2 = u * u
    u4 = u2 * u2
    soft = 1.0 + u4 * u2
    raw = 1.0 + melt * (u4 * u)
    over = 1.0 / (soft * raw)
    thin = 0.225325035 + t_c * (7.91748784e-3 + t_c * (5.28573307e-5 - 1.11531541e-7 * t_c))
    return (MODULUS_RAW_KPA + MODULUS_RISE_KPA * raw * over) * thin * (1.0 / 91.064), soft * over


FREE_WIDTH = 0.2
"""Width of the passage from bound to free water [kg/kg] (from memory): no piece lets go all at one point."""


@law
def free_water(excess: Any) -> Any:
    """Water that flows freely, given the excess over the holding capacity: its positive part, rounded off.

    (e + sqrt(e**2 + w**2)) / 2 with w = ``FREE_WIDTH``. The corner itself would cost a drying front many short steps.
    """
    return 0.5 * (excess + (excess * excess + 0.04) ** 0.5)


@law
def free_share(excess: Any, free: Any) -> Any:
    """Slope of ``free_water`` at ``excess``, given its value there: 0 where all is bound, 1 where all is free."""
    return free / (2.0 * free - excess)


@law
def diffusion_shape(t_c: Any) -> Any:
    """Diffusion of bound water relative to 40 degC, 0..120 degC: Ea 43 kJ/mol (drying beef, Ismail 2018).

    Quintic fit within 0.2 % of the Arrhenius law.
    """
    return 0.0889065620 + t_c * (
        0.00630687346 + t_c * (0.000169162205 + t_c * (4.74394065e-06 + t_c * (8.07903895e-09 + 6.27664996e-10 * t_c)))
    )


SEA_LEVEL_PA = constants.SEA_LEVEL_PA


@law
def saturation_pressure(t_c: Any) -> Any:
    """Vapour pressure over water [Pa], 0..140 degC: sextic in ln p fitted to Wagner & Pruss within 7e-5."""
    log_atm = -5.11063052 + t_c * (
        0.0726643373
        + t_c
        * (
            -0.000298961306
            + t_c * (1.12925297e-06 + t_c * (-3.79848221e-09 + t_c * (9.88170985e-12 - 1.34958609e-14 * t_c)))
        )
    )
    return SEA_LEVEL_PA * exp_near(log_atm)


LATENT_HEAT_0C, LATENT_HEAT_SLOPE = vapour.LATENT_HEAT_0C, vapour.LATENT_HEAT_SLOPE


@law
def latent_heat(t_c: Any) -> Any:
    """Latent heat of evaporation [J/kg], 0..150 degC: 2500.9 - 2.365 T kJ/kg (from memory)."""
    return LATENT_HEAT_0C + LATENT_HEAT_SLOPE * t_c


@law
def surface_activity(x: Any, b: Any) -> Any:
    """Water activity of a surface, ``x`` kg of water per kg of fat-free dry matter (Oswin, exponent 1/2)."""
    return x * x / (x * x + b * b + 1e-30)


MOST_VAPOUR = 0.97
"""Share of the pressure up to which vapour drives the Stefan law, which has no bound where water boils; past that the
boiling of ``STEAM_TAU_S`` takes the heat."""


@law
def log_ratio(pressure: Any, low: Any, high: Any) -> Any:
    """ln((P - low) / (P - high)), both up to ``MOST_VAPOUR`` of P: the driving force of the Stefan law.

    Four times the logarithm of the fourth root by the inverse hyperbolic tangent to the 11th power; relative error
    below 3e-6, and no cancellation where low and high are near to each other.
    """
    inverse = 1.0 / (pressure - high)
    square = np.sqrt((pressure - low) * inverse)
    root = np.sqrt(square)
    z = (high - low) * inverse / ((root + 1.0) * (root + 1.0) * (square + 1.0))
    y = z * z
    return 8.0 * z * (1.0 + y * (1 / 3 + y * (1 / 5 + y * (1 / 7 + y * (1 / 9 + y * (1 / 11))))))


@law
def log_near(x: Any) -> Any:
    """ln x for 1/32 <= x <= 32, relative error below 1e-6: eight times the logarithm of the eighth root."""
    fourth = np.sqrt(x)
    square = np.sqrt(fourth)
    root = np.sqrt(square)
    z = (x - 1.0) / ((root + 1.0) * (root + 1.0) * (square + 1.0) * (fourth + 1.0))
    y = z * z
    return 16.0 * z * (1.0 + y * (1 / 3 + y * (1 / 5 + y * (1 / 7 + y * (1 / 9)))))


@law
def skin_resistance(given: Any, most: Any, middle: Any, steep: Any) -> Any:
    """Resistance of the dried skin to vapour [m2 s/kg], ``most`` E**n / (E**n + E1**n).

    ``given``: vapour that the face has given off bare, E [kg/m2]; ``middle``: E1 [kg/m2]; ``steep``: n, 1..8. E over E1
    is limited to 1/32..32. ``tests.oracles.surface.skin_resistance_hill``.
    """
    ratio = limited(given / middle, 0.03125, 32.0)
    return most / (1.0 + exp_near(limited(-steep * log_near(ratio), -30.0, 30.0)))


@law
def arrhenius(inverse_k: Any, ea_over_r: Any, ref_inverse_k: Any) -> Any:
    """exp(-Ea/R (1/T - 1/Tref)), its exponent limited to +-30; temperatures come in as 1/K, ``ea_over_r`` in K."""
    return exp_near(limited(ea_over_r * (ref_inverse_k - inverse_k), -30.0, 30.0))


AT_90_C, AT_58_C = 1.0 / (90.0 + CELSIUS_ZERO_K), 1.0 / (reaction.COLLAGEN_HALF_AT_C + CELSIUS_ZERO_K)
"""Where the reactions' speeds are given [1/K]."""


@law
def saturation_slope(t_c: Any, saturated: Any) -> Any:
    """Rise of the vapour pressure with temperature [Pa/K] at its value ``saturated``, 0..140 degC.

    Derivative of the Magnus form; within 6 % of the true slope, which is enough for what only steadies the scheme.
    """
    warm = 237.3 + t_c
    return saturated * 4098.0 / (warm * warm)


POOL_FILM_KG_M2 = 0.05
"""Liquid in a wrap that wets the surface wholly [kg/m2]; less wets its share (from memory: a 50 um film)."""

GLAZE_HOLD = 0.15
"""Glaze activity w/(w + 0.15 s): about 0.6 for a honey of 17 % water (from memory)."""

SHRINK_RATE = log(2.0) / reaction.COLLAGEN_HALF_S
"""Native to shrunken collagen at 58 degC [1/s]: half in 11 min (Machlik & Draudt 1963)."""

SHRINK_EA_OVER_R = reaction.COLLAGEN_SHRINK_ACTIVATION / constants.GAS_CONSTANT
"""Its activation temperature [K] (Bertola et al. 1994, below 65 degC)."""

KILL_Z_K, KILL_REF_C = lethality.MEAT_TABLE_Z_K, lethality.EQUIVALENT_AT_C
KILL_PER_K, KILL_MOST = log(10.0) / KILL_Z_K, 12.0 * log(10.0)


@law
def kill_rate(t_c: Any) -> Any:
    """10**((T - 70)/z) with z = 10 degF, the exponent limited to +-12 (the FSIS 2021 meat table's z)."""
    return exp_near(limited((t_c - KILL_REF_C) * KILL_PER_K, -KILL_MOST, KILL_MOST))
