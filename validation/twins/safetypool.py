"""The true histories of a day's twins and the members of its forecast, each from one run of the section model.

The twins differ from the members as whole twin cooks do (``deal``, ``fire``): finer cells, another layout of bones and
composition, an uneven thickness, a slope of the conductivity, a fire that wanders, and places that are not what was
said. The members are the forecaster's own draws of a piece and a pit (``reckon.draws``, ``reckon.pitair``). Both follow
the clock.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon import catalog
from pitreckon.catalog import Wrap
from pitreckon.physics.vapour import saturation_pressure_wagner_pruss
from pitreckon.reckon.draws import Unknowns, draw_item, draw_pit, named, prior
from pitreckon.reckon.pitair import ambient_ratio, grate_air, pit_vapour
from pitreckon.safety.history.fromrun import coldest_of
from pitreckon.safety.history.history import Phase
from pitreckon.section import material
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround
from pitreckon.section.trace import Trace
from validation.twins.deal import FINER, deal_meat
from validation.twins.fire import KNOT_S, deal_fire
from validation.twins.safetyhostile import Hostile
from validation.twins.safetyplan import DRIES, FILM_W_M2K, MOST_COOK_S, SPREAD_K, Plan, Step
from validation.twins.streams import stream
from validation.twins.worlds import truth_of

Floats = NDArray[np.float64]
Stage = dict[str, ArrayLike]
PILOTS, COARSE = 16, 0.6
RECORD, TRUE_RECORD = 5, 2
"""Knots between two records of members, as the forecaster has them, and of twins."""
FILM_SD, TWIN_FILM_SD = 0.3, 0.2
"""Spread of the logarithm of a film outside the pit: of the members, and of the twins."""


@dataclass(frozen=True)
class Places:
    """Temperatures through the day [degC], (records, columns): the middle, under the face, and the face."""

    time_s: Floats
    core_c: Floats
    outer_c: Floats
    face_c: Floats
    tip_c: Floats


@dataclass(frozen=True)
class Ground:
    """What a course asks of every column: [columns] each."""

    members: Members
    air_speed_m_s: Floats
    emissivity: Floats
    open_fraction: Floats
    vapour_pa: Floats
    wall_offset_k: Floats
    place_z: dict[str, Floats]
    film_z: Floats
    film_sd: float


def cook_steps(plan: Plan, seed: int, index: int) -> tuple[Step, ...]:
    """The whole day by the clock; on the pit until most of what it may be is where it is to be."""
    z = named(prior(plan.item.label, plan.item.pit, PILOTS, seed + index))
    begun = plan.begun(max(plan.item.start_c, 2.0))
    steps = (Step("cook", "pit", MOST_COOK_S, plan.set_c),)
    trace = _run(begun, _members(begun, z), _drive(begun, z, seed + index, 0.0, MOST_COOK_S), steps, COARSE)
    middle = np.median(trace["core_c"], axis=1)

    def first(at_c: float) -> float:
        warm = np.flatnonzero(middle >= at_c)
        return float(trace.time_s[warm[0]]) if warm.size else 0.7 * MOST_COOK_S

    off = max(first(plan.aim_c), 1200.0)
    on = [Step("cook", "pit", off, plan.set_c)]
    if plan.wrapped_at_c is not None and 600.0 < first(plan.wrapped_at_c) < off - 600.0:
        wrapped = first(plan.wrapped_at_c)
        on = [Step("cook", "pit", wrapped, plan.set_c), Step("cook", "pit", off - wrapped, plan.set_c, "foil")]
    return (*plan.thaw, *on, *plan.after)


def phases_of(steps: tuple[Step, ...]) -> tuple[Phase, ...]:
    """Phases of these steps, those that go on under one name as one."""
    phases: list[Phase] = []
    at = 0.0
    for step in steps:
        end = at + step.lasts_s
        if phases and phases[-1].kind == step.phase:
            phases[-1] = Phase.of(step.phase, phases[-1].begin_s, end)
        else:
            phases.append(Phase.of(step.phase, at, end))
        at = end
    return tuple(phases)


def members_of(plan: Plan, steps: tuple[Step, ...], n: int, seed: int) -> Places:
    """The forecaster's members through the day, told nothing but the acts."""
    z = named(prior(plan.item.label, plan.item.pit, n, seed))
    on_s = sum(step.lasts_s for step in plan.thaw)
    drive = _drive(plan, z, seed, on_s, sum(step.lasts_s for step in steps))
    return _places(_run(plan, _members(plan, z), drive, steps, 1.0), steps)


