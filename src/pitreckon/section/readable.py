"""The readable kernel: the same model, scheme and signature as the compiled one, written in NumPy to be read.

All members march together and take the steps that the most demanding of them needs; the compiled kernel
does the same within each of its blocks, so up to one block of members the two agree to round-off.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.section import laws
from pitreckon.section.course import COLUMN, Until
from pitreckon.section.members import ROW
from pitreckon.section.readable_rates import (
    Around,
    Fields,
    Floats,
    Named,
    Piece,
    State,
    fields_of,
    reactions,
)
from pitreckon.section.readable_step import Direction, Pace, Pit, Reacted, advance
from pitreckon.section.tally import DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL, TALLIES
from pitreckon.section.trace import CHANNEL, MARK

NO_GLAZE = 1e9
NEVER_OPENED = -1e9
Watch = Callable[[float, State, Fields], None]


@dataclass
class Cook:
    """Where every member stands."""

    piece: Piece
    p: Named
    table: Floats
    stage: Named  # views of one array: the present stage's fields
    state: State
    fields: Fields
    reacted: dict[str, Reacted]
    number: NDArray[np.int64]  # of the present stage
    since_s: Floats  # time in it
    opened_s: Floats  # when the lid was last open
    alive: NDArray[np.bool_]
    before: Floats  # quantities behind the marks at the last knot, [mark, member]

    @property
    def glaze_ratio(self) -> Floats:
        """Mean glaze water of the upper faces per solids; nan where there is none."""
        solid = self.stage["glaze_solid"]
        ratio: Floats = np.where(solid > 0.0, self.piece.upper_mean(self.state.tally[GLAZE0:]) / solid, np.nan)
        return ratio


def run(  # type: ignore[no-untyped-def]
    nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places, P, table, air, knot_s, known_s,
    horizon_s, record_every, substeps, coef, extent, raw_mass, out, marks, ends, balance, failed,
    watch=None,
) -> None:  # fmt: skip
    """Run all members through their course and fill the result arrays in place.

    Arguments as ``compiled.run_block`` takes them, but with the members on the last axis: ``P`` [parameter,
    member], ``table`` [stage, field, member], ``air`` [knot, member], ``out`` [record, channel, member] and
    so on. ``watch`` is shown the time, the state and its fields after every knot.
    """
    with np.errstate(all="ignore"):  # a member may fail; it is found by its numbers
        piece = Piece.of(nx, ny, gx, gy, volume, bone, ocell, oarea, ogroup, core, places)
        cook = put_on(piece, {name: P[i] for name, i in ROW.items()}, table, raw_mass)
        held_at_start = contents(cook)
        pace = Pace(least=substeps, parts=substeps)
        direction = Direction.first(*cook.state.heat.shape)
        steps = int(horizon_s / knot_s + 0.5)
        for k in range(steps + 1):
            now_s = k * knot_s
            if k % record_every == 0 and k // record_every < out.shape[0]:
                at = pit_of(cook, air, k, knot_s, known_s)(0.0)
                record(cook, at.air_c, raw_mass, out[k // record_every])
            if k == steps:
                break
            if leave_stages(cook, now_s, knot_s, raw_mass, ends):
                pace.fresh = True
            if not cook.alive.any():
                break
            pace.begin()
            pit = pit_of(cook, air, k, knot_s, known_s)
            cook.state, cook.fields = advance(
                piece,
                cook.p,
                pit,
                cook.state,
                cook.reacted,
                pace,
                direction,
                knot_s,
                cook.alive,
                coef,
                extent,
            )
            lost = cook.alive & ~np.isfinite(cook.fields.temp_c[core])
            failed[lost] = now_s + knot_s
            cook.alive &= ~lost
            cook.since_s += knot_s
            set_marks(cook, now_s, knot_s, marks)
            if watch is not None:
                watch(now_s + knot_s, cook.state, cook.fields)
        close_books(cook, held_at_start, balance)


def put_on(piece: Piece, p: Named, table: Floats, raw_mass: Floats) -> Cook:
    """Every member at the start of its first stage."""
    n, cells, faces = raw_mass.size, piece.volume.size, piece.outer.size
    present = table[0].copy()
    stage = {name: present[i] for name, i in COLUMN.items()}
    water = np.where(piece.meat > 0.0, p["water"], np.zeros((cells, n)))
    empty = State(np.zeros((cells, n)), water, np.zeros((TALLIES + faces, n)))
    capacity = fields_of(piece, p, empty).capacity
    state = State(capacity * p["start_c"], water, empty.tally)
    state.tally[GLAZE0:] = stage["glaze_water"]
    state.tally[POOL] = stage["liquid"] * raw_mass
    fields = fields_of(piece, p, state)
    speeds = reactions(piece, p, stage, state, fields.temp_c)
    before = np.zeros((len(MARK), n))
    before[MARK["glaze_set"]] = NO_GLAZE
    return Cook(
        piece=piece,
        p=p,
        table=table,
        stage=stage,
        state=state,
        fields=fields,
        reacted={name: Reacted(np.zeros_like(rate), rate) for name, rate in speeds.items()},
        number=np.zeros(n, dtype=np.int64),
        since_s=np.zeros(n),
        opened_s=np.full(n, NEVER_OPENED),
        alive=np.ones(n, dtype=bool),
        before=before,
    )


def pit_of(cook: Cook, air: Floats, k: int, knot_s: float, known_s: float) -> Pit:
    """Air and walls by the time since knot ``k``: straight to the next, less what an open lid let out."""
    last = air.shape[0] - 1
    low, high = air[min(k, last)], air[min(k + 1, last)]
    stage = cook.stage
    dips = (stage["lid_dip_k"] > 0.0) & (cook.opened_s >= known_s)

    def at(late_s: float) -> Around:
        since_open = k * knot_s + late_s - cook.opened_s
        dip = stage["lid_dip_k"] * np.exp(-since_open / stage["lid_recovery_s"])
        pit_c = low + (high - low) * (late_s / knot_s) - np.where(dips, dip, 0.0)
        air_c = np.where(stage["off_pit"] > 0.0, stage["air_c"], pit_c)
        return Around(air_c, air_c + stage["wall_offset_k"], stage)

    return at


def record(cook: Cook, air_c: Floats, raw_mass: Floats, row: Floats) -> None:
    """Write the channels of the members that are still cooking."""
    piece, t, tally = cook.piece, cook.fields.temp_c, cook.state.tally
    gelatin, shrunk = (1.0 - np.exp(-cook.reacted[name].total) for name in ("gelatin", "shrunk"))
    activity = laws.surface_activity(np.maximum(cook.state.water[piece.outer], 0.0), cook.p["skin_b"])
    kill = np.min(cook.reacted["kill"].total[piece.meat[:, 0] > 0.0], axis=0)
    values = {
        "core_c": t[piece.core],
        "place1_c": t[piece.places[1]],
        "place2_c": t[piece.places[2]],
        "surface_c": piece.upper_mean(t[piece.outer]),
        "mean_c": piece.meat_mean(t),
        "air_c": air_c,
        "colour": piece.upper_mean(cook.reacted["colour"].total),
        "evaporated": tally[EVAPORATED] / raw_mass,
        "dripped": tally[DRIPPED] / raw_mass,
        "gelatin_core": gelatin[piece.core],
        "gelatin_mean": piece.meat_mean(gelatin),
        "shrunk_mean": piece.meat_mean(shrunk),
        "glaze_ratio": cook.glaze_ratio,
        "kill_log10": np.log10(kill + 1e-30),
        "stage": cook.number,
        "activity": piece.upper_mean(activity),
    }
    for name, value in values.items():
        row[CHANNEL[name], cook.alive] = np.broadcast_to(value, cook.alive.shape)[cook.alive]


def leave_stages(cook: Cook, now_s: float, knot_s: float, raw_mass: Floats, ends: Floats) -> bool:
    """Move every member on whose stage is over, through several stages if need be; whether any moved."""
    any_moved = False
    while True:
        leaving = cook.alive & stage_over(cook, now_s, knot_s)
        if not leaving.any():
            return any_moved
        any_moved = True
        ends[cook.number[leaving], leaving] = now_s
        cook.number[leaving] += 1
        cook.alive &= cook.number < cook.table.shape[0]
        moving = np.flatnonzero(leaving & cook.alive)
        for name, i in COLUMN.items():
            cook.stage[name][moving] = cook.table[cook.number[moving], i, moving]
        cook.since_s[moving] = 0.0
        cook.opened_s[moving] = now_s
        cook.before[MARK["glaze_set"], moving] = NO_GLAZE
        tally, stage = cook.state.tally, cook.stage
        tally[GLAZE0:, moving] = stage["glaze_water"][moving]
        kept = np.where(stage["holds_liquid"] > 0.0, tally[POOL], 0.0)
        tally[POOL, moving] = (kept + stage["liquid"] * raw_mass)[moving]


def stage_over(cook: Cook, now_s: float, knot_s: float) -> NDArray[np.bool_]:
    """Which members are done with their stage: by the ledger if it says so, else by their own criterion."""
    stage, before = cook.stage, cook.before
    until, value = stage["until"], stage["value"]
    met = np.select(
        [until == kind for kind in Until],
        [
            cook.since_s >= value - 0.5 * knot_s,
            before[MARK["colour_set"]] >= value,
            before[MARK["tender"]] >= value * cook.p["tender_at"],
            before[MARK["core_done"]] >= value,
            now_s >= value - 0.5 * knot_s,
            before[MARK["glaze_set"]] <= cook.p["glaze_set_at"],
            np.zeros(until.shape, dtype=bool),
        ],
        False,
    )
    said = np.isfinite(stage["forced_s"])
    free = ~said & (now_s >= stage["not_before_s"])
    over = now_s >= stage["forced_s"] - 0.5 * knot_s
    done: NDArray[np.bool_] = over | (free & (met | (cook.since_s >= stage["longest_s"])))
    return done


def set_marks(cook: Cook, now_s: float, knot_s: float, marks: Floats) -> None:
    """Set the marks that fell between the last knot and this one, placed by a straight line."""
    colour = cook.piece.upper_mean(cook.reacted["colour"].total)
    gelatin = 1.0 - np.exp(-cook.reacted["gelatin"].total[cook.piece.core])
    ratio = cook.glaze_ratio
    now_and_goal = {
        "colour_set": (colour, np.ones_like(colour)),
        "tender": (gelatin, cook.p["tender_at"]),
        "core_done": (cook.fields.temp_c[cook.piece.core], cook.p["core_done_c"]),
        "glaze_set": (np.where(np.isnan(ratio), NO_GLAZE, ratio), cook.p["glaze_set_at"]),
        "too_dark": (colour, cook.p["dark_at"]),
        "too_soft": (gelatin, cook.p["soft_at"]),
    }
    for name, (now, goal) in now_and_goal.items():
        i = MARK[name]
        there = now <= goal if name == "glaze_set" else now >= goal
        hit = cook.alive & np.isnan(marks[i]) & there
        before = cook.before[i]
        span = now - before
        part = np.where(span != 0.0, (goal - before) / span, 1.0)
        marks[i, hit] = (now_s + knot_s * np.clip(part, 0.0, 1.0))[hit]
        cook.before[i] = np.where(cook.alive, now, before)


def contents(cook: Cook) -> tuple[Floats, Floats]:
    """Water [kg] and heat [J] in each member's section."""
    piece = cook.piece
    water = (piece.volume * piece.meat * cook.p["dry_density"] * cook.state.water).sum(axis=0)
    return water, (piece.volume * cook.state.heat).sum(axis=0)


def close_books(cook: Cook, held_at_start: tuple[Floats, Floats], balance: Floats) -> None:
    """What went in and out against what is left, relative to the water at the start and to all heat moved."""
    water_start, heat_start = held_at_start
    water, heat = contents(cook)
    tally = cook.state.tally
    balance[0] = (water + tally[EVAPORATED] + tally[DRIPPED] - water_start) / water_start
    moved = np.abs(tally[HEAT_IN]) + np.abs(tally[HEAT_OUT]) + np.abs(heat_start)
    balance[1] = (heat - heat_start - tally[HEAT_IN] + tally[HEAT_OUT]) / moved
