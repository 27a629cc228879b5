"""Deals one twin cook: what the cook says, and what is true of it.

What is true is drawn by a ``worlds.World``, here and not by the forecaster's own ``reckon.draws``, and differs from
the forecaster's picture besides: another composition and bone layout, a piece that is thicker at one end, a slope of
the conductivity and a threshold of tenderness of its own, a sugar and a glaze of its own. Numbers without another
source are from memory.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from pitreckon import catalog
from pitreckon.catalog import Ball, Bird, Cut, Drum, Figure, Rack
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.physics.constants import GAS_CONSTANT
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.section import material
from pitreckon.section.constants import CONSTANTS
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from validation.twins.fire import Fire, deal_fire
from validation.twins.streams import about, one_of, pick, stream
from validation.twins.usual import usual
from validation.twins.worlds import House, Truth, truth_of

CLASSES = ("pit", "looks", "probe", "all")
"""What reaches the ledger beside acts: pit readings; those and looks; those and a probe; everything."""

ITEM, PIT = "meat", "pit"
FINER = 1.5
"""Cells of the truth to one of the forecaster's, in each direction."""
USUAL_UNEVEN = 0.08
"""How much thicker than its middle a piece is at its thick end, which is what cooks time: the trade's thickness, and
what lids opened without a word take besides (found on seed 20261129)."""
DAY = datetime(2026, 5, 2, 12, 0, tzinfo=UTC)

CUTS = {
    "st-louis-ribs": 14.0,
    "back-ribs": 10.0,
    "spareribs": 6.0,
    "beef-back-ribs": 5.0,
    "beef-plate-ribs": 7.0,
    "country-style-ribs": 5.0,
    "boston-butt": 16.0,
    "brisket-flat": 9.0,
    "brisket-point": 3.0,
    "brisket-whole": 5.0,
    "pork-loin": 6.0,
    "turkey-breast": 3.0,
    "chicken-half": 4.0,
    "chicken-thigh": 5.0,
    "chicken-wing": 4.0,
}
PITS = {
    "pellet-cooker": 25.0,
    "kettle": 14.0,
    "upright-drum": 12.0,
    "ceramic": 13.0,
    "water-smoker": 11.0,
    "offset-log-burner": 9.0,
    "insulated-cabinet": 9.0,
    "oven": 7.0,
}
SLOW_F = (225, 235, 250, 250, 265, 275, 285)
ROAST_F = (250, 275, 300, 325)
BIRD_F = (275, 300, 325, 350)
PIECES = {"chicken-wing": (12, 30), "chicken-thigh": (6, 14), "chicken-half": (2, 4), "country-style-ribs": (4, 10)}
LEAST_GRATE_C = 100.0
"""A cook knows which pits run cooler at the grate than their gauge says, and sets them so that meat gets done."""


@dataclass(frozen=True)
class Meat:
    """What is true of the piece. ``thick`` and ``thin``: its two ends as sections; ``members``: one parameter set."""

    cut: Cut
    thick: Section
    thin: Section
    members: Members
    mass_kg: float
    emissivity: float
    open_fraction: float
    leak: float
    gap: float
    bone_show: float
    fat_render: float
    feel_power: float
    sheen: float
    permeance: float
    sugar_speed: float
    glaze_kg_m2: float
    glaze_water: float
    rest_w_m2k: float
    room_c: float

    def value(self, name: str) -> float:
        """A parameter of the piece."""
        return float(self.members[name][0])


@dataclass(frozen=True)
class Twin:
    """One cook: what the forecaster is told (``cook``), and what is true."""

    world: str
    seed: int
    index: int
    attempt: int
    kind: str
    cook: Cook
    put_on_utc: datetime
    stages: tuple[StagePlan, ...]
    meat: Meat
    fire: Fire
    house: House | None = None

    @functools.cached_property
    def usual_s(self) -> float:
        """How long such pieces usually take [s]."""
        return usual(self.item.cut, self.fire.pit.key, self.stages, self.fire.set_c, self.meat.mass_kg)

    @property
    def item(self) -> ItemPlan:
        """The one item of the cook."""
        return self.cook.items[0]

    @property
    def done_mark(self) -> str:
        """The kernel's mark by which the cook calls this piece done."""
        return "tender" if any(stage.until.ends_by == "tender" for stage in self.stages) else "core_done"

    def stream(self, label: str) -> np.random.Generator:
        """Random numbers of this twin."""
        return stream(self.seed, self.index, f"{self.attempt} {label}")


