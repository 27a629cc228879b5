"""The one place that knows how the product cooks: a set-up becomes a kernel job, a constant is reached by its address.

A set-up goes the product's own way (``draws``, ``pitair``, ``Around``) with every unknown at its middle, in steady air
at gauge plus offset. A constant is found by an address: ``constant:NAME`` (``section/constants.py``),
``wrap:KEY.FIELD``, ``pit:KEY.TABLE.FIELD``, ``cut:KEY.TABLE.FIELD``, or ``cut:KEY.thickness``: the thickness over the
catalog's at the same weight, the length giving way. An address that the catalog does not know is "not offered".
"""

from __future__ import annotations

import dataclasses
import inspect
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.catalog import Ball, Cut, Drum, Figure
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan
from pitreckon.cook.until import parse_until
from pitreckon.errors import InputError
from pitreckon.physics.vapour import pressure_isa
from pitreckon.reckon import pitair
from pitreckon.reckon.around import Around
from pitreckon.reckon.draws import draw_item, draw_pit, named, wrap_of
from pitreckon.reckon.levels import UNKNOWNS, levels_of
from pitreckon.reckon.stages import Stage
from pitreckon.section import cache, material
from pitreckon.section import constants as section_constants
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.shapes import THICK_HALF_M, half_thickness
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import CHANNEL, MARK, Trace
from validation.practice.table import SetUp

Floats = NDArray[np.float64]

PAN_KG_S = 8.0e-5
"""What a pan of water in a cooker without one of its own gives off [kg/s]: the catalog's figure for a water smoker."""
LB_KG = 0.45359237
PUT_ON = datetime(2026, 10, 17, 4, tzinfo=UTC)
"""Any instant: the model counts from put-on."""
WRAPS = {"foil": "foil", "paper": "paper", "tray": "tray"}
ALSO = {
    "spatchcocked-chicken": "chicken-spatchcocked",
    "whole-chicken": "chicken-whole",
    "whole-turkey": "turkey-whole",
    "leg-of-lamb": "lamb-leg",
    "thick-pork-chop": "pork-chop",
    "salmon-side": "salmon-side",
    "open-charcoal-grill": "banked-grill",
}
"""Keys that the catalog has for names of ``setups.csv``, which was dealt before it had these cuts and pits."""
PANS_KNOWN = "water_pan" in inspect.signature(pitair.pit_vapour).parameters
"""The pit itself knows what a pan of water does; otherwise it is given the evaporation above."""
TAIL_S = 4 * 3600.0
"""How long a cook goes on past its last core temperature where it is not tender by then."""


# --- constants by address -------------------------------------------------------------------------------------------


def offered(address: str) -> float | None:
    """Today's value at an address; None: the kernel or the catalog has no such thing."""
    kind, _, rest = address.partition(":")
    if kind == "constant":
        constants = section_constants.CONSTANTS
        return constants[rest].value if rest in constants else None
    key, _, path = rest.partition(".")
    entry = {"wrap": catalog.wraps, "pit": catalog.pits, "cut": catalog.cuts}[kind]().get(key)
    if entry is None:
        return None
    if path == "thickness":
        return None if isinstance(entry.shape, Ball) else 1.0
    held: Any = entry
    for name in path.split("."):
        held = getattr(held, name, None)
    return held.value if isinstance(held, Figure) else None


@contextmanager
def override(values: Mapping[str, float]) -> Iterator[None]:
    """The product with other constants, inside the block; not for several threads at once."""
    shelves = {name: getattr(catalog, name) for name in ("cut", "cuts", "pit", "pits", "wrap", "wraps")}
    kept = section_constants.CONSTANTS
    constants = dict(kept)
    changes: dict[str, dict[str, dict[str, float]]] = {"cut": {}, "pit": {}, "wrap": {}}
    for address, value in values.items():
        kind, _, rest = address.partition(":")
        if kind == "constant":
            constants[rest] = replace(constants[rest], value=value)
        else:
            key, _, path = rest.partition(".")
            changes[kind].setdefault(key, {})[path] = value
    holders = [
        module
        for name, module in list(sys.modules.items())
        if name.startswith("pitreckon.") and getattr(module, "CONSTANTS", None) is kept
    ]
    try:
        for module in holders:
            module.CONSTANTS = constants  # type: ignore[attr-defined]
        for kind, by_key in changes.items():
            if by_key:
                one, many = shelves[kind], shelves[f"{kind}s"]
                setattr(catalog, kind, lambda name, *a, _o=one, _b=by_key: _changed(_o(name, *a), _b))
                setattr(catalog, f"{kind}s", lambda *a, _m=many, _b=by_key: _all_changed(_m(*a), _b))
        yield
    finally:
        for module in holders:
            module.CONSTANTS = kept  # type: ignore[attr-defined]
        for name, shelf in shelves.items():
            setattr(catalog, name, shelf)


