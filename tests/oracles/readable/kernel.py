"""The readable kernel: the same model, scheme and signature as the compiled one, written in NumPy to be read.

Every member takes steps of its own length, as it does in the compiled kernel; here those that are through wait at the
next knot for the rest.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from tests.oracles.readable.rates import Around, Fields, Floats, Mask, Named, Piece, State, fields_of, skin_of
from tests.oracles.readable.step import Pit, attempt, settle

from pitreckon.section import laws
from pitreckon.section.course import COLUMN, Until
from pitreckon.section.members import ROW
from pitreckon.section.multistage import CALM, FRESH_PARTS, MOST_PARTS
from pitreckon.section.shapes import Section
from pitreckon.section.snapshot import DONE, EXTRAS
from pitreckon.section.tally import DRIPPED, EVAPORATED, HEAT_IN, HEAT_OUT, POOL, TALLIES
from pitreckon.section.trace import CHANNEL, MARK

NO_GLAZE = 1e9
NEVER = 1e9
OUT_OF_BOUNDS_C = 1e4
CELLWISE = ("gelatin", "shrunk", "kill")
"""Reactions of every cell; the colour is one of the outer faces."""
Watch = Callable[[float, State, Fields], None]


@dataclass
class Cook:
    """Where every member stands."""

    piece: Piece
    p: Named
    table: Floats
    present: Floats  # the present stage's fields, [field, member]
    state: State
    reacted: Named  # time integrals of the reactions
    number: NDArray[np.int64]  # of the present stage
    since_s: Floats  # time in it
    opened_s: Floats  # when the lid was last open
    want_s: Floats  # the step to try
    alive: Mask
    before: Floats  # quantities behind the marks at the last knot, [mark, member]
    water_start: Floats
    heat_start: Floats

    @property
    def stage(self) -> Named:
        """The present stage's fields by name."""
        return {name: self.present[i] for name, i in COLUMN.items()}

    @property
    def temp_c(self) -> Floats:
        """Temperature of every cell."""
        return fields_of(self.piece, self.p, self.state).temp_c

    @property
    def glaze_ratio(self) -> Floats:
        """Mean glaze water of the upper faces per solids; nan where there is none."""
        solid = self.stage["glaze_solid"]
        glaze = self.state.tally[self.piece.glazes]
        ratio: Floats = np.where(solid > 0.0, self.piece.upper_mean(glaze) / solid, np.nan)
        return ratio