def twins_of(
    plan: Plan, steps: tuple[Step, ...], hostile: list[Hostile], seed: int, index: int
) -> tuple[Places, Floats]:
    """The truth of as many twins as there are hostilities, through the day, and the weather of each [degC]."""
    n = len(hostile)
    rng = stream(seed, index, "truth")
    meats, fires, weather = [], [], []
    end_s = sum(step.lasts_s for step in steps)
    knots = int(np.ceil(end_s / KNOT_S)) + 2 + RECORD
    on_s = sum(step.lasts_s for step in plan.thaw)
    segments = slice(0, max(1, int(sum(s.lasts_s for s in steps if s.phase == "cook") // 1800.0)))
    air = np.empty((knots, n))
    for i in range(n):
        mass_kg = plan.item.mass_kg * (1.0 + 0.015 * float(rng.standard_normal()))
        true = truth_of("wide", plan.cut, plan.pit, None, rng)
        meat, _ = deal_meat(plan.cut, mass_kg, plan.pressure_pa, true, rng)
        weather_c = plan.weather_c + float(rng.normal(0.0, 2.0))
        fire = deal_fire(
            plan.pit, set_c=plan.set_c, weather_c=weather_c, weather_rh=plan.weather_rh, meat_kg=mass_kg,
            pressure_pa=plan.pressure_pa, true=true, rng=rng,
        )  # fmt: skip
        meats.append(meat)
        fires.append(fire)
        weather.append(weather_c)
        dealt = fire.grate_c((), min(knots, fire.wander_k.size))  # long after the pit it matters to nothing
        air[:, i] = np.roll(np.pad(dealt, (0, knots - dealt.size), mode="edge"), int(on_s // KNOT_S))
        air[:, i] = hostile[i].sunk(np.arange(knots) * KNOT_S, air[:, i], weather_c)
    start_c = _starts(plan, n, rng)
    start_c = np.array([cold if h.warm_c is None else h.warm_c for cold, h in zip(start_c, hostile, strict=True)])
    uneven = float(rng.uniform(0.0, 0.12))
    section = material.section_of(meats[0].cut, thickness_factor=1.0 + uneven, finer=FINER)
    ground = Ground(
        Members(np.concatenate([meat.members.values for meat in meats], axis=1)).changed(start_c=start_c),
        np.array([fire.air_speed_m_s * fire.draught[segments].mean() for fire in fires]),
        np.array([meat.emissivity for meat in meats]),
        np.array([meat.open_fraction for meat in meats]),
        np.array([fire.vapour_pa[segments].mean() for fire in fires]),
        np.array([fire.wall_offset_k[segments].mean() for fire in fires]),
        {place: rng.standard_normal(n) for place in SPREAD_K},
        rng.standard_normal(n),
        TWIN_FILM_SD,
    )
    trace = _run_section(plan, section, material.raw_mass_of(meats[0].cut, section), ground, air, steps, TRUE_RECORD)
    return _places(trace, steps), np.array(weather)


def _starts(plan: Plan, n: int, rng: np.random.Generator) -> Floats:
    """Where the twins truly begin: from the refrigerator, from the counter, or not thawed through."""
    spread = 1.5 if plan.item.start_c < 6.0 else 1.0
    start_c = rng.normal(plan.item.start_c, spread, n)
    frozen = rng.random(n) < plan.frozen
    return np.where(frozen, rng.uniform(-6.0, -1.2, n), start_c)


def _members(plan: Plan, z: Unknowns) -> Ground:
    item = draw_item(plan.cut, plan.item, plan.pressure_pa, z)
    pit = draw_pit(plan.pit, z)
    weather_c = plan.weather_c if plan.weather_said else None
    ratio = ambient_ratio(weather_c, plan.weather_rh if plan.weather_said else None, plan.pressure_pa)
    fuel = catalog.fuels()[plan.pit.fuel]
    n = item.emissivity.size
    rng = np.random.default_rng(n)
    return Ground(
        item.members,
        pit.air_speed_m_s,
        item.emissivity,
        item.open_fraction,
        pit_vapour(plan.pit, fuel, pit, plan.set_c, weather_c, ratio, plan.item.mass_kg, plan.pressure_pa),
        pit.wall_offset_k,
        {place: rng.permutation(np.asarray(z["spot"])) for place in SPREAD_K},
        rng.permutation(np.asarray(z["spot"])),
        FILM_SD,
    )


def _drive(plan: Plan, z: Unknowns, seed: int, on_s: float, end_s: float) -> Floats:
    knots = int(np.ceil(end_s / KNOT_S)) + 2 + RECORD
    air = grate_air(plan.pit, plan.item.pit, draw_pit(plan.pit, z), np.full(knots, plan.set_c), [], on_s, seed)
    return np.asarray(np.maximum(air + 4.0 * z["spot"], 10.0))


def _run(plan: Plan, ground: Ground, air: Floats, steps: tuple[Step, ...], finer: float) -> Trace:
    section = material.section_of(plan.cut, finer=finer)
    return _run_section(plan, section, material.raw_mass_of(plan.cut, section), ground, air, steps, RECORD)


def _run_section(
    plan: Plan, section: Section, mass: float, ground: Ground, air: Floats, steps: tuple[Step, ...], every: int
) -> Trace:
    n = air.shape[1]
    stages: list[Stage] = []
    at = 0.0
    for step in steps:
        at += step.lasts_s
        stages.append(_stage(plan, section.mirrored, step, ground) | {"until": Until.CLOCK, "value": at})
    stages[-1] |= {"until": Until.NEVER}
    return simulate(
        section, ground.members, Drive(air, KNOT_S), Course.of(n, stages),
        horizon_s=every * KNOT_S * np.ceil(at / (every * KNOT_S)), mass=np.full(n, mass), record_every=every, threads=1,
    )  # fmt: skip


def _stage(plan: Plan, mirrored: bool, step: Step, ground: Ground) -> Stage:
    wrap: Wrap | None = catalog.wraps()[step.wrap] if step.wrap else None
    size_m = material.size_m(plan.cut) * ground.members["scale"]
    film: Floats = convection(size_m, ground.air_speed_m_s, step.air_c, plan.pressure_pa)
    drying: Floats = ground.open_fraction
    if step.place != "pit":
        film = FILM_W_M2K[step.place] * np.exp(ground.film_sd * ground.film_z)
        drying = DRIES[step.place] * ground.open_fraction
    fields: Stage = surround(
        air_c=step.air_c,
        pressure_pa=plan.pressure_pa,
        convection_w_m2k=film,
        emissivity=ground.emissivity,
        open_fraction=drying,
        mirrored=mirrored,
        wrap=wrap,
    )
    if step.place == "pit":
        return fields | {"vapour_pa": ground.vapour_pa, "wall_offset_k": ground.wall_offset_k}
    air_c = step.air_c + SPREAD_K[step.place] * ground.place_z[step.place]
    vapour_pa = 0.5 * saturation_pressure_wagner_pruss(min(max(step.air_c, 0.5), 40.0))
    return fields | {"off_pit": 1.0, "air_c": np.maximum(air_c, 0.3), "vapour_pa": vapour_pa}


def _places(trace: Trace, steps: tuple[Step, ...]) -> Places:
    """The middle is the coldest place while it heats, the hottest while it cools."""
    inside = np.stack([trace[name] for name in ("core_c", "place1_c", "place2_c")])
    core = coldest_of(trace)
    at = 0.0
    for step in steps:
        here = trace.time_s >= at
        if step.phase == "cool":
            core = np.where(here[:, None], inside.max(axis=0), core)
        elif step.phase == "reheat":
            core = np.where(here[:, None], inside.min(axis=0), core)
        at += step.lasts_s
    good = np.isnan(trace.failed_s) & np.isfinite(inside).all(axis=(0, 1))
    if not good.all():
        core, inside = np.where(good, core, np.nan), np.where(good, inside, np.nan)
    return Places(trace.time_s, core, inside[2], trace["surface_c"], inside[1])