def _all_changed(entries: dict[str, Any], by_key: Mapping[str, Mapping[str, float]]) -> dict[str, Any]:
    return entries | {key: _changed(entries[key], by_key) for key in by_key if key in entries}


def _changed(entry: Any, by_key: Mapping[str, Mapping[str, float]]) -> Any:
    for path, value in by_key.get(entry.key, {}).items():
        entry = _thicker(entry, value) if path == "thickness" else _put(entry, path.split("."), value)
    return entry


def _put(entry: Any, path: Sequence[str], value: float) -> Any:
    held = getattr(entry, path[0])
    new = replace(held, value=value) if len(path) == 1 else _put(held, path[1:], value)
    return replace(entry, **{path[0]: new})


def _thicker(cut: Cut, factor: float) -> Cut:
    """The cut with another thickness at the same weight: a drum gives way across, all others in their length."""
    shape = cut.shape
    if isinstance(shape, Drum):
        by = {"height_m": factor, "diameter_m": factor**-0.5}
    elif hasattr(shape, "thickness_m"):
        by = {"thickness_m": factor, "length_m": 1.0 / factor}
    else:  # a bird round its cavity
        by = {"diameter_m": factor, "cavity_m": factor, "length_m": factor**-2}
    changed = {name: replace(getattr(shape, name), value=getattr(shape, name).value * f) for name, f in by.items()}
    return replace(cut, shape=replace(shape, **changed))


def kernel_mark() -> str:
    """Fingerprint of the kernel's sources."""
    return cache.mark()


# --- cooks ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Built:
    """A set-up as a job of one member; fat_share: what renders once all collagen is gelatin, per raw piece."""

    setup: SetUp
    job: Job
    fat_share: float


@dataclass(frozen=True)
class Curve:
    """What became of a cook: records of one member, its marks and the ends of its stages [s], balance faults."""

    time_s: Floats
    channels: Mapping[str, Floats]
    marks_s: Mapping[str, float]
    ends_s: Floats
    fat_share: float
    balance: float


def key_of(kind: str, name: str) -> str | None:
    """Key of a cut or pit of a set-up by the catalog's key or another spelling of it; None: it is not there yet."""
    for spelt in (name, name.replace("-", " "), ALSO.get(name, name)):
        try:
            return str(getattr(catalog, kind)(spelt).key)
        except InputError:
            continue
    return None


def missing(setup: SetUp) -> str | None:
    """What of a set-up the catalog does not have yet."""
    for kind, name in (("cut", setup.cut), ("pit", setup.pit)):
        if key_of(kind, name) is None:
            return f"{kind} {name}"
    return None


def item_of(setup: SetUp) -> ItemPlan:
    """The piece of a set-up, as a cook file would have it."""
    return ItemPlan(
        label=setup.cut,
        cut=catalog.cut(key_of("cut", setup.cut) or setup.cut).key,
        pieces=1,
        mass_kg=setup.mass_lb * LB_KG,
        pit="pit",
        put_on_utc=PUT_ON,
        start_c=(setup.start_f - 32.0) / 1.8,
        thickness_factor=setup.thin,
        sugar=setup.sugar,
        stages=tuple(_plan(stretch.state, stretch.until, setup) for stretch in setup.course),
    )


def build(setup: SetUp, z: Floats | None = None) -> Built:
    """The job of a set-up with the constants as they are now.

    z: standard numbers of one member by ``levels.UNKNOWNS``, (unknowns, 1); every unknown at its middle by default
    """
    item = item_of(setup)
    cut, pit = catalog.cut(item.cut), catalog.pit(key_of("pit", setup.pit) or setup.pit)
    pan: dict[str, bool] = {"water_pan": True} if setup.pan and PANS_KNOWN else {}
    if setup.pan and not PANS_KNOWN:
        more = pit.exchange.pan_evaporation_kg_s.value + PAN_KG_S
        pit = _put(pit, ("exchange", "pan_evaporation_kg_s"), more)
    set_c, mass_kg, plans = (setup.gauge_f - 32.0) / 1.8, item.mass_kg, item.stages
    pressure = pressure_isa(setup.altitude_m)
    cook = Cook("practice", "UTC", None, setup.altitude_m, None, None, (PitPlan("pit", pit.key, set_c),), (item,))
    # A rack trimmed thinner weighs less by as much: its other lengths are those of the whole one.
    item_for_scale = replace(item, mass_kg=mass_kg / setup.thin)
    section = material.section_of(cut, thickness_factor=setup.thin)
    unknowns = named(np.zeros((len(UNKNOWNS), 1)) if z is None else z)
    levels = levels_of(cut, pit, wrap_of(item), measured=False)
    draw, pit_draw = draw_item(cut, item_for_scale, pressure, unknowns, levels), draw_pit(pit, unknowns, levels)
    ratio = pitair.ambient_ratio(None, None, pressure)
    vapour = pitair.pit_vapour(pit, catalog.fuels()[pit.fuel], pit_draw, set_c, None, ratio, mass_kg, pressure, **pan)
    around = Around(cook, item_for_scale, cut, section, draw, pit_draw, set_c, vapour, pressure, ratio)
    stages = [Stage(plan, plan.wrap) for plan in plans]
    fields = [dict(around.stage(stage, PUT_ON.timestamp(), 0.0)) | {"longest_s": np.inf} for stage in stages]
    for field, stretch in zip(fields, setup.course, strict=True):
        if stretch.until == "never":
            field["until"] = float(Until.NEVER)
    if setup.course[-1].until.endswith("F") and cut.texture.done_by == "tender":
        on = {"until": float(Until.TENDER), "value": 1.0, "longest_s": TAIL_S, "lid_dip_k": 0.0, "liquid": 0.0}
        fields.append(fields[-1] | on)
    job = Job(
        section,
        draw.members,
        Drive(np.full((2, 1), set_c + float(pit_draw.offset_k[0] + pit_draw.held_k[0] + draw.spot_k[0]))),
        Course.of(1, fields),
        horizon_s=3600.0 * setup.hours,
        mass=np.array([material.raw_mass_of(cut, section)]),
        record_every=2 if half_thickness(section) >= THICK_HALF_M else 1,
    )
    fat = cut.composition.fat.value * (1.0 - cut.composition.bone_fraction.value)
    return Built(setup, job, fat * section_constants.constant("fat_render"))


