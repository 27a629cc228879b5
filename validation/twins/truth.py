"""What really happens to the meat: the kernel on a finer grid, in surroundings that change within a stage.

A stage is cut into stretches of ``fire.SEGMENT_S``, each with its own vapour, draught and walls; the stages' ends are
the cook's doing (``habits``), so the run is given them and goes on in the present stage until it is stopped.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon import catalog
from pitreckon.cook import StagePlan
from pitreckon.cook.plan import UNWRAPPED
from pitreckon.section import material
from pitreckon.section.course import Course, Drive
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround
from pitreckon.section.trace import Trace
from validation.twins.deal import Twin
from validation.twins.fire import KNOT_S, SEGMENT_S, Opening

Floats = NDArray[np.float64]
ON_PIT = ("open", "wrapped", "sauced")
TENT = "foil"


def follow(
    twin: Twin, ends_s: Sequence[float], openings: Sequence[Opening], until_s: float, *, thin: bool = False
) -> Trace:
    """Run one end of the piece to ``until_s``; ``ends_s``: ends of the stages that are over [s since put-on].

    The trace is of one member, with a record every minute; its stages are stretches, not the plan's.
    """
    section = twin.meat.thin if thin else twin.meat.thick
    knots = int(np.ceil(until_s / KNOT_S)) + 1
    tables: list[dict[str, ArrayLike]] = []
    begin = 0.0
    for i, stage in enumerate(twin.stages[: len(ends_s) + 1]):
        over = ends_s[i] if i < len(ends_s) else until_s + SEGMENT_S
        tables += _stretches(twin, section, stage, _wrap(twin.stages[: i + 1]), begin, over)
        begin = over
    return simulate(
        section,
        twin.meat.members,
        Drive(twin.fire.grate_c(openings, knots)[:, None], KNOT_S),
        Course.of(1, tables),
        horizon_s=(knots - 1) * KNOT_S,
        mass=np.array([material.raw_mass_of(twin.meat.cut, section)]),
        record_every=1,
        threads=1,
    )


def _stretches(
    twin: Twin, section: Section, stage: StagePlan, wrap: str | None, begin_s: float, end_s: float
) -> list[dict[str, ArrayLike]]:
    """The stage as stretches with surroundings of their own; a sauced or resting piece is one stretch."""
    whole = stage.kind == "sauced" or stage.kind not in ON_PIT
    first = int(begin_s // SEGMENT_S)
    cuts = [] if whole else [s * SEGMENT_S for s in range(first + 1, int(np.ceil(end_s / SEGMENT_S)))]
    cuts = [at for at in cuts if begin_s + KNOT_S <= at <= end_s - KNOT_S]
    out = []
    for n, (since, until) in enumerate(zip([begin_s, *cuts], [*cuts, end_s], strict=True)):
        fields = _fields(twin, section, stage, wrap, int(since // SEGMENT_S))
        fields["forced_s"] = until
        if n == 0:
            fields["liquid"] = stage.liquid_kg / twin.meat.mass_kg
        out.append(fields)
    return out


def _wrap(stages: Sequence[StagePlan]) -> str | None:
    """What is on the piece in the last of these stages; foil is laid over a piece that rests bare."""
    on: str | None = None
    for stage in stages:
        if stage.kind in ON_PIT:
            on = stage.wrap if stage.kind == "wrapped" else None
        elif stage.wrap is not None:
            on = None if stage.wrap == UNWRAPPED else stage.wrap
        else:
            on = on or TENT
    return on


def _fields(twin: Twin, section: Section, stage: StagePlan, wrap_key: str | None, segment: int) -> dict[str, ArrayLike]:
    meat, fire = twin.meat, twin.fire
    segment = min(segment, fire.vapour_pa.size - 1)
    on_pit = stage.kind in ON_PIT
    wrap = catalog.wraps()[wrap_key] if wrap_key else None
    folded = {}
    if wrap is not None:
        folded = {
            "wrap_leak": wrap.leak_kg_m2_s_pa.value * meat.leak,
            "gap_w_m2k": wrap.gap_conductance_w_m2k.value * meat.gap,
            "wrap_permeance": wrap.vapour_permeance_kg_m2_s_pa.value * meat.permeance,
            "wrap_emissivity": min(wrap.emissivity.value * meat.sheen, 0.95),
        }
    size_m = material.size_m(meat.cut, twin.item.thickness_factor) * meat.value("scale")
    fields: dict[str, ArrayLike] = surround(
        air_c=fire.set_c if on_pit else meat.room_c,
        pressure_pa=meat.value("pressure_pa"),
        convection_w_m2k=convection(size_m, fire.air_speed_m_s, fire.set_c, meat.value("pressure_pa"))
        * fire.draught[segment]
        if on_pit
        else meat.rest_w_m2k,
        emissivity=meat.emissivity,
        open_fraction=meat.open_fraction,
        mirrored=section.mirrored,
        wrap=wrap,
        **folded,
    )
    fields["sugar"] = meat.sugar_speed * (twin.item.sugar - 0.5)
    if not on_pit:
        return fields | {"off_pit": 1.0, "air_c": meat.room_c, "vapour_pa": fire.outside_pa}
    fields |= {"vapour_pa": fire.vapour_pa[segment], "wall_offset_k": fire.wall_offset_k[segment]}
    if stage.kind == "sauced":
        fields |= {
            "glaze_water": meat.glaze_kg_m2 * meat.glaze_water,
            "glaze_solid": meat.glaze_kg_m2 * (1.0 - meat.glaze_water),
            "sugar": 1.0,
        }
    return fields


def progress(twin: Twin, trace: Trace, stage: StagePlan) -> Floats:
    """How near the stage's own criterion is, at each record: 1 and above when it is met; shape (records,)."""
    match stage.until.ends_by:
        case "colour":
            return trace["colour"][:, 0]
        case "tender":
            return trace["gelatin_core"][:, 0] / twin.meat.value("tender_at")
        case "core":
            goal = stage.until.core_c or 0.0
            return 1.0 + (trace["core_c"][:, 0] - goal) / 25.0
        case "glaze":
            set_at = twin.meat.value("glaze_set_at")
            ratio = trace["glaze_ratio"][:, 0]
            return np.where(np.isnan(ratio), 0.0, 2.0 - ratio / set_at)
        case what:
            raise ValueError(f"a stage until {what} is the cook's to end")


def met_s(twin: Twin, trace: Trace, stage: StagePlan, begin_s: float) -> float:
    """When the stage's criterion is met [s since put-on], inf if it is not."""
    far = progress(twin, trace, stage)
    late = np.flatnonzero((trace.time_s >= begin_s) & (far >= 1.0))
    if late.size == 0:
        return float("inf")
    hi = int(late[0])
    if hi == 0 or trace.time_s[hi - 1] < begin_s or not np.isfinite(far[hi - 1]) or far[hi - 1] >= 1.0:
        return max(float(trace.time_s[hi]), begin_s)
    part = (1.0 - far[hi - 1]) / (far[hi] - far[hi - 1])
    return float(trace.time_s[hi - 1] + part * KNOT_S)
