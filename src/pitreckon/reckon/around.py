"""What surrounds a piece in each stage of its course, as the kernel's numbers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan
from pitreckon.forms.names import UNWRAPPED
from pitreckon.physics.air import vapour_pressure_from_humidity_ratio
from pitreckon.reckon import pitair
from pitreckon.reckon.draws import ItemDraw, PitDraw
from pitreckon.reckon.measures import colour_of_level
from pitreckon.reckon.stages import PIT_KINDS, STANDING, STANDING_S, STANDING_THIN_S, Stage
from pitreckon.section import material
from pitreckon.section.course import Course, Until
from pitreckon.section.shapes import THICK_HALF_M, UPPER, Section, half_thickness
from pitreckon.section.surroundings import convection, surround

ROOM_SPEED_M_S = 0.1
"""Air of a kitchen or a box: free convection about a warm piece, 5 to 6 W/m2K, and next to no draught (from memory)."""
GLAZE_KG_M2 = 1.8
"""A brushed coat where the cook file does not say: 60 g on a rack's meat face (common practice, no source)."""
GLAZE_WATER = 0.58
"""Water share of a brushed glaze: between a barbecue sauce (55 %) and a ketchup (69 %), USDA SR28 06150, 11935."""
SUGAR_SPEED = 0.6
"""How much faster a sugary rub colours than a plain one, on "some" as 1 (from memory)."""
GLAZE_SUGAR = 1.0
LONGEST_STAGE_S = {"open": 32 * 3600.0, "wrapped": 24 * 3600.0, "sauced": 3600.0}
BELOW_BOIL_K = 1.0
"""How near to the boiling point a core is taken to come [K]: it creeps up on it."""
TENT = "foil"
"""What is laid over a piece that rests or stands ready, unless the cook says otherwise."""


