"""A hot piece that cools, as an ensemble of the section model: cooked meat, cold surroundings, how warm it is when."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.physics.surface import radiation_coefficient
from pitreckon.physics.vapour import saturation_pressure_wagner_pruss
from pitreckon.reckon.draws import hypercube, stream
from pitreckon.safety.cooling.methods import DEPTH_SPREAD, LOAD_S, MOST_LOAD_K, WHOLE_SPREAD, Method, section_of
from pitreckon.section import material
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.shapes import SIDE, UNDER, UPPER, Section
from pitreckon.section.simulate import Job
from pitreckon.section.surroundings import vapour_coefficient
from pitreckon.section.trace import Trace

Exchange = tuple[Floats, Floats, Floats]
"""Convection, emissivity and vapour of one side."""

UNKNOWNS = ("size", "start", "film", "air", "gap", "packing", "conductivity", "water", "open", "emissivity")

START_SD_K = 1.5
CONDUCTIVITY_SD = 0.10
"""Relative spread of conductivity, of animals and of the model (the parameter set's prior range)."""
LOST = {"tender": (0.28, 0.05), "core": (0.18, 0.04)}
"""Water that a cook has cost as a share of the raw meat, and its spread (from memory; within USDA's cooking yields)."""
PACKED = (0.7, 0.07)
"""Share of a bed of pulled meat that is meat, the rest air (common practice, no source)."""
GAP_W_M2K, GAP_LN_SD = 20.0, 0.4
"""Still air under a loose cover, as under a wrap of the catalog (from memory)."""
TRAY_W_M2K, TRAY_EMISSIVITY = 60.0, 0.3
"""From meat into the metal of its tray, and the metal's own radiation (from memory)."""
BAG_W_M2K = 150.0
"""Through a bag that clings more or less, and juice in it (from memory)."""
UNDERSIDE = 0.75
"""What a piece gives off that stands on something, over one that hangs free (common practice, no source)."""
OPEN = {"whole": (0.5, 0.15), "halved": (0.6, 0.15), "sliced": (0.8, 0.1), "pulled": (0.8, 0.1)}
"""Share of an open face that can dry (common practice, no source)."""
COLD_RH = 0.7
COOLED_FACE_C = 30.0
KNOT_S = 60.0


@dataclass(frozen=True)
class Cooled:
    """Members that cooled: ``hot_c`` [records, member] is the hottest of the places recorded from middle to face."""

    method: Method
    time_s: Floats
    hot_c: Floats
    surface_c: Floats
    failed: int

    def first_at(self, temp_c: float) -> Floats:
        """When the hottest place is down to a temperature [s from the start], per member; nan: not in this run."""
        under = self.hot_c <= temp_c
        reached = under.any(axis=0)
        at = np.argmax(under, axis=0)
        before = np.maximum(at - 1, 0)
        column = np.arange(at.size)
        hot, cold = self.hot_c[before, column], self.hot_c[at, column]
        part = np.where(at > 0, (hot - temp_c) / np.maximum(hot - cold, 1e-9), 0.0)
        time = self.time_s[before] + np.clip(part, 0.0, 1.0) * (self.time_s[at] - self.time_s[before])
        return np.where(reached, time, np.nan)


def fresh_job(
    cut: Cut,
    method: Method,
    *,
    mass_kg: float,
    start_c: float,
    pressure_pa: float,
    members: int,
    seed: int,
    horizon_s: float,
) -> Job:
    """An ensemble that starts hot all through.

    cut, method: what cools, and how
    mass_kg: of the piece as it is weighed now, bone and all [kg]
    start_c: its temperature when cooling begins [degC]; of the thickest place, which counts
    pressure_pa: of the air [Pa]
    members, seed: of the ensemble
    horizon_s: how long it is followed [s]
    """
    z = hypercube(stream(seed, "cooling"), UNKNOWNS, members)
    section = section_of(cut, method)
    drawn = cooked(cut, method, mass_kg, start_c, pressure_pa, z)
    stages = surroundings(method, section, mass_kg, pressure_pa, z)
    return Job(
        section,
        drawn,
        Drive(np.full((2, members), method.place.air_c), KNOT_S),
        Course.of(members, stages),
        horizon_s=horizon_s,
        record_every=2,
    )


def cooked(
    cut: Cut, method: Method, mass_kg: float, start_c: float, pressure_pa: float, z: dict[str, Floats]
) -> Members:
    """Members of cooked meat: less water, denser, and holding what is left; pulled meat is a bed with air in it.

    A holding capacity that does not change with temperature stands for meat that has given off what it will.
    """
    middle = material.parameters_of(cut, pressure_pa)
    meat = material.meat_of(cut)
    mean, sd = LOST[cut.texture.done_by]
    lost = np.clip(mean + sd * z["water"], 0.02, 0.45)
    water = np.maximum(meat.water - lost * (1.0 + meat.fat + meat.water), 0.8)
    packed = np.ones_like(lost)
    if method.form == "pulled":
        packed = np.clip(PACKED[0] + PACKED[1] * z["packing"], 0.4, 1.0)
    # Maxwell's law for air, which hardly conducts, in a continuous meat.
    k = (1.0 + CONDUCTIVITY_SD * z["conductivity"]) * 2.0 * packed / (3.0 - packed)
    size = np.exp(DEPTH_SPREAD * z["size"])
    if method.depth_m is None:
        size = cut.scale(mass_kg) * np.exp(WHOLE_SPREAD * z["size"])
    return Members.of(size.size, middle).changed(
        scale=size,
        start_c=np.minimum(start_c + START_SD_K * z["start"], middle["boil_c"] - 1.0),
        water=water,
        dry_density=middle["dry_density"] / (1.0 - lost) * packed,
        k_base=middle["k_base"] * k,
        k_temp=middle["k_temp"] * k,
        k_water=middle["k_water"] * k,
        hold_drop=0.0,
        hold_shift=0.0,
    )


def surroundings(
    method: Method, section: Section, mass_kg: float, pressure_pa: float, z: dict[str, Floats]
) -> list[dict[str, ArrayLike]]:
    """Kernel fields of the first hours, in which warm meat warms its refrigerator, and of the time after."""
    place = method.place
    film = place.film_w_m2k * np.exp(place.film_ln_sd * z["film"])
    air_c = np.maximum(place.air_c + place.air_sd_k * z["air"], 0.0)
    radiant = np.clip(0.9 + 0.03 * z["emissivity"], 0.5, 1.0)
    gap = GAP_W_M2K * np.exp(GAP_LN_SD * z["gap"])
    mean, sd = OPEN[method.form]
    dries = vapour_coefficient(film, place.air_c, pressure_pa) * np.clip(mean + sd * z["open"], 0.05, 1.0)
    nothing = np.zeros_like(film)
    if place.wet:
        bag = BAG_W_M2K * np.exp(GAP_LN_SD * z["gap"])
        top = under = side = (film * bag / (film + bag), nothing, nothing)
    elif method.covered:
        outer = film + radiant * radiation_coefficient(COOLED_FACE_C, place.air_c, 1.0)
        passed = gap / (gap + outer)
        top = under = side = (film * passed, radiant * passed, nothing)
    else:
        top = under = side = (film, radiant, dries)
    if method.lies == "in a tray":
        metal = TRAY_W_M2K * np.exp(GAP_LN_SD * z["gap"])
        passed = metal / (metal + film + TRAY_EMISSIVITY * radiation_coefficient(COOLED_FACE_C, place.air_c, 1.0))
        under = (UNDERSIDE * film * passed, TRAY_EMISSIVITY * passed, nothing)
    elif method.lies == "on a rack":
        if section.mirrored:  # its upper faces stand for the underside as well
            top = _times(0.5 * (1.0 + UNDERSIDE), top)
        else:
            under = _times(UNDERSIDE, under)
    # Places are recorded from the middle to the upper face: that side has to be the one that cools later.
    groups = {UPPER: top, UNDER: under, SIDE: side}
    if not section.mirrored and np.mean(top[0] + 5.0 * top[1] + 5e3 * top[2]) > np.mean(under[0] + 5.0 * under[1]):
        groups = {UPPER: under, UNDER: top, SIDE: side}
    vapour_pa = COLD_RH * saturation_pressure_wagner_pruss(max(place.air_c, 0.5))
    always: dict[str, ArrayLike] = {"off_pit": 1.0, "vapour_pa": vapour_pa}
    for group, (convection, emissivity, vapour) in groups.items():
        always |= {f"convection_{group}": convection, f"emissivity_{group}": emissivity, f"vapour_{group}": vapour}
    load_k = min(place.load_k_per_kg * mass_kg, MOST_LOAD_K)
    loaded = always | {"until": Until.MINUTES, "value": LOAD_S, "air_c": air_c + load_k}
    return [loaded, always | {"until": Until.NEVER, "air_c": air_c}]


def _times(factor: float, exchange: Exchange) -> Exchange:
    convection, emissivity, vapour = exchange
    return factor * convection, factor * emissivity, factor * vapour


def cooled(method: Method, trace: Trace, since_s: float = 0.0) -> Cooled:
    """What a run says, from a time on; members that failed, or were lost, are left out and counted."""
    good = np.isnan(trace.failed_s)
    rows = trace.time_s >= since_s - 1.0
    places = np.stack([trace[name][rows][:, good] for name in ("core_c", "place1_c", "place2_c", "surface_c")])
    there = np.isfinite(places).all(axis=(0, 1))
    places = places[:, :, there]
    return Cooled(method, trace.time_s[rows] - since_s, places.max(axis=0), places[3], int(good.size - there.sum()))