def kind_of(seed: int, index: int) -> str:
    """The class of a cook: each block of four holds every class once, in an order of its own."""
    order = stream(seed, index // 4, "classes").permutation(len(CLASSES))
    return CLASSES[order[index % 4]]


def deal(seed: int, index: int, attempt: int = 0, world: str = "calibrated", house: House | None = None) -> Twin:
    """Draw one twin cook. world: what it is drawn from, one of ``worlds.WORLDS``; house: whose pit and meat it is."""
    rng = stream(seed, index, f"{attempt} deal")
    cut = catalog.cuts()[pick(rng, CUTS)]
    key = pick(rng, PITS)
    pit = catalog.pits()[key if house is None else house.pit]
    steps_f: tuple[int, ...] = SLOW_F
    if cut.texture.done_by == "core":
        steps_f = BIRD_F if cut.kind == "poultry" else ROAST_F
    set_c = (float(one_of(rng, steps_f)) - 32.0) / 1.8
    set_c = max(set_c, LEAST_GRATE_C - pit.air.offset_k.value)
    altitude_m = float(rng.uniform(0.0, 400.0) if rng.random() < 0.75 else rng.uniform(400.0, 1700.0))
    weather_c = float(rng.uniform(-5.0, 33.0))
    weather_rh = float(rng.uniform(0.25, 0.95))
    mass_kg = float(cut.shape.mass_kg.value * np.exp(np.clip(0.18 * rng.standard_normal(), -0.4, 0.4)))
    low, high = PIECES.get(cut.key, (1, 4))
    pieces = int(rng.integers(low, high + 1))
    pressure_pa = pressure_isa(altitude_m) * (1.0 + 0.007 * rng.standard_normal())
    stages = _course(cut, boiling_point(pressure_isa(altitude_m)), rng)
    wrap = next((stage.wrap for stage in stages if stage.wrap), None)
    true = truth_of(world, cut, pit, wrap, stream(seed, index, f"{attempt} world"), house)
    if world != "even":
        true = true.with_lids()
    meat, said_thickness = deal_meat(cut, mass_kg, pressure_pa, true, rng)
    put_on = DAY + timedelta(minutes=int(rng.integers(0, 600)))
    said_start = round(meat.value("start_c") + float(rng.normal(0.0, 1.0)), 1)
    item = ItemPlan(
        label=ITEM,
        cut=cut.key,
        pieces=pieces,
        mass_kg=round(mass_kg * (1.0 + 0.015 * rng.standard_normal()), 3),
        pit=PIT,
        put_on_utc=put_on + timedelta(minutes=round(rng.normal(0.0, 10.0))),
        start_c=4.0 if meat.value("start_c") < 6.0 else said_start,  # "straight from the refrigerator"
        thickness_m=said_thickness,
        sugar=one_of(rng, (0.0, 0.5, 0.5, 1.0)),
        stages=stages,
    )
    knows = rng.random() < 0.75  # else the weather is left out of the cook file
    cook = Cook(
        name=f"twin {index}",
        zone="UTC",
        serve_utc=None,
        altitude_m=round(altitude_m, -1),
        weather_air_c=round(weather_c + float(rng.normal(0.0, 2.0))) if knows else None,
        weather_rh=float(np.clip(round(weather_rh + rng.normal(0.0, 0.1), 2), 0.05, 1.0)) if knows else None,
        pits=(PitPlan(PIT, pit.key, set_c),),
        items=(item,),
    )
    fire = deal_fire(
        pit,
        set_c=set_c,
        weather_c=weather_c,
        weather_rh=weather_rh,
        meat_kg=mass_kg * pieces,
        pressure_pa=pressure_pa,
        true=true,
        rng=stream(seed, index, f"{attempt} fire"),
    )
    return Twin(world, seed, index, attempt, kind_of(seed, index), cook, put_on, stages, meat, fire, house)


def _scaled(figure: Figure, factor: float) -> Figure:
    return replace(figure, value=figure.value * factor)


def _true_cut(cut: Cut, rng: np.random.Generator) -> Cut:
    """The cut with a composition and a layout of bones of its own."""
    c = cut.composition
    fat = c.fat.value * float(np.exp(0.2 * np.clip(rng.standard_normal(), -2.0, 2.0)))
    lean = (1.0 - fat) / (1.0 - c.fat.value)  # more fat leaves less of all else
    protein = _scaled(c.protein, lean * (1.0 + 0.03 * float(rng.standard_normal())))
    ash = _scaled(c.ash, lean)
    total = c.water.value + c.protein.value + c.fat.value + c.ash.value
    composition = replace(
        c,
        fat=replace(c.fat, value=fat),
        water=replace(c.water, value=total - fat - protein.value - ash.value),
        protein=protein,
        ash=ash,
        bone_fraction=_scaled(c.bone_fraction, about(rng, 1.0, 0.15)),
    )
    shape = cut.shape
    if isinstance(shape, Rack):
        half_height = shape.bone_half_height_m.value * about(rng, 1.0, 0.12)
        depth = max(shape.bone_depth_m.value * about(rng, 1.0, 0.12), 1.15 * half_height)
        spacing = shape.bone_spacing_m.value * about(rng, 1.0, 0.08)
        half_width = min(shape.bone_half_width_m.value * about(rng, 1.0, 0.12), 0.4 * spacing)
        shape = replace(
            shape,
            bone_spacing_m=replace(shape.bone_spacing_m, value=spacing),
            bone_half_width_m=replace(shape.bone_half_width_m, value=half_width),
            bone_half_height_m=replace(shape.bone_half_height_m, value=half_height),
            bone_depth_m=replace(shape.bone_depth_m, value=depth),
        )
    return replace(cut, composition=composition, shape=shape)


def _thicker(cut: Cut, factor: float) -> Cut:
    """The cut as thick as this at the same weight: a drum gives way across, a bird and all others in their length."""
    shape = cut.shape
    if isinstance(shape, Drum):
        by = {"height_m": factor, "diameter_m": factor**-0.5}
    elif isinstance(shape, Bird):
        by = {"diameter_m": factor, "cavity_m": factor, "length_m": factor**-2}
    elif isinstance(shape, Ball):
        by = {}
    else:
        by = {"thickness_m": factor, "length_m": 1.0 / factor}
    changed = {name: _scaled(getattr(shape, name), times) for name, times in by.items()}
    return replace(cut, shape=replace(shape, **changed))


def deal_meat(
    cut: Cut, mass_kg: float, pressure_pa: float, of: Truth, rng: np.random.Generator
) -> tuple[Meat, float | None]:
    """What is true of the piece, and the thickness that the cook measured, if he did [m]."""
    thickness = of.times("thickness")
    true = _thicker(_true_cut(cut, rng), thickness)
    uneven = float(rng.uniform(0.0, 0.12))  # a hand's breadth apart, thick and thin differ by up to a quarter
    size = of.times("size")
    open_fraction = float(np.clip(cut.surface.open_fraction.value + of.off("open"), 0.1, 1.0))
    covered = material.covered_surface_factor(open_fraction)
    tempered = rng.random() < 0.3  # left on the counter for a while
    middle = material.parameters_of(true, pressure_pa)
    own = material.covered_surface_factor(true.surface.open_fraction.value)
    k = of.times("conductivity")
    slope = float(np.exp(0.4 * rng.standard_normal()))
    k_temp = middle["k_temp"] * slope
    parameters = middle | {
        "scale": cut.scale(mass_kg) * size,
        "start_c": float(rng.normal(9.0, 3.0) if tempered else rng.normal(4.0, 1.5)),
        "transport": middle["transport"] / own * covered * of.times("transport"),
        "diffusion": middle["diffusion"] / own * covered * of.times("diffusion"),
        "drip": middle["drip"] * of.times("drip"),
        "drink": middle["drink"] * of.times("drink"),
        "hold_shift": middle["hold_shift"] + of.off("shift"),
        "hold_drop": float(np.clip(middle["hold_drop"] + of.off("drop"), 0.1, 0.9)),
        "skin_b": middle["skin_b"] * of.times("skin"),
        "skin_r": middle["skin_r"] * of.times("crust"),
        "skin_e": middle["skin_e"] * of.times("crust_at"),
        "skin_n": float(np.clip(middle["skin_n"] * of.times("crust_n"), 1.0, 10.0)),
        "gelatin_rate": middle["gelatin_rate"] * of.times("gelatin"),
        "gelatin_ea_over_r": middle["gelatin_ea_over_r"] + of.off("gelatin_ea") / GAS_CONSTANT,
        "colour_rate": middle["colour_rate"] * of.times("colour"),
        "colour_ea_over_r": middle["colour_ea_over_r"] + of.off("colour_ea") / GAS_CONSTANT,
        "colour_floor": min(middle["colour_floor"] * of.times("floor"), 0.9),
        "k_temp": k * k_temp,
        "k_base": k * (middle["k_base"] + 60.0 * (middle["k_temp"] - k_temp)),  # the same at 60 degC
        "k_water": k * middle["k_water"],
        "bone_k": middle["bone_k"] * about(rng, 1.0, 0.2),
        "bone_capacity": middle["bone_capacity"] * about(rng, 1.0, 0.1),
        "tender_at": float(np.clip(rng.normal(cut.texture.tender_conversion.value, 0.02), 0.7, 0.9)),
        "glaze_set_at": max(middle["glaze_set_at"] + of.off("glaze"), 0.1),
    }
    usual = getattr(cut.shape, "thickness_m", None) or getattr(cut.shape, "height_m", None)
    said = None
    if usual is not None and rng.random() < 0.25:
        said = round(
            usual.value * thickness * cut.scale(mass_kg) * size * (1.0 + 0.03 * float(rng.standard_normal())), 3
        )
    meat = Meat(
        cut=true,
        thick=material.section_of(true, thickness_factor=1.0 + uneven - USUAL_UNEVEN, finer=FINER),
        thin=material.section_of(true, thickness_factor=1.0 - uneven - USUAL_UNEVEN, finer=FINER),
        members=Members.of(1, parameters),
        mass_kg=mass_kg,
        emissivity=float(np.clip(CONSTANTS["emissivity"].value + of.off("emissivity"), 0.5, 1.0)),
        open_fraction=open_fraction,
        leak=of.times("leak"),
        gap=of.times("gap"),
        bone_show=max(CONSTANTS["bone_show"].value + of.off("bone"), 0.0),
        fat_render=float(np.clip(CONSTANTS["fat_render"].value + of.off("fat"), 0.0, 1.0)),
        feel_power=of.feel_power,
        sheen=of.times("sheen"),
        permeance=of.times("permeance"),
        sugar_speed=float(rng.uniform(0.3, 0.9)),
        glaze_kg_m2=about(rng, 1.8, 0.2),
        glaze_water=float(np.clip(rng.normal(0.58, 0.04), 0.4, 0.75)),
        rest_w_m2k=about(rng, 5.0, 0.2),
        room_c=float(rng.normal(20.0, 3.0)),
    )
    return meat, said


def _course(cut: Cut, boil_c: float, rng: np.random.Generator) -> tuple[StagePlan, ...]:
    """The usual course, as cooks vary it: liquid in the foil of ribs, big cuts wrapped or not, by feel or by core."""
    key = cut.key
    liquid = float(one_of(rng, (0.0, 0.0, 0.03, 0.06)))
    rest = StagePlan("rest", Until("minutes", 60.0 * one_of(rng, (10, 15, 20))))
    long_rest = StagePlan("rest", Until("minutes", 60.0 * one_of(rng, (30, 45, 60))))
    feel = StagePlan("open", Until("tender"))
    if key in {"st-louis-ribs", "back-ribs", "spareribs", "country-style-ribs", "beef-back-ribs"}:
        ends = [StagePlan("sauced", Until("glaze"))]
        if key == "beef-back-ribs":
            ends = [StagePlan("open", Until("minutes", 600.0))]
        wrapped = StagePlan("wrapped", Until("tender"), wrap="foil", liquid_kg=liquid)
        return (StagePlan("open", Until("colour")), wrapped, *ends, *((rest,) if rng.random() < 0.5 else ()))
    if key in {"boston-butt", "brisket-flat", "brisket-point", "brisket-whole", "beef-plate-ribs"}:
        wraps = {"foil": 0.5, "": 0.5} if key in {"boston-butt", "beef-plate-ribs"} else {"foil": 0.5, "paper": 0.5}
        wrap = pick(rng, wraps)
        if wrap:
            wrapped = StagePlan("wrapped", Until("tender"), wrap=wrap)
            return (StagePlan("open", Until("core", 165.0 / 1.8 - 32.0 / 1.8)), wrapped, long_rest)
        core_c = cut.texture.done_core_c.value
        # Near the boiling point the core no longer tells: there the cook goes by the probe's feel, as many do anyway.
        by_core = StagePlan("open", Until("core", core_c))
        return (by_core if core_c < boil_c - 4.0 and rng.random() < 0.6 else feel, long_rest)
    done = StagePlan("open", Until("core", cut.texture.done_core_c.value))
    if key in {"chicken-wing", "chicken-thigh", "chicken-half"} and rng.random() < 0.6:
        return (done, StagePlan("sauced", Until("glaze")))
    return (done, rest)
