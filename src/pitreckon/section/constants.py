"""The model's own constants, each with its spread from animal to animal and where it comes from.

``validation/README.md`` says what was fitted on what, and what was then tested untouched.
"""

from __future__ import annotations

from pitreckon.catalog import Figure
from pitreckon.physics.surface import MEAT_EMISSIVITY, OSWIN_HALF

FITTED = "fitted, see validation/README.md"
MEMORY = "from memory"

CONSTANTS: dict[str, Figure] = {
    "transport_m2_s": Figure(5.0e-8, 0.25, FITTED),  # at 70 degC; spread is of the logarithm
    "diffusion_m2_s": Figure(5.0e-10, 0.4, "drying of beef at 30-60 degC, 0.4e-10 to 14e-10: Mewa 2018, Ismail 2018"),
    "drip_m_s": Figure(5.0e-7, 0.3, FITTED),  # spread of the logarithm
    "hold_drop": Figure(0.55, 0.04, FITTED),
    "hold_shift_k": Figure(0.0, 2.0, "van der Sman 2007; spread from memory"),
    "skin_b": Figure(OSWIN_HALF, 0.2, MEMORY),  # spread of the logarithm
    "gelatin_rate_per_s": Figure(1.89e-4, 0.15, FITTED),  # pork ribs at 90 degC; spread of the logarithm
    "gelatin_ea_j_mol": Figure(83e3, 8e3, "gelatin from fish scale, 2.1 times per 10 K: Olatunji 2017"),
    "colour_rate_per_s": Figure(1.12e-3, 0.15, FITTED),  # a dry surface at 90 degC; spread of the logarithm
    "colour_ea_j_mol": Figure(80e3, 10e3, MEMORY),
    "emissivity": Figure(MEAT_EMISSIVITY, 0.03, "modern long-wave use, from memory"),
    "glaze_set_ratio": Figure(0.25, 0.04, MEMORY),  # kg water per kg solids
    "fat_render": Figure(0.35, 0.1, MEMORY),  # share of the fat that runs off once the collagen is gelatin
    "bone_show": Figure(0.326, 0.05, FITTED),  # shortening of the meat per share of raw mass lost as water
    "bone_k_w_mk": Figure(0.5, 0.1, "cortical 0.55, Lee et al. 2018; cancellous 0.29"),
    "bone_density_kg_m3": Figure(1600.0, 100.0, MEMORY),
    "bone_cp_j_kgk": Figure(1600.0, 150.0, MEMORY),
}


def constant(name: str) -> float:
    """Value of a constant in the unit its name gives."""
    return CONSTANTS[name].value
