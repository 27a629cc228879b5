"""The middle member of a cut through a course, in air that stays as it is.

The middle member has every parameter at its catalog or fitted value; no ensemble, no pit behaviour.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from pitreckon import catalog
from pitreckon.catalog import Block, Cut, Drum, Figure, Slab, Wrap
from pitreckon.physics.air import vapour_pressure_from_humidity_ratio
from pitreckon.physics.vapour import saturation_pressure
from pitreckon.reckon import pitair
from pitreckon.reckon.draws import draw_pit, named
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.section import material
from pitreckon.section.constants import constant
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.laws import MOST_VAPOUR
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround
from pitreckon.section.trace import Trace

SEA_LEVEL_PA = 101325.0
DRY_OVEN_RATIO = 0.015
"""Humidity ratio of a chamber that is no pit of the catalog's and that its paper calls dry (from memory)."""
ASSUMED = "assumed for a validation run"

worst_balance = 0.0
"""Largest relative fault of a heat or water balance over all runs so far."""
evaporates = True
"""False inside ``still_surface``."""


@contextmanager
def still_surface() -> Iterator[None]:
    """No vapour leaves or meets any surface in here: all coefficients are 0. Only what is hotter than boiling boils."""
    global evaporates  # noqa: PLW0603
    forget()
    evaporates = False
    try:
        yield
    finally:
        evaporates = True
        forget()


def nothing_evaporates(measure: Callable[[], float]) -> Callable[[], float]:
    """The same number of the same set-ups with ``still_surface``."""

    def bound() -> float:
        with still_surface():
            return measure()

    return bound


def forget() -> None:
    """Drop what the checks have kept of their runs; called where other constants or laws come into force."""
    for name, module in list(sys.modules.items()):
        if name.startswith("validation.") and ".practice" not in name:
            for held in list(vars(module).values()):
                if callable(getattr(held, "cache_clear", None)) and getattr(held, "__module__", "") == name:
                    held.cache_clear()


def from_f(temp_f: float) -> float:
    """[degF] to [degC]."""
    return (temp_f - 32.0) / 1.8


def to_f(temp_c: float) -> float:
    """[degC] to [degF]."""
    return temp_c * 1.8 + 32.0


@dataclass(frozen=True)
class Chamber:
    """Air around the meat: temperature, convection (or the speed that makes it), walls against air, vapour pressure.

    pit: key of the catalog's pit whose own damp, of fire, weather and meat, goes in place of ``vapour_pa``
    """

    air_c: float
    convection_w_m2k: float = 0.0
    wall_offset_k: float = 0.0
    vapour_pa: float = vapour_pressure_from_humidity_ratio(DRY_OVEN_RATIO, SEA_LEVEL_PA)
    air_speed_m_s: float | None = None
    pit: str | None = None

    def __post_init__(self) -> None:
        """The kernel's Stefan law holds up to 0.97 of the air's pressure."""
        if not 0.0 <= self.vapour_pa <= MOST_VAPOUR * SEA_LEVEL_PA:
            raise ValueError(f"vapour at {self.vapour_pa:.0f} Pa is outside the model's range, 0 to 0.97 P")

    def convection(self, size_m: float) -> float:
        """Convection about a piece of a size [W/m2K]."""
        if self.air_speed_m_s is None:
            return self.convection_w_m2k
        return float(convection(size_m, self.air_speed_m_s, self.air_c, SEA_LEVEL_PA))

    def humid(self, relative_humidity: float) -> Chamber:
        """The same air at a relative humidity [0-1] of its own temperature."""
        return replace(self, vapour_pa=relative_humidity * saturation_pressure(self.air_c), pit=None)

    def vapour(self, meat_kg: float) -> float:
        """Vapour pressure with so much meat in it [Pa]."""
        if self.pit is None:
            return self.vapour_pa
        pit, middle = catalog.pit(self.pit), draw_pit(catalog.pit(self.pit), named(np.zeros((len(UNKNOWNS), 1))))
        weather = pitair.ambient_ratio(None, None, SEA_LEVEL_PA)
        fuel = catalog.fuels()[pit.fuel]
        inside = pitair.pit_vapour(pit, fuel, middle, self.air_c, None, weather, meat_kg, SEA_LEVEL_PA)
        return float(inside[0])


def pit(air_f: float, kind: str = "pellet-cooker") -> Chamber:
    """The catalog's pit with its air at a temperature [degF] and as damp as the product takes it; sea level."""
    surface = catalog.pit(kind).surface
    return Chamber(
        from_f(air_f), wall_offset_k=surface.wall_offset_k.value, air_speed_m_s=surface.air_speed_m_s.value, pit=kind
    )