def _plan(state: str, until: str, setup: SetUp) -> StagePlan:
    ends = parse_until("300 min" if until == "never" else until)
    if state == "glazed":
        return StagePlan("sauced", ends)
    if state == "rest":
        return StagePlan("rest", ends)
    return StagePlan("wrapped", ends, wrap=WRAPS[state]) if state in WRAPS else StagePlan("open", ends)


def run(built: Sequence[Built], threads: int | None = None) -> list[Curve]:
    """Cook all of them. Cooks of one section and number of stages go side by side, so variants of a cook are cheap."""
    groups: dict[bytes, list[int]] = {}
    for i, b in enumerate(built):
        groups.setdefault(alike(b.job), []).append(i)
    jobs = [_together([built[i].job for i in group]) for group in groups.values()]
    curves: dict[int, Curve] = {}
    for group, trace in zip(groups.values(), simulate_all(jobs, threads=threads), strict=True):
        for column, i in enumerate(group):
            curves[i] = _curve(trace.take(np.array([column])), built[i])
    return [curves[i] for i in range(len(built))]


def _curve(trace: Trace, built: Built) -> Curve:
    """The one member of a trace up to its own horizon, whoever ran beside it."""
    until_s = built.job.horizon_s
    inside = trace.time_s <= until_s
    failed = bool(trace.failed)
    lost = np.nan if failed else 0.0
    return Curve(
        trace.time_s[inside],
        {name: trace[name][inside, 0] + lost for name in CHANNEL},
        {name: _by(float(trace.marks_s[row, 0]), until_s) + lost for name, row in MARK.items()},
        np.array([_by(float(end), until_s) + lost for end in trace.stage_end_s[:, 0]]),
        built.fat_share,
        float(np.nanmax(np.abs(trace.balance), initial=0.0)),
    )


def _by(at_s: float, until_s: float) -> float:
    return at_s if at_s <= until_s else float("nan")


def fingerprint(built: Built) -> bytes:
    """All that the kernel is given for a cook, as bytes: the same bytes, the same curve."""
    job = built.job
    parts = [alike(job), job.members.values, job.course.table, job.drive.air_c, built.fat_share, job.horizon_s]
    return b"|".join(part if isinstance(part, bytes) else np.ascontiguousarray(part).tobytes() for part in parts)


def alike(job: Job) -> bytes:
    """Bytes that are the same for jobs that can run side by side."""
    held = [getattr(job.section, field.name) for field in dataclasses.fields(job.section)]
    numbers = [v.tobytes() if isinstance(v, np.ndarray) else repr(v).encode() for v in held]
    rest = (job.course.table.shape[0], job.record_every, job.drive.knot_s, job.drive.air_c.shape[0])
    return b"|".join([*numbers, repr(rest).encode()])


def _together(jobs: Sequence[Job]) -> Job:
    first = jobs[0]
    return replace(
        first,
        horizon_s=max(job.horizon_s for job in jobs),
        members=Members(np.concatenate([job.members.values for job in jobs], axis=1)),
        drive=Drive(np.concatenate([job.drive.air_c for job in jobs], axis=1), first.drive.knot_s),
        course=Course(np.concatenate([job.course.table for job in jobs], axis=2), first.course.names),
        mass=np.concatenate([np.ravel(job.mass) for job in jobs]),  # type: ignore[arg-type]
    )