def run_members(
    first: int,
    last: int,
    *,
    section: Section,
    values: Floats,
    table: Floats,
    air: Floats,
    raw_mass: Floats,
    knot_s: float,
    known_s: float,
    steps: int,
    record_every: int,
    substeps: int,
    snapshot_at: int,
    snapshot: Floats,
    start: Floats,
    first_knot: int,
    results: dict[str, Floats],
    single: bool,  # of no account: here all is double
    watch: Watch | None = None,
) -> None:
    """Run members ``first`` to ``last`` through their course and fill the results in place.

    Parameters
    ----------
    section: the piece
    values, table, air, raw_mass: as ``Members``, ``Course``, ``Drive`` have them; raw mass of the nominal section [kg]
    knot_s, known_s: of the drive [s]
    steps: knots to go, from put-on
    record_every: knots between two records
    substeps: steps a knot at least
    snapshot_at, snapshot: the knot at which to keep the members (-1: none), and where (``snapshot.room_for``)
    start, first_knot: members as kept in an earlier run, and the knot that was; or empty, and 0
    results: "out" [record, channel, member], "marks", "ends", "balance", "failed" (nan until known), "effort"
    watch: is shown the time, the state and its fields after every knot
    """
    some = np.s_[..., first:last]
    results = {name: array[some] for name, array in results.items()}
    table, air, raw_mass, snapshot = table[some], air[some], raw_mass[some], snapshot[some]
    p = {name: values[i][some] for name, i in ROW.items()}
    longest_s = knot_s / substeps
    with np.errstate(all="ignore"):  # a member may fail; it is found by its numbers
        cook = put_on(Piece.of(section), p, table, raw_mass, min(knot_s / FRESH_PARTS, longest_s))
        if start.shape[0] > 0:
            take_up(start[some], cook)
        running = cook.alive.copy()
        for k in range(first_knot, steps + 1):
            now_s = k * knot_s
            if k == snapshot_at:
                put_down(cook, snapshot)
            if k % record_every == 0 and k // record_every < results["out"].shape[0]:
                record(cook, air_of_record(cook, air, k, knot_s, known_s), raw_mass, results["out"][k // record_every])
            if k == steps:
                break
            moved = leave_stages(cook, now_s, knot_s, raw_mass, results["ends"])
            cook.want_s[moved] = np.minimum(cook.want_s[moved], knot_s / FRESH_PARTS)
            cook.want_s = np.minimum(cook.want_s, longest_s)
            if not cook.alive.any():
                break
            go_to_next_knot(cook, pit_of(cook, air, k, knot_s, known_s), knot_s, longest_s, results["effort"])
            lost = cook.alive & ~(np.abs(cook.temp_c[section.core]) < OUT_OF_BOUNDS_C)  # no number is lost, too
            results["failed"][lost] = now_s + knot_s
            cook.alive &= ~lost
            cook.since_s += knot_s
            set_marks(cook, now_s, knot_s, results["marks"])
            if watch is not None:
                watch(now_s + knot_s, cook.state, fields_of(cook.piece, p, cook.state))
        close_books(cook, results["balance"], running)


def put_on(piece: Piece, p: Named, table: Floats, raw_mass: Floats, want_s: float) -> Cook:
    """Every member at the start of its first stage."""
    n, cells, faces = raw_mass.size, piece.volume.size, piece.outer.size
    present = table[0].copy()
    water = np.where(piece.meat > 0.0, p["water"], np.zeros((cells, n)))
    tally = np.zeros((TALLIES + 2 * faces, n))
    tally[piece.glazes] = present[COLUMN["glaze_water"]]
    tally[POOL] = present[COLUMN["liquid"]] * raw_mass
    cold = State(np.zeros((cells, n)), water, tally)
    state = State(fields_of(piece, p, cold).capacity * p["start_c"], water, tally)
    before = np.zeros((len(MARK), n))
    before[MARK["glaze_set"]] = NO_GLAZE
    water_start, heat_start = contents(piece, p, state)
    return Cook(
        piece=piece,
        p=p,
        table=table,
        present=present,
        state=state,
        reacted={name: np.zeros((cells, n)) for name in CELLWISE} | {"colour": np.zeros((faces, n))},
        number=np.zeros(n, dtype=np.int64),
        since_s=np.zeros(n),
        opened_s=np.full(n, -NEVER),
        want_s=np.full(n, want_s),
        alive=np.ones(n, dtype=bool),
        before=before,
        water_start=water_start,
        heat_start=heat_start,
    )


def put_down(cook: Cook, snapshot: Floats) -> None:
    """Keep the members that are cooking, a column each; ``snapshot.py`` tells the order of the rows."""
    state, reacted = cook.state, cook.reacted
    nothing = [
        np.zeros_like(part) for part in (state.tally, state.heat, state.water)
    ]  # that rounding would have cut off
    parts = [state.heat, state.water, state.tally, nothing[0], *reacted.values(), *nothing[1:], cook.before]
    extras = [cook.number, cook.since_s, cook.opened_s, cook.want_s, cook.water_start, cook.heat_start]
    snapshot[:, cook.alive] = np.concatenate([*parts, np.stack(extras)])[:, cook.alive]


def take_up(snapshot: Floats, cook: Cook) -> None:
    """The inverse of ``put_down``: of members that were done then only that they are."""
    cook.alive = snapshot[-EXTRAS] != DONE
    here = cook.alive
    row = 0
    state, reacted = cook.state, cook.reacted
    nothing = [np.zeros_like(part) for part in (state.tally, state.heat, state.water)]
    parts = [state.heat, state.water, state.tally, nothing[0], *reacted.values(), *nothing[1:], cook.before]
    for part in parts:
        part[:, here] = snapshot[row : row + len(part), here]
        row += len(part)
    extras = (cook.number, cook.since_s, cook.opened_s, cook.want_s, cook.water_start, cook.heat_start)
    for extra, values in zip(extras, snapshot[row:], strict=True):
        extra[here] = values[here]
    cook.present[:, here] = cook.table[cook.number[here], :, here].T


def go_to_next_knot(cook: Cook, pit: Pit, knot_s: float, longest_s: float, effort: Floats) -> None:
    """Every member to the next knot, by steps that are refused, halved and doubled for each alone."""
    shortest_s = min(knot_s / MOST_PARTS, longest_s)
    late_s = np.zeros(cook.alive.size)
    while True:
        going = cook.alive & (late_s < knot_s - 1e-6)
        if not going.any():
            return
        dt = np.where(going, np.minimum(cook.want_s, knot_s - late_s), 0.0)
        tried = attempt(cook.piece, cook.p, pit, cook.state, late_s, dt)
        refused = going & (tried.fault > 1.0) & (dt > 1.01 * shortest_s)
        taken = going & ~refused
        calm = taken & (tried.fault < CALM)
        cook.state = settle(cook.piece, cook.p, cook.stage, cook.state, cook.reacted, tried, dt, taken)
        effort += np.stack([taken, refused])
        late_s = np.where(taken, late_s + dt, late_s)
        longer_s = np.minimum(longest_s, np.maximum(cook.want_s, 2.0 * dt))
        cook.want_s = np.select([refused, calm], [0.5 * dt, longer_s], cook.want_s)


def air_knots(air: Floats, k: int) -> tuple[Floats, Floats]:
    """Air at a knot and at the next; the last value holds."""
    last = air.shape[0] - 1
    return air[min(k, last)], air[min(k + 1, last)]


def pit_of(cook: Cook, air: Floats, k: int, knot_s: float, known_s: float) -> Pit:
    """Air and walls by the time since knot ``k``: straight to the next, less what an open lid let out."""
    here, there = air_knots(air, k)
    stage = cook.stage
    open_for_s = np.where(cook.opened_s >= known_s, k * knot_s - cook.opened_s, NEVER)

    def at(late_s: Floats) -> Around:
        fade = laws.exp_near(laws.limited(-(open_for_s + late_s) / stage["lid_recovery_s"], -30.0, 30.0))
        pit_c = here + (there - here) * (late_s / knot_s) - stage["lid_dip_k"] * fade
        air_c = np.where(stage["off_pit"] > 0.0, stage["air_c"], pit_c)
        return Around(air_c, air_c + stage["wall_offset_k"], stage)

    return at


def air_of_record(cook: Cook, air: Floats, k: int, knot_s: float, known_s: float) -> Floats:
    """Air at knot ``k``, as it is written down."""
    here, _ = air_knots(air, k)
    stage = cook.stage
    dips = (stage["lid_dip_k"] > 0.0) & (cook.opened_s >= known_s)
    dip = stage["lid_dip_k"] * np.exp(-(k * knot_s - cook.opened_s) / stage["lid_recovery_s"])
    air_c: Floats = np.where(stage["off_pit"] > 0.0, stage["air_c"], here - np.where(dips, dip, 0.0))
    return air_c


def record(cook: Cook, air_c: Floats, raw_mass: Floats, row: Floats) -> None:
    """Write the channels of the members that are still cooking."""
    piece, t, tally = cook.piece, cook.temp_c, cook.state.tally
    gelatin, shrunk = (1.0 - laws.exp_near(np.maximum(-cook.reacted[name], -30.0)) for name in ("gelatin", "shrunk"))
    activity = laws.surface_activity(np.maximum(cook.state.water[piece.outer], 0.0), cook.p["skin_b"])
    activity = activity * skin_of(piece, cook.p, cook.stage, cook.state).open
    kill = np.min(cook.reacted["kill"][piece.meat[:, 0] > 0.0], axis=0)
    values = {
        "core_c": t[piece.core],
        "place1_c": t[piece.places[1]],
        "place2_c": t[piece.places[2]],
        "surface_c": piece.upper_mean(t[piece.outer]),
        "mean_c": piece.meat_mean(t),
        "air_c": air_c,
        "colour": piece.upper_mean(cook.reacted["colour"]),
        "evaporated": tally[EVAPORATED] / raw_mass,
        "dripped": tally[DRIPPED] / raw_mass,
        "gelatin_core": 1.0 - np.exp(-cook.reacted["gelatin"][piece.core]),
        "gelatin_mean": piece.meat_mean(gelatin),
        "shrunk_mean": piece.meat_mean(shrunk),
        "glaze_ratio": cook.glaze_ratio,
        "kill_log10": np.log10(kill + 1e-30),
        "stage": cook.number,
        "activity": piece.upper_mean(activity),
    }
    for name, value in values.items():
        row[CHANNEL[name], cook.alive] = np.broadcast_to(value, cook.alive.shape)[cook.alive]


def leave_stages(cook: Cook, now_s: float, knot_s: float, raw_mass: Floats, ends: Floats) -> Mask:
    """Move every member on whose stage is over, through several stages if need be; which ones moved."""
    moved = np.zeros(cook.alive.size, dtype=bool)
    while True:
        leaving = cook.alive & stage_over(cook, now_s, knot_s)
        if not leaving.any():
            return moved
        moved |= leaving
        ends[cook.number[leaving], leaving] = now_s
        cook.number[leaving] += 1
        cook.alive &= cook.number < cook.table.shape[0]
        moving = np.flatnonzero(leaving & cook.alive)
        cook.present[:, moving] = cook.table[cook.number[moving], :, moving].T
        cook.since_s[moving] = 0.0
        cook.opened_s[moving] = now_s
        cook.before[MARK["glaze_set"], moving] = NO_GLAZE
        tally, stage, piece = cook.state.tally, cook.stage, cook.piece
        tally[piece.glazes, moving] = stage["glaze_water"][moving]
        kept = np.where(stage["holds_liquid"] > 0.0, tally[POOL], 0.0)
        tally[POOL, moving] = (kept + stage["liquid"] * raw_mass)[moving]


def stage_over(cook: Cook, now_s: float, knot_s: float) -> Mask:
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
    done: Mask = over | (free & (met | (cook.since_s >= stage["longest_s"])))
    return done


def set_marks(cook: Cook, now_s: float, knot_s: float, marks: Floats) -> None:
    """Set the marks that fell between the last knot and this one, placed by a straight line."""
    colour = cook.piece.upper_mean(cook.reacted["colour"])
    gelatin = 1.0 - np.exp(-cook.reacted["gelatin"][cook.piece.core])
    ratio = cook.glaze_ratio
    now_and_goal = {
        "colour_set": (colour, np.ones_like(colour)),
        "tender": (gelatin, cook.p["tender_at"]),
        "core_done": (cook.temp_c[cook.piece.core], cook.p["core_done_c"]),
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


def contents(piece: Piece, p: Named, state: State) -> tuple[Floats, Floats]:
    """Water [kg] and heat [J] in each member's section."""
    water = (piece.volume * piece.meat * p["dry_density"] * state.water).sum(axis=0)
    return water, (piece.volume * state.heat).sum(axis=0)


def close_books(cook: Cook, balance: Floats, running: Mask) -> None:
    """What went in and out against what is left, relative to the water at the start and to all heat moved."""
    water, heat = contents(cook.piece, cook.p, cook.state)
    tally = cook.state.tally
    water_fault = (water + tally[EVAPORATED] + tally[DRIPPED] - cook.water_start) / cook.water_start
    moved = np.abs(tally[HEAT_IN]) + np.abs(tally[HEAT_OUT]) + np.abs(cook.heat_start)
    heat_fault = (heat - cook.heat_start - tally[HEAT_IN] + tally[HEAT_OUT]) / moved
    balance[:, running] = np.stack([water_fault, heat_fault])[:, running]