def oven(air_c: float) -> Chamber:
    """The catalog's kitchen oven without a fan at a temperature [degC]."""
    return pit(to_f(air_c), "oven")


ROOM = Chamber(21.0, 5.0, vapour_pa=vapour_pressure_from_humidity_ratio(0.0075, SEA_LEVEL_PA))
"""Still indoor air."""


@dataclass(frozen=True)
class Stage:
    """One stage of a course; ``chamber`` where it is not the run's own; ``more``: other kernel fields."""

    until: Until
    value: float = 0.0
    wrap: Wrap | None = None
    chamber: Chamber | None = None
    more: Mapping[str, float] = field(default_factory=dict)


def core(temp_c: float, wrap: Wrap | None = None) -> Stage:
    """Until the core is there [degC]."""
    return Stage(Until.CORE, temp_c, wrap)


def minutes(count: float, wrap: Wrap | None = None, chamber: Chamber | None = None) -> Stage:
    """For so many minutes."""
    return Stage(Until.MINUTES, 60.0 * count, wrap, chamber)


COLOUR = Stage(Until.COLOUR, 1.0)
FOREVER = Stage(Until.NEVER)


def tender(wrap: Wrap | None = None) -> Stage:
    """Until a probe slides in."""
    return Stage(Until.TENDER, 1.0, wrap)


@dataclass(frozen=True)
class Cooked:
    """What happened to the piece."""

    cut: Cut
    trace: Trace

    def end_s(self, stage: int = 0) -> float:
        """End of a stage [s], nan where not reached."""
        return float(self.trace.stage_end_s[stage, 0])

    def end_h(self, stage: int = 0) -> float:
        """End of a stage [h]."""
        return self.end_s(stage) / 3600.0

    def mark_h(self, name: str) -> float:
        """Time of a mark [h], nan where not reached."""
        return float(self.trace.mark(name)[0]) / 3600.0

    def at(self, channel: str, time_s: float) -> float:
        """Channel at a time, linear between records; after the end of the course its last value."""
        values = self.trace[channel][:, 0]
        known = np.isfinite(values)
        return float(np.interp(time_s, self.trace.time_s[known], values[known]))

    def water_loss(self, time_s: float) -> float:
        """Water gone by then, as a share of the raw piece with its bone."""
        return self.at("evaporated", time_s) + self.at("dripped", time_s)

    def loss(self, time_s: float) -> float:
        """Water and rendered fat gone by then, as a share of the raw piece with its bone."""
        c = self.cut.composition
        fat = c.fat.value * (1.0 - c.bone_fraction.value)
        return self.water_loss(time_s) + fat * constant("fat_render") * self.at("gelatin_mean", time_s)

    def water_per_protein(self, time_s: float) -> float:
        """Water over protein left in the edible part; protein does not run off."""
        c = self.cut.composition
        edible = 1.0 - c.bone_fraction.value
        return (c.water.value * edible - self.water_loss(time_s)) / (c.protein.value * edible)

    def rise_after(self, stage: int) -> float:
        """How much the core rises past its temperature at the end of a stage [K]."""
        end = self.end_s(stage)
        after = self.trace["core_c"][self.trace.time_s > end, 0]
        return float(np.nanmax(after)) - self.at("core_c", end)


def section_of(cut: Cut, thickness_factor: float = 1.0) -> Section:
    """The cut's section at its catalog mass."""
    return material.section_of(cut, thickness_factor=thickness_factor)


