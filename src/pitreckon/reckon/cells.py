"""What a kept ensemble holds, by name: heat, temperature, water and collagen of every cell, colour of every face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.physics.constants import WATER_HEAT_CAPACITY
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from pitreckon.section.snapshot import DONE, EXTRAS, Snapshot
from pitreckon.section.tally import DRIPPED, EVAPORATED, HEAT_IN, HEAT_OUT, TALLIES


@dataclass(frozen=True)
class Cells:
    """Members as they stand at a knot, in the section's own measure (per piece, per metre or per square metre).

    heat_j_m3: enthalpy over that of the same dry matter and water at 0 degC, (cells, members)
    temp_c: [degC], (cells, members); water: [kg/kg] per fat-free dry matter, nan in bone alone, (cells, members)
    turned: share of the collagen that has become gelatin [-], nan in bone alone, (cells, members)
    colour: of the outer faces, 1 is a set colour [-], (faces, members)
    evaporated_kg, dripped_kg, heat_in_j, heat_out_j: since put-on, (members,)
    heat_start_j, water_start_kg: in the section at put-on, (members,)
    alive: whose course is not over; the numbers of the others are nan
    """

    heat_j_m3: Floats
    temp_c: Floats
    water: Floats
    turned: Floats
    colour: Floats
    evaporated_kg: Floats
    dripped_kg: Floats
    heat_in_j: Floats
    heat_out_j: Floats
    heat_start_j: Floats
    water_start_kg: Floats
    alive: Bools


def cells_of(kept: Snapshot, section: Section, members: Members) -> Cells:
    """The numbers of kept members by name; the order of a column's rows is the kernel's (``compiled.kernel.put_down``).

    A member keeps the heat and the water of its cells; the temperature follows as the kernel has it: heat over the
    heat capacity of dry matter, water and bone.
    """
    cells, faces = section.cells, section.outer_cell.size
    alive = kept.columns[-EXTRAS] != DONE
    columns = np.where(alive, kept.columns, np.nan)
    tallies = TALLIES + 2 * faces
    rows = iter(np.split(columns, np.cumsum([cells, cells, tallies, tallies, cells, cells, cells, faces])))
    heat, water, tally, _lost, gelatin, _shrunk, _kill, colour, rest = rows
    bone = section.bone[:, None]
    flesh = bone < 1.0
    wet = members["dry_density"] * (members["dry_cp"] + WATER_HEAT_CAPACITY * water)
    capacity = (1.0 - bone) * wet + bone * members["bone_capacity"]
    return Cells(
        heat_j_m3=heat,
        temp_c=heat / capacity,
        water=np.where(flesh, water, np.nan),
        turned=np.where(flesh, -np.expm1(-gelatin), np.nan),
        colour=colour,
        evaporated_kg=tally[EVAPORATED],
        dripped_kg=tally[DRIPPED],
        heat_in_j=tally[HEAT_IN],
        heat_out_j=tally[HEAT_OUT],
        heat_start_j=rest[-1],
        water_start_kg=rest[-2],
        alive=alive,
    )
