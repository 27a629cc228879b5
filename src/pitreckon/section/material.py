"""From a cut of the catalog to a section and the parameters of its meat."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.catalog import Ball, Bird, Block, Cut, Drum, Rack, Slab
from pitreckon.catalog.shapes import plan_area_m2
from pitreckon.physics import food
from pitreckon.physics.constants import GAS_CONSTANT
from pitreckon.physics.vapour import boiling_point
from pitreckon.section import shapes
from pitreckon.section.constants import Values, constant, values_with

F = TypeVar("F", float, NDArray[np.float64])

_RAW_C = 5.0
_COOKING_C = 60.0


@dataclass(frozen=True)
class Meat:
    """What the composition of a cut says, in the section's terms.

    density_kg_m3: raw, without bone; dry_density_kg_m3: fat-free dry matter per volume; water: kg per kg of
    it; fat: kg per kg of it; dry_cp_j_kgk: of dry matter and fat, per kg of fat-free dry matter;
    k_base, k_temp, k_water: conductivity k_base + k_temp T + k_water X [W/m K].
    """

    density_kg_m3: float
    dry_density_kg_m3: float
    water: float
    fat: float
    dry_cp_j_kgk: float
    k_base: float
    k_temp: float
    k_water: float


def meat_of(cut: Cut) -> Meat:
    """Choi-Okos properties of a cut's composition; its conductivity fitted over 5-95 degC, wet to half dry.

    The fit is within 4 % of the Maxwell-Eucken value that it stands for (held by a test).
    """
    c = cut.composition
    whole = food.Composition(water=c.water.value, protein=c.protein.value, fat=c.fat.value, ash=c.ash.value)
    total = whole.total
    dry = whole.fat_free_dry / total
    density = food.density(whole, _RAW_C)
    solids: tuple[tuple[food.Component, float], ...] = (
        ("protein", whole.protein),
        ("fat", whole.fat),
        ("ash", whole.ash),
    )
    solids_cp = sum(share / total * food.heat_capacity_choi_okos(name, _COOKING_C) for name, share in solids)
    rows, values = [], []
    for temp_c in (5.0, 35.0, 65.0, 95.0):
        for kept in (1.0, 0.75, 0.5):
            parts = {
                "water": whole.water * kept,
                "protein": whole.protein,
                "fat": whole.fat,
                "ash": whole.ash,
            }
            left = sum(parts.values())
            mixed = food.Composition(**{k: v / left for k, v in parts.items()})
            rows.append([1.0, temp_c, kept * whole.water_per_dry])
            values.append(food.conductivity(mixed, temp_c))
    k_base, k_temp, k_water = np.linalg.lstsq(np.array(rows), np.array(values), rcond=None)[0]
    return Meat(
        density_kg_m3=density,
        dry_density_kg_m3=density * dry,
        water=whole.water_per_dry,
        fat=whole.fat / whole.fat_free_dry,
        dry_cp_j_kgk=solids_cp / dry,
        k_base=float(k_base),
        k_temp=float(k_temp),
        k_water=float(k_water),
    )


def section_of(cut: Cut, *, thickness_factor: float = 1.0, finer: float = 1.0) -> shapes.Section:
    """The section of a cut at its catalog mass.

    cut: of the catalog
    thickness_factor: thickness over the cut's usual one, length and width unchanged (a rack trimmed thinner)
    finer: multiplies the number of cells in each direction and divides the surface spacing
    """

    def cells(n: int) -> int:
        return max(2, round(n * finer))

    spacing, thick_spacing = shapes.SURFACE_SPACING_M / finer, shapes.THICK_SPACING_M / finer
    match cut.shape:
        case Rack() as s:
            thick = s.thickness_m.value * thickness_factor
            return shapes.rack(
                thick,
                s.bone_spacing_m.value,
                s.bone_half_width_m.value,
                min(s.bone_half_height_m.value, 0.45 * thick),
                min(s.bone_depth_m.value, thick - 1.1 * s.bone_half_height_m.value),
                nx=cells(5),
                ny=cells(16) + 1,
                spacing_m=spacing,
            )
        case Block() as s:
            return shapes.block(
                s.thickness_m.value * thickness_factor,
                s.width_m.value,
                nx=cells(10),
                ny=cells(10),
                spacing_m=thick_spacing,
            )
        case Drum() as s:
            return shapes.drum(
                s.height_m.value * (1.0 if s.long else thickness_factor),
                s.diameter_m.value * (thickness_factor if s.long else 1.0),
                nx=cells(10),
                ny=cells(10),
                spacing_m=thick_spacing,
            )
        case Slab() as s:
            return shapes.slab(s.thickness_m.value * thickness_factor, n=cells(20) + 1, spacing_m=spacing)
        case Ball() as s:
            return shapes.ball(s.diameter_m.value * thickness_factor, n=cells(16), spacing_m=spacing)
        case Bird() as s:
            return shapes.bird(
                s.length_m.value,
                s.diameter_m.value * thickness_factor,
                s.cavity_m.value * thickness_factor,
                nx=cells(14),
                ny=cells(8),
                spacing_m=thick_spacing,
            )


def size_m(cut: Cut, thickness_factor: float = 1.0) -> float:
    """What air that passes the piece meets [m]: the side of a square as large as its plan, at its catalog mass."""
    return float(np.sqrt(plan_area_m2(cut.shape, thickness_factor)))


def size_share(cut: Cut) -> float:
    """Change of a piece's size that a change of its thickness at the same weight comes to, as a share of it [-].

    A slab that is a tenth thicker takes as long as one that is a tenth larger all over. A drum that is taller at the
    same weight is narrower, and heat comes in from its sides too: what counts is its volume over its surface.
    """
    match cut.shape:
        case Drum() as s:
            ends, side = s.diameter_m.value / 2.0, s.height_m.value  # over pi times the diameter
            return float((ends - 0.5 * side) / (ends + side))
        case Block() as s:  # the section knows no ends
            return float(s.width_m.value / (s.width_m.value + s.thickness_m.value))
        case _:
            return 1.0


def cavity_share(cut: Cut) -> float:
    """What reaches the wall of a bird's cavity of the exchange that the skin has [-]."""
    return cut.shape.cavity_share.value if isinstance(cut.shape, Bird) else 0.0


