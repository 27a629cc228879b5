"""Frozen meat on its way back: the heat that it takes, and how long that takes to get in."""

from typing import Final

from pitreckon.physics._ranges import above_zero, within

ICE_HEAT_J_KG: Final = 333.6e3
"""Latent heat of fusion of water at 0 degC [J/kg]"""
MEAT_FREEZING_C: Final = -1.7
"""Where fresh meat begins to freeze, from memory; beef, pork and poultry lie between -2.8 and -0.8 [degC]"""


def enthalpy_chen(temp_c: float, water: float, protein: float, freezing_c: float = MEAT_FREEZING_C) -> float:
    """Enthalpy of meat above that at -40 degC, through freezing [J/kg].

    Equation::

        solids, bound = 1 - water, min(0.4 * protein, water)
        low = min(temp_c, freezing_c)
        ice = (water - bound) * 333.6 * freezing_c / (-40 * low)
        frozen = (low + 40) * (1.55 + 1.26 * solids - ice)
        thawed = (temp_c - low) * (4.19 - 2.30 * solids - 0.628 * solids**3)
        enthalpy = 1000 * (frozen + thawed)

    Parameters
    ----------
    temp_c: -40 to 40 [degC]
    water, protein: mass fractions; 0.1 to 0.95, 0 to 0.5. Bound water is 0.4 of the protein [kg/kg]
    freezing_c: where freezing begins, -5 to -0.3 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [chen_1985]_, from memory; the value is computed here.

    >>> round(enthalpy_chen(-1.7, 0.745, 0.21) / 1e3, 1)
    282.8
    """
    within("temp_c", temp_c, -40.0, 40.0, "degC")
    within("water", water, 0.1, 0.95, "kg/kg")
    within("protein", protein, 0.0, 0.5, "kg/kg")
    within("freezing_c", freezing_c, -5.0, -0.3, "degC")
    solids = 1.0 - water
    bound = min(0.4 * protein, water)

    def frozen(at_c: float) -> float:
        ice_part = (water - bound) * (ICE_HEAT_J_KG / 1e3) * freezing_c / (-40.0 * at_c)
        return (at_c + 40.0) * (1.55 + 1.26 * solids - ice_part) * 1e3

    if temp_c <= freezing_c:
        return frozen(temp_c)
    return frozen(freezing_c) + (temp_c - freezing_c) * (4.19 - 2.30 * solids - 0.628 * solids**3) * 1e3


def _check(thickness_m: float, convection_w_m2k: float, conductivity_w_mk: float, drive_k: float) -> None:
    above_zero("thickness_m", thickness_m, 1.0, "m")
    above_zero("convection_w_m2k", convection_w_m2k, 1e4, "W/m2K")
    above_zero("conductivity_w_mk", conductivity_w_mk, 10.0, "W/mK")
    above_zero("drive_k", drive_k, 60.0, "K")


def thaw_time_cleland(
    thickness_m: float,
    convection_w_m2k: float,
    conductivity_w_mk: float,
    drive_k: float,
    melt_j_m3: float,
    thawed_j_m3k: float,
    frozen_j_m3k: float,
    below_k: float,
) -> float:
    """Time for the centre of a frozen slab to reach 0 degC [s].

    Equation::

        biot = convection_w_m2k * thickness_m / conductivity_w_mk
        stefan, plank = thawed_j_m3k * drive_k / melt_j_m3, frozen_j_m3k * below_k / melt_j_m3
        fourier = 1.4291 * (0.5 / (biot * stefan) + 0.125 / stefan)**1.0248 * stefan**0.2712 * plank**0.0610
        time_s = fourier * thickness_m**2 * thawed_j_m3k / conductivity_w_mk

    Parameters
    ----------
    thickness_m: whole thickness, above 0 to 1 [m]
    convection_w_m2k: at both faces, above 0 to 1e4 [W/m2K]
    conductivity_w_mk: of thawed meat, above 0 to 10 [W/mK]
    drive_k: surroundings above the freezing point, above 0 to 60 [K]
    melt_j_m3: enthalpy from -10 to 0 degC, 1e6 to 5e8 [J/m3]
    thawed_j_m3k, frozen_j_m3k: heat capacities of thawed and of fully frozen meat, 1e5 to 1e7 [J/m3K]
    below_k: start below the freezing point, above 0 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: the abstract (seen) gives 10 % against 104 experiments with a food analogue. For meat in a refrigerator
    and in cold water the tests hold it against a numerical solution of their own, within 15 %.

    Source: [cleland_1986]_, its coefficients from memory; the value, a slab of 5 cm in a refrigerator, is
    computed here.

    >>> round(thaw_time_cleland(0.05, 8.0, 0.48, 5.7, 2.2e8, 3.6e6, 1.9e6, 16.3) / 3600, 1)
    28.4
    """
    _check(thickness_m, convection_w_m2k, conductivity_w_mk, drive_k)
    within("melt_j_m3", melt_j_m3, 1e6, 5e8, "J/m3")
    within("thawed_j_m3k", thawed_j_m3k, 1e5, 1e7, "J/m3K")
    within("frozen_j_m3k", frozen_j_m3k, 1e5, 1e7, "J/m3K")
    above_zero("below_k", below_k, 50.0, "K")
    biot = convection_w_m2k * thickness_m / conductivity_w_mk
    stefan = thawed_j_m3k * drive_k / melt_j_m3
    plank_number = frozen_j_m3k * below_k / melt_j_m3
    base = 0.5 / (biot * stefan) + 0.125 / stefan
    fourier: float = 1.4291 * base**1.0248 * stefan**0.2712 * plank_number**0.0610
    return fourier * thickness_m**2 * thawed_j_m3k / conductivity_w_mk


def heat_dimension_hossain(half_biot: float, section_ratio: float, volume_ratio: float) -> float:
    """How many times faster a piece freezes or thaws than a slab of its shortest thickness, 1 to 3 [-].

    Equation::

        flat = (1 + 2 / half_biot) / (section_ratio**2 + 2 * section_ratio / half_biot)
        long = (1 + 2 / half_biot) / (volume_ratio**2 + 2 * volume_ratio / half_biot)
        dimension = 1 + flat + long

    Parameters
    ----------
    half_biot: convection times half the shortest thickness over conductivity, above 0 to 1e4 [-]
    section_ratio: smallest section through the middle over pi half-thickness squared, 1 to 1e6 [-]
    volume_ratio: 3 V / (4 pi half-thickness cubed), over section_ratio, 1 to 1e6 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [hossain_1992]_, from memory: a piece stands for the ellipsoid of its thickness, section and volume;
    a ball has 3.

    >>> heat_dimension_hossain(2.0, 1.0, 1.0)
    3.0
    """
    above_zero("half_biot", half_biot, 1e4)
    within("section_ratio", section_ratio, 1.0, 1e6)
    within("volume_ratio", volume_ratio, 1.0, 1e6)
    return 1.0 + sum(
        (1.0 + 2.0 / half_biot) / (ratio**2 + 2.0 * ratio / half_biot) for ratio in (section_ratio, volume_ratio)
    )
