"""What surrounds a piece in one stage, as the kernel wants it: bare, wrapped, in a tray, in a box.

A wrap is data (permeance, leak, emissivity, gap, covered faces); foil, paper, an open tray and an insulated
box are the same code with other numbers. Arguments may be arrays over the members.
"""

from typing import Any

import numpy as np

from pitreckon.catalog import Wrap
from pitreckon.physics.constants import GRAVITY, ZERO_CELSIUS_K
from pitreckon.physics.convection import FORCED, FREE, MIXED_EXPONENT, air_film
from pitreckon.physics.surface import mass_transfer_lewis, radiation_coefficient, vapour_permeance
from pitreckon.section.shapes import CAVITY, SIDE, UNDER, UPPER

FILM_SURFACE_C = 65.0
"""Meat surface taken for film properties and for the radiation of a wrap [degC]; they hardly depend on it."""
LEAST_LIFT_K = 5.0
"""Difference of air and surface below which free convection is taken as at this one [K]."""


def convection(size_m: Any, speed_m_s: Any, air_c: float, pressure_pa: float) -> Any:
    """Convection about a piece [W/m2K]: forced and free convection of ``physics.convection`` in one, over arrays.

    size_m: side of a square as large as the piece's plan (``material.size_m`` times the member's scale) [m]
    speed_m_s: of the pit's air, 0 and more [m/s]
    air_c: typical air around the piece [degC]
    pressure_pa: local pressure [Pa]
    """
    film = air_film(air_c, FILM_SURFACE_C, pressure_pa)
    size, speed = np.asarray(size_m, dtype=np.float64), np.asarray(speed_m_s, dtype=np.float64)
    pr = film.prandtl
    reynolds = np.maximum(speed * size / film.viscosity, 0.2 / pr)
    rest, flow, side, turns = FORCED
    laminar = flow * np.sqrt(reynolds) * pr ** (1 / 3) / (1.0 + (side / pr) ** (2 / 3)) ** 0.25
    forced = rest + laminar * (1.0 + (reynolds / turns) ** (5 / 8)) ** 0.8
    rest, of_lift, side = FREE
    lift = GRAVITY * max(abs(air_c - FILM_SURFACE_C), LEAST_LIFT_K) / (film.temp_c + ZERO_CELSIUS_K)
    rayleigh = lift * size**3 / (film.viscosity * film.diffusivity)
    free = (rest + of_lift * rayleigh ** (1 / 6) / (1.0 + (side / pr) ** (9 / 16)) ** (8 / 27)) ** 2
    nusselt = (forced**MIXED_EXPONENT + free**MIXED_EXPONENT) ** (1.0 / MIXED_EXPONENT)
    return nusselt * film.conductivity / size


def vapour_coefficient(convection_w_m2k: Any, air_c: float, pressure_pa: float) -> Any:
    """Stefan coefficient h_m P / (Rv T_film) that goes with a convection coefficient [kg/m2 s]."""
    film_c = 0.5 * (air_c + FILM_SURFACE_C)
    unit = vapour_permeance(mass_transfer_lewis(1.0, film_c, pressure_pa), film_c) * pressure_pa
    return convection_w_m2k * unit


def covers(wrap: Wrap | None, mirrored: bool) -> dict[int, float]:
    """Covered share of each group of faces; a quarter model's upper group stands for top and underside."""
    if wrap is None:
        return {UPPER: 0.0, UNDER: 0.0, SIDE: 0.0, CAVITY: 0.0}
    top, under, side = wrap.cover_top.value, wrap.cover_under.value, wrap.cover_side.value
    if mirrored:
        return {UPPER: 0.5 * (top + under), UNDER: 0.5 * (top + under), SIDE: side, CAVITY: side}
    return {UPPER: top, UNDER: under, SIDE: side, CAVITY: side}


def surround(
    *,
    air_c: float,
    pressure_pa: float,
    convection_w_m2k: Any,
    emissivity: Any,
    open_fraction: Any,
    mirrored: bool,
    wrap: Wrap | None = None,
    wrap_leak: Any = None,
    gap_w_m2k: Any = None,
    wrap_permeance: Any = None,
    wrap_emissivity: Any = None,
    cavity: float = 0.0,
    glazed: bool = False,
) -> dict[str, Any]:
    """Fields ``convection_*``, ``emissivity_*``, ``vapour_*``, ``through_*`` and ``holds_liquid`` of a stage.

    Bare faces have the Stefan coefficient ``vapour``, on which the skin acts; wrapped ones ``through``, of film and
    wrap in series (``tests.oracles.surface.evaporation_flux_wrapped_stefan``).

    air_c: typical air around the piece, for film properties [degC]
    pressure_pa: local pressure [Pa]
    convection_w_m2k: bare convection coefficient [W/m2K]
    emissivity: of the meat [-]
    open_fraction: share of the surface that can dry freely [-]
    mirrored: the section is a quarter model
    wrap: what is round the piece, if anything
    wrap_leak, gap_w_m2k, wrap_permeance, wrap_emissivity: the wrap's leak [kg/m2 s Pa], gap [W/m2K], permeance
        [kg/m2 s Pa] and emissivity of its outside [-] where members differ
    cavity: what reaches the wall of a bird's cavity of the exchange that its skin has [-]
    glazed: a glaze is brushed on the upper faces: it dries over fat and skin as over meat
    """
    film = vapour_coefficient(convection_w_m2k, air_c, pressure_pa)
    bare_vapour = film * open_fraction
    share = covers(wrap, mirrored)
    out: dict[str, Any] = {"holds_liquid": 1.0 if wrap is not None and wrap.holds_liquid else 0.0}
    if wrap is not None:
        gap = wrap.gap_conductance_w_m2k.value if gap_w_m2k is None else gap_w_m2k
        leak = wrap.leak_kg_m2_s_pa.value if wrap_leak is None else wrap_leak
        sheen = wrap.emissivity.value if wrap_emissivity is None else wrap_emissivity
        outer = convection_w_m2k + sheen * radiation_coefficient(FILM_SURFACE_C, air_c, 1.0)
        passed = gap / (gap + outer)  # share of the temperature difference that falls outside the gap
        sheet = wrap.vapour_permeance_kg_m2_s_pa.value if wrap_permeance is None else wrap_permeance
        through = sheet + leak
        wrap_vapour = pressure_pa / (pressure_pa / film + 1.0 / (through + 1e-15))
    for group, covered in share.items():
        bare = 1.0 - covered
        reaches = cavity if group == CAVITY else 1.0
        passing, radiant, wrapped = bare * convection_w_m2k, bare * emissivity, 0.0
        if wrap is not None:
            passing = passing + covered * passed * convection_w_m2k
            radiant = radiant + covered * passed * sheen
            wrapped = covered * wrap_vapour
        out[f"convection_{group}"] = reaches * passing
        out[f"emissivity_{group}"] = reaches * radiant
        out[f"vapour_{group}"] = reaches * bare * (film if glazed and group == UPPER else bare_vapour)
        out[f"through_{group}"] = reaches * wrapped
    return out
