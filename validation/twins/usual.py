"""How long such pieces usually take: the middle piece on the usual pit, in steady air, each stage left on time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from pitreckon import catalog
from pitreckon.cook import StagePlan
from pitreckon.physics.air import vapour_pressure_from_humidity_ratio
from pitreckon.section import material
from pitreckon.section.constants import constant
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround

SEA_LEVEL_PA = 101325.0
PIT_HUMIDITY_RATIO = 0.02
HORIZON_S = 24 * 3600.0
UNTIL = {"colour": Until.COLOUR, "tender": Until.TENDER, "core": Until.CORE}


def usual(cut_key: str, pit_key: str, stages: Sequence[StagePlan], set_c: float, mass_kg: float) -> float:
    """Time from put-on to the end of the last stage that ends by colour, feel or core [s]."""
    course = [(s.until.ends_by, s.until.core_c or 1.0, s.wrap) for s in stages if s.until.ends_by in UNTIL]
    cut, pit = catalog.cuts()[cut_key], catalog.pits()[pit_key]
    section = material.section_of(cut)
    air_c = set_c + pit.air.offset_k.value
    size_m = material.size_m(cut) * cut.scale(mass_kg)
    tables: list[dict[str, ArrayLike]] = []
    for what, value, wrap in course:
        fields = surround(
            air_c=air_c,
            pressure_pa=SEA_LEVEL_PA,
            convection_w_m2k=convection(size_m, pit.surface.air_speed_m_s.value, air_c, SEA_LEVEL_PA),
            emissivity=constant("emissivity"),
            open_fraction=cut.surface.open_fraction.value,
            mirrored=section.mirrored,
            wrap=catalog.wraps()[wrap] if wrap else None,
        )
        vapour = vapour_pressure_from_humidity_ratio(PIT_HUMIDITY_RATIO, SEA_LEVEL_PA)
        fields |= {"vapour_pa": vapour, "wall_offset_k": pit.surface.wall_offset_k.value}
        tables.append(fields | {"until": float(UNTIL[what]), "value": value})
    parameters = material.parameters_of(cut, SEA_LEVEL_PA) | {"scale": cut.scale(mass_kg)}
    trace = simulate(
        section,
        Members.of(1, parameters),
        Drive(np.full((2, 1), air_c)),
        Course.of(1, tables),
        horizon_s=HORIZON_S,
        mass=np.array([material.raw_mass_of(cut, section)]),
        threads=1,
    )
    end_s = float(trace.stage_end_s[-1, 0])
    return end_s if np.isfinite(end_s) else HORIZON_S