def raw_mass_of(cut: Cut, section: shapes.Section) -> float:
    """Mass of the section with its bone [kg, in the section's own measure].

    Bones that the section does not draw (a butt's blade) count by the cut's bone share of the mass.
    """
    meat = float(np.sum(section.volume * (1.0 - section.bone))) * meat_of(cut).density_kg_m3
    bone = float(np.sum(section.volume * section.bone)) * constant("bone_density_kg_m3")
    if bone > 0.0:
        return meat + bone
    return meat / (1.0 - cut.composition.bone_fraction.value)


def covered_surface_factor(open_fraction: F) -> F:
    """What skin, fat cap or membrane make of the water transport coefficients [-]: the open share squared.

    Water leaves through the open share ``f`` of the surface only. A drying body gives off water as the square
    root of its transport coefficient (the solution for a half space), so ``f`` of the flow is ``f**2`` of the
    coefficient.
    """
    return open_fraction**2


def parameters_of(cut: Cut, pressure_pa: float, values: Values | None = None) -> dict[str, Floats | float]:
    """The middle member: every parameter of ``members.PARAMETERS`` at its catalog or fitted value.

    ``values``: those of ``constants.values_with``, to put others in the place of the catalog's constants; where one is
    an array over members, so is what hangs on it.
    """
    of = values_with() if values is None else values
    meat, conducts = meat_of(cut), of["conductivity_factor"]
    covered = covered_surface_factor(cut.surface.open_fraction.value)
    return {
        "scale": 1.0,
        "start_c": 4.0,
        "water": meat.water,
        "dry_density": meat.dry_density_kg_m3,
        "dry_cp": meat.dry_cp_j_kgk,
        "k_base": meat.k_base * conducts,
        "k_temp": meat.k_temp * conducts,
        "k_water": meat.k_water * conducts,
        "bone_k": of["bone_k_w_mk"],
        "bone_capacity": of["bone_density_kg_m3"] * of["bone_cp_j_kgk"],
        "transport": of["transport_m2_s"] * covered,
        "diffusion": of["diffusion_m2_s"] * covered,
        "hold_shift": of["hold_shift_k"],
        "hold_drop": of["hold_drop"],
        "drip": of["drip_m_s"],
        "drink": of["drink_m_s"],
        "skin_b": of["skin_b"],
        "skin_r": of["skin_r_m2s_kg"],
        "skin_e": of["skin_e_kg_m2"],
        "skin_n": of["skin_n"],
        "gelatin_rate": of["gelatin_rate_per_s"] * cut.texture.collagen_rate.value,
        "gelatin_ea_over_r": of["gelatin_ea_j_mol"] / GAS_CONSTANT,
        "colour_rate": of["colour_rate_per_s"] * cut.colour.rate_factor.value / cut.colour.set_level.value,
        "colour_ea_over_r": of["colour_ea_j_mol"] / GAS_CONSTANT,
        "colour_floor": of["colour_floor"],
        "tender_at": cut.texture.tender_conversion.value,
        "soft_at": cut.texture.past_conversion.value,
        "dark_at": cut.colour.dark_level.value / cut.colour.set_level.value,
        "core_done_c": cut.texture.done_core_c.value,
        "glaze_set_at": of["glaze_set_ratio"],
        "pressure_pa": pressure_pa,
        "boil_c": boiling_point(pressure_pa),
    }