def cook(
    cut: Cut,
    chamber: Chamber,
    *stages: Stage,
    hours: float = 16.0,
    mass_kg: float | None = None,
    thickness_factor: float = 1.0,
    start_c: float = 4.0,
    factors: Mapping[str, float] | None = None,
) -> Cooked:
    """Run the middle member of a cut.

    Parameters
    ----------
    cut: of the catalog, or a variant of one
    chamber: what surrounds it where a stage does not say otherwise
    stages: the course
    hours: horizon
    mass_kg: of the piece; the cut's own by default
    thickness_factor: thickness over the usual one
    start_c: temperature at put-on [degC]
    factors: multiply parameters of the member by these

    Raises
    ------
    RuntimeError: the run failed, or a stage was not ended within the horizon
    """
    global worst_balance  # noqa: PLW0603  the table quotes it
    section = section_of(cut, thickness_factor)
    parameters = material.parameters_of(cut, SEA_LEVEL_PA) | {"start_c": start_c}
    if mass_kg is not None:
        parameters["scale"] = cut.scale(mass_kg)
    size_m = material.size_m(cut, thickness_factor) * float(parameters["scale"])
    meat_kg = cut.shape.mass_kg.value if mass_kg is None else mass_kg
    for name, factor in (factors or {}).items():
        parameters[name] *= factor
    trace = simulate(
        section,
        Members.of(1, parameters),
        Drive(np.full((2, 1), chamber.air_c)),
        Course.of(1, [_fields(cut, section, chamber, stage, size_m, meat_kg) for stage in stages]),
        horizon_s=3600.0 * hours,
        mass=np.array([material.raw_mass_of(cut, section)]),
        record_every=1,
        threads=1,
    )
    if trace.failed:
        raise RuntimeError(f"{cut.key}: {trace.failed[0]}")
    for n, stage in enumerate(stages):
        if stage.until is not Until.NEVER and np.isnan(trace.stage_end_s[n, 0]):
            raise RuntimeError(f"{cut.key}: stage {n} did not end within {hours:g} h")
    worst_balance = max(worst_balance, float(np.nanmax(np.abs(trace.balance))))
    return Cooked(cut, trace)


def _fields(
    cut: Cut, section: Section, chamber: Chamber, stage: Stage, size_m: float, meat_kg: float
) -> dict[str, ArrayLike]:
    around = stage.chamber or chamber
    fields: dict[str, ArrayLike] = surround(
        air_c=around.air_c,
        pressure_pa=SEA_LEVEL_PA,
        convection_w_m2k=around.convection(size_m),
        emissivity=constant("emissivity"),
        open_fraction=cut.surface.open_fraction.value,
        mirrored=section.mirrored,
        wrap=stage.wrap,
        cavity=material.cavity_share(cut),
        glazed="glaze_solid" in stage.more,
    )
    if not evaporates:
        fields |= dict.fromkeys((name for name in fields if name.startswith(("vapour_", "through_"))), 0.0)
    fields |= {"vapour_pa": around.vapour(meat_kg), "wall_offset_k": around.wall_offset_k}
    if stage.chamber is not None:
        fields |= {"off_pit": 1.0, "air_c": around.air_c}
    return fields | {"until": float(stage.until), "value": stage.value} | dict(stage.more)


def assumed(value: float) -> Figure:
    """A number that a paper does not give."""
    return Figure(value, None, ASSUMED)


def slab(thickness_m: float, side_m: float = 0.12) -> Slab:
    """A thin piece; its sides only set its mass."""
    mass = catalog.DENSITY_KG_M3 * thickness_m * side_m * side_m
    return Slab(*map(assumed, (mass, thickness_m, side_m, side_m, 0.1)))


def block(thickness_m: float, width_m: float, length_m: float) -> Block:
    """A long piece."""
    mass = catalog.DENSITY_KG_M3 * thickness_m * width_m * length_m
    return Block(*map(assumed, (mass, thickness_m, width_m, length_m, 0.1)))


def drum(height_m: float, diameter_m: float) -> Drum:
    """A squat round piece."""
    mass = catalog.DENSITY_KG_M3 * height_m * np.pi / 4.0 * diameter_m**2
    return Drum(*map(assumed, (mass, height_m, diameter_m, 0.1)))


def variant(
    base: str,
    shape: Slab | Block | Drum | None = None,
    *,
    open_fraction: float | None = None,
    water: float | None = None,
    protein: float | None = None,
    fat: float | None = None,
    bone_fraction: float | None = None,
) -> Cut:
    """A catalog cut with another shape, surface or composition."""
    cut = catalog.cut(base)
    given = {"water": water, "protein": protein, "fat": fat, "bone_fraction": bone_fraction}
    changed = {name: assumed(value) for name, value in given.items() if value is not None}
    open_figure = cut.surface.open_fraction if open_fraction is None else assumed(open_fraction)
    return replace(
        cut,
        composition=replace(cut.composition, **changed),
        shape=shape or cut.shape,
        surface=replace(cut.surface, open_fraction=open_figure),
    )


def lean_beef(shape: Slab | Block | Drum) -> Cut:
    """Boneless lean beef, the composition of USDA SR 23596 (flat, lean, raw), nearly all its surface lean."""
    return variant("brisket-flat", shape, open_fraction=0.95, water=0.7376, protein=0.2157, fat=0.0384)
