"""What surrounds a piece in one stage, as the kernel wants it: bare, wrapped, in a tray, in a box.

A wrap is data (permeance, leak, emissivity, gap, covered faces); foil, paper, an open tray and an insulated
box are the same code with other numbers. Arguments may be arrays over the members.
"""

from __future__ import annotations

from typing import Any

from pitreckon.catalog import Wrap
from pitreckon.physics.surface import mass_transfer_lewis, radiation_coefficient, vapour_permeance
from pitreckon.section.shapes import SIDE, UNDER, UPPER

FILM_SURFACE_C = 65.0
"""Meat surface taken for film properties and for the radiation of a wrap [degC]; they hardly depend on it."""


def vapour_coefficient(convection_w_m2k: Any, air_c: float, pressure_pa: float) -> Any:
    """Stefan coefficient h_m P / (Rv T_film) that goes with a convection coefficient [kg/m2 s]."""
    film_c = 0.5 * (air_c + FILM_SURFACE_C)
    unit = vapour_permeance(mass_transfer_lewis(1.0, film_c, pressure_pa), film_c) * pressure_pa
    return convection_w_m2k * unit


def covers(wrap: Wrap | None, mirrored: bool) -> dict[int, float]:
    """Covered share of each group of faces; a quarter model's upper group stands for top and underside."""
    if wrap is None:
        return {UPPER: 0.0, UNDER: 0.0, SIDE: 0.0}
    top, under, side = wrap.cover_top.value, wrap.cover_under.value, wrap.cover_side.value
    if mirrored:
        return {UPPER: 0.5 * (top + under), UNDER: 0.5 * (top + under), SIDE: side}
    return {UPPER: top, UNDER: under, SIDE: side}


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
) -> dict[str, Any]:
    """Fields ``convection_*``, ``emissivity_*``, ``vapour_*`` and ``holds_liquid`` of a stage.

    Parameters
    ----------
    air_c: typical air around the piece, for film properties [degC]
    pressure_pa: local pressure [Pa]
    convection_w_m2k: bare convection coefficient [W/m2K]
    emissivity: of the meat [-]
    open_fraction: share of the surface that can dry freely [-]
    mirrored: the section is a quarter model
    wrap: what is round the piece, if anything
    wrap_leak, gap_w_m2k: the wrap's leak [kg/m2 s Pa] and gap [W/m2K] where members differ
    """
    bare_vapour = vapour_coefficient(convection_w_m2k, air_c, pressure_pa) * open_fraction
    share = covers(wrap, mirrored)
    out: dict[str, Any] = {"holds_liquid": 1.0 if wrap is not None and wrap.holds_liquid else 0.0}
    if wrap is not None:
        gap = wrap.gap_conductance_w_m2k.value if gap_w_m2k is None else gap_w_m2k
        leak = wrap.leak_kg_m2_s_pa.value if wrap_leak is None else wrap_leak
        outer = convection_w_m2k + wrap.emissivity.value * radiation_coefficient(FILM_SURFACE_C, air_c, 1.0)
        passed = gap / (gap + outer)  # share of the temperature difference that falls outside the gap
        film = vapour_coefficient(convection_w_m2k, air_c, pressure_pa) / pressure_pa
        through = wrap.vapour_permeance_kg_m2_s_pa.value + leak
        wrap_vapour = pressure_pa / (1.0 / film + 1.0 / (through + 1e-15))
    for group, covered in share.items():
        bare = 1.0 - covered
        convection, radiant, vapour = bare * convection_w_m2k, bare * emissivity, bare * bare_vapour
        if wrap is not None:
            convection = convection + covered * passed * convection_w_m2k
            radiant = radiant + covered * passed * wrap.emissivity.value
            vapour = vapour + covered * wrap_vapour
        out[f"convection_{group}"] = convection
        out[f"emissivity_{group}"] = radiant
        out[f"vapour_{group}"] = vapour
    return out