@dataclass(frozen=True)
class Around:
    """Turns a stage into the numbers that surround the piece in it."""

    cook: Cook
    item: ItemPlan
    cut: Cut
    section: Section
    draw: ItemDraw
    pit: PitDraw
    set_c: float
    pit_vapour_pa: Floats
    pressure_pa: float
    ratio: float

    def course(self, stages: tuple[Stage, ...], zero: float, now_s: float) -> Course:
        """All stages, and the time after them."""
        tables = [*(self.stage(stage, zero, now_s) for stage in stages), self.standing(stages)]
        return Course.of(self.draw.members.size, tables, [*(stage.plan.kind for stage in stages), STANDING])

    def stage(self, stage: Stage, zero: float, now_s: float) -> dict[str, ArrayLike]:
        """Kernel fields of one stage."""
        plan = stage.plan
        fields = self._surround(stage)
        fields |= self._until(stage, zero)
        if stage.ended_utc is not None:
            fields["forced_s"] = stage.ended_utc.timestamp() - zero
        elif stage.there:
            fields["forced_s"] = now_s
        elif stage.running:
            fields["not_before_s"] = now_s
        if plan.kind in PIT_KINDS:
            fields["longest_s"] = LONGEST_STAGE_S[plan.kind]
        fields["sugar"] = SUGAR_SPEED * (self.item.sugar - 0.5)
        fields["liquid"] = plan.liquid_kg / self.item.mass_kg
        if plan.kind == "sauced":
            coat = GLAZE_KG_M2 if plan.glaze_kg is None else plan.glaze_kg / self._area_m2()
            fields["glaze_water"] = coat * GLAZE_WATER
            fields["glaze_solid"] = coat * (1.0 - GLAZE_WATER)
            fields["sugar"] = GLAZE_SUGAR
        return fields

    def standing(self, stages: tuple[Stage, ...]) -> dict[str, ArrayLike]:
        """The time after the course: as in a last hold, else indoors under foil, as cooks do."""
        last = stages[-1]
        fields = self._surround(last) if last.plan.kind == "hold" else self._off_pit(pitair.ROOM_C, TENT)
        thin = last.plan.kind != "hold" and half_thickness(self.section) < THICK_HALF_M
        return fields | {"until": Until.NEVER, "longest_s": STANDING_THIN_S if thin else STANDING_S}

    def _surround(self, stage: Stage) -> dict[str, ArrayLike]:
        plan = stage.plan
        if plan.kind not in PIT_KINDS:
            # Meat rests and stands indoors, under foil, unless the cook says otherwise.
            wrap = stage.wrap or (None if plan.wrap == UNWRAPPED else TENT)
            return self._off_pit(pitair.ROOM_C if plan.air_c is None else plan.air_c, wrap)
        fields = self._faces(self.set_c, self.pit.air_speed_m_s, stage.wrap, glazed=plan.kind == "sauced")
        fields |= {
            "vapour_pa": self.pit_vapour_pa,
            "wall_offset_k": self.pit.wall_offset_k,
            "lid_dip_k": self.pit.lid_dip_k,
            "lid_recovery_s": self.pit.lid_recovery_s,
        }
        return fields

    def _off_pit(self, air_c: float, wrap: str | None) -> dict[str, ArrayLike]:
        fields = self._faces(air_c, ROOM_SPEED_M_S * np.ones(self.draw.members.size), wrap)
        return fields | {
            "off_pit": 1.0,
            "air_c": air_c,
            "vapour_pa": vapour_pressure_from_humidity_ratio(self.ratio, self.pressure_pa),
        }

    def _faces(
        self, air_c: float, speed_m_s: Floats, wrap_key: str | None, *, glazed: bool = False
    ) -> dict[str, ArrayLike]:
        wrap = catalog.wraps()[wrap_key] if wrap_key else None
        size_m = material.size_m(self.cut, self.item.thickness_factor) * self.draw.members["scale"]
        return surround(
            air_c=air_c,
            pressure_pa=self.pressure_pa,
            convection_w_m2k=convection(size_m, speed_m_s, air_c, self.pressure_pa),
            emissivity=self.draw.emissivity,
            open_fraction=self.draw.open_fraction,
            mirrored=self.section.mirrored,
            wrap=wrap,
            wrap_leak=self.draw.leak(wrap) if wrap else None,
            gap_w_m2k=self.draw.gap(wrap) if wrap else None,
            wrap_permeance=self.draw.permeance(wrap) if wrap else None,
            wrap_emissivity=self.draw.sheen(wrap) if wrap else None,
            cavity=material.cavity_share(self.cut),
            glazed=glazed,
        )

    def _until(self, stage: Stage, zero: float) -> dict[str, ArrayLike]:
        until = stage.plan.until
        match until.ends_by:
            case "colour":
                dark = self.cut.colour.dark_level.value / self.cut.colour.set_level.value
                return {"until": Until.COLOUR, "value": colour_of_level(until.level, dark)}
            case "tender":
                return {"until": Until.TENDER, "value": min(until.level, 1.2)}
            case "core":
                # Wet meat cannot be hotter than water boils here; a target above that is just below it.
                return {"until": Until.CORE, "value": np.minimum(until.core_c or 0.0, self._boil() - BELOW_BOIL_K)}
            case "minutes":
                return {"until": Until.MINUTES, "value": until.duration_s or 0.0}
            case "clock":
                at = until.at_utc.timestamp() - zero if until.at_utc else 0.0
                return {"until": Until.CLOCK, "value": at}
            case _:
                return {"until": Until.GLAZE}

    def _boil(self) -> Floats:
        return self.draw.members["boil_c"]

    def _area_m2(self) -> float:
        """Area that is brushed: the upper faces."""
        brushed = self.section.outer_area[self.section.outer_group == UPPER]
        per_kg = float(np.sum(brushed)) / material.raw_mass_of(self.cut, self.section)
        return per_kg * self.item.mass_kg / self.cut.scale(self.item.mass_kg)
