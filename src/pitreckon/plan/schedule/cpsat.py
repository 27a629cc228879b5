"""The choice of one slot for each item, as a constraint model for CP-SAT.

Every slot already knows in which scenarios it is served on time; the model picks one for each item so that in enough
scenarios all of them are, and hands, room, the warm place and one temperature for each pit allow it. Aims are met one
after another: chance on time, short holds, few trips, little fuel; each keeps what those before it reached. Two and two
of them are one search, in which the first counts for more than all there can be of the second: half the presolving.
"""

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from pitreckon.extras import loading
from pitreckon.plan.schedule.slots import STRAIGHT_S, Slot
from pitreckon.plan.schedule.tables import Day, Place, work_s

BIN_S = 300.0
"""Hands are counted in bins of five minutes."""
TRIP_S = 900.0
"""What falls into one quarter of an hour is one trip to the pit."""
HOLD_STEP_MIN = 15.0
"""Quarters of an hour by which holds are compared: less is nothing to anybody, and leaves room for fewer trips."""
AIMS = ("chance", "holds", "trips", "fuel")
TOGETHER = (("chance", "holds"), ("trips", "fuel"))
"""Aims of one search, the first before the second."""
SHARES = (0.35, 0.3, 0.2, 0.15)
"""How the time limit is split among the aims."""
IDLE_S = 3600.0
"""A fire stands hot for no longer than this before something goes on: what is lit the evening before for a piece at six
burns a night's fuel with nobody there, and for nothing (common practice, no source)."""
LAST_RESORT = 20.0
"""A machine that is so many times too busy ends the search by the clock; else its own count of work does."""
FAMILIES = ("hands", "room", "warm place", "temperature")
"""What can be left out of the model to ask whether it stands in the way."""


@dataclass(frozen=True)
class Stage:
    """How one aim was met. status: optimal, feasible, infeasible or unknown; value; bound; seconds its search took."""

    aim: str
    status: str
    value: float
    bound: float
    seconds: float

    @property
    def gap(self) -> float:
        """How far the value may be from the best, over the best [-]; 0 is proved."""
        return abs(self.value - self.bound) / max(abs(self.value), abs(self.bound), 1.0)


@dataclass(frozen=True)
class Picked:
    """The slots that were picked, one for each item; lights: when each pit that is used is lit [s from serving]."""

    slots: tuple[Slot, ...]
    sets: dict[str, float]
    lights: dict[str, float]
    on_time: int
    stages: tuple[Stage, ...]


@dataclass
class _Model:
    cp: Any
    model: Any
    x: list[Any] = field(default_factory=list)
    sets: dict[tuple[str, float], Any] = field(default_factory=dict)
    lit_by: dict[str, list[tuple[float, Any]]] = field(default_factory=dict)
    others: list[Any] = field(default_factory=list)
    on_time: Any = None
    holds: Any = None
    trips: Any = None
    fuel: Any = None
    most: dict[str, int] = field(default_factory=dict)


def pick(
    day: Day,
    slots: Sequence[Slot],
    need: int,
    enough: int,
    *,
    limit_s: float = 8.0,
    workers: int = 1,
    seed: int = 1,
    without: Iterable[str] = (),
    aims: Sequence[str] = AIMS,
    banned: Sequence[Sequence[Slot]] = (),
    after: Callable[[Picked], None] | None = None,
) -> tuple[Picked | None, tuple[Stage, ...]]:
    """Pick one slot for each item.

    slots: of all items
    need, enough: scenarios in which all must be on time at least, and past which more is not sought
    limit_s: for all aims together, in the solver's own count of work, which does not depend on the machine's load
    without: constraints to leave out, of ``FAMILIES``
    aims: those that are sought, in order
    banned: what was picked before and did not do; of each at least one slot is another
    after: told what is picked once chance and holds are met: trips and fuel mostly leave its ways of cooking alone
    """
    stages: list[Stage] = []
    if any(not any(slot.task == i for slot in slots) for i in range(len(day.tasks))):
        return None, (Stage("chance", "infeasible", 0.0, 0.0, 0.0),)
    picked: Picked | None = None
    shares = dict(zip(AIMS, SHARES, strict=True))
    most_holds: int | None = None
    for group in ([aim for aim in each if aim in aims] for each in TOGETHER):
        if not group:
            continue
        made = _build(day, slots, need, enough, frozenset(without))
        _ban(made, slots, banned)
        if picked is not None:
            _go_on_from(made, slots, picked, most_holds)
        least = [_least(made, aim) for aim in group]
        scale = 10 ** len(str(made.most[group[-1]])) if len(group) > 1 else 1
        made.model.Minimize(sum(each * weight for each, weight in zip(least, (scale, 1), strict=False)))
        solver = made.cp.CpSolver()
        share = sum(shares[aim] for aim in group) / sum(shares[aim] for aim in aims)
        _tune(solver, limit_s * share, workers, seed)
        status = solver.StatusName(solver.Solve(made.model)).lower()
        if status not in {"optimal", "feasible"}:
            stages.append(Stage(group[0], status, math.nan, math.nan, solver.WallTime()))
            break
        values = [solver.Value(each) for each in least]
        bounds = _bounds(values, solver.BestObjectiveBound(), scale)
        for aim, value, bound in zip(group, values, bounds, strict=True):
            sign = -1.0 if aim == "chance" else 1.0
            stages.append(Stage(aim, status, sign * value, sign * bound, solver.WallTime()))
        picked = _read(day, slots, made, solver, tuple(stages))
        if "chance" in group:
            need = enough = -values[group.index("chance")]
        if "holds" in group:
            most_holds = values[group.index("holds")]
            if after is not None:
                after(picked)
        slots = _left(slots, need, most_holds)
    return picked, tuple(stages)


def _ban(made: _Model, slots: Sequence[Slot], banned: Sequence[Sequence[Slot]]) -> None:
    """Of each choice that did not do at least one slot is another."""
    at = {slot.key: x for slot, x in zip(slots, made.x, strict=True)}
    for other in banned:
        if all(slot.key in at for slot in other):
            made.model.AddBoolOr(at[slot.key].Not() for slot in other)


def _go_on_from(made: _Model, slots: Sequence[Slot], picked: Picked, most_holds: int | None) -> None:
    """What the aims before reached is kept, and what was picked for them is where the search begins."""
    if most_holds is not None:
        made.model.Add(made.holds <= most_holds)
    keys = {slot.key for slot in picked.slots}
    for slot, x in zip(slots, made.x, strict=True):
        made.model.AddHint(x, slot.key in keys)


def _left(slots: Sequence[Slot], need: int, most_holds: int | None) -> list[Slot]:
    """Slots that may still be in a choice that is on time as often, and whose holds come to no more."""
    often = [slot for slot in slots if int(slot.ok.sum()) >= need]
    if most_holds is None:
        return often
    dear = set(_too_dear(often, most_holds))
    return [slot for i, slot in enumerate(often) if i not in dear]


def _least(made: _Model, aim: str) -> Any:
    """What is to be as small as it can be."""
    return {"chance": -made.on_time, "holds": made.holds, "trips": made.trips, "fuel": made.fuel}[aim]


def _bounds(values: Sequence[int], bound: float, scale: int) -> list[float]:
    """What each aim of a search cannot be less than by the bound of both: of the second only where the first is met."""
    if len(values) == 1:
        return [bound]
    first = float(math.floor(math.ceil(bound - 1e-6) / scale))
    return [first, bound - scale * values[0] if first >= values[0] else 0.0]


def _hold_steps(slot: Slot) -> int:
    """What is against a slot, in steps that anybody would notice."""
    return max(math.floor(slot.cost / HOLD_STEP_MIN), 0)


def _too_dear(slots: Sequence[Slot], most: int) -> list[int]:
    """Slots that no choice has whose holds come to ``most`` steps, even with the best of every other item."""
    least: dict[int, int] = {}
    for slot in slots:
        least[slot.task] = min(least.get(slot.task, most), _hold_steps(slot))
    spare = most - sum(least.values())
    return [i for i, slot in enumerate(slots) if _hold_steps(slot) - least[slot.task] > spare]


def _tune(solver: Any, limit_s: float, workers: int, seed: int) -> None:
    solver.parameters.random_seed = seed
    solver.parameters.catch_sigint_signal = False  # else an interrupt ends the search, and the planning goes on
    solver.parameters.num_workers = workers
    # In turns and by a count of work instead of the clock: the same answer on a busy machine as on an idle one.
    solver.parameters.interleave_search = workers > 1
    solver.parameters.linearization_level = 2  # of one worker: proves what two in turns are still at in twice the time
    # What more presolving finds in such a model is not worth its time: with less of it days took a third.
    solver.parameters.merge_at_most_one_work_limit = 0.0
    solver.parameters.symmetry_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.cp_model_probing_level = 1
    solver.parameters.max_deterministic_time = limit_s
    solver.parameters.max_time_in_seconds = LAST_RESORT * limit_s


def _build(day: Day, slots: Sequence[Slot], need: int, enough: int, without: frozenset[str]) -> _Model:
    with loading("ortools", "planning a day"):
        from ortools.sat.python import cp_model  # noqa: PLC0415  heavy, and only a plan needs it

    m = _Model(cp_model, cp_model.CpModel())
    model = m.model
    m.x = [model.NewBoolVar(f"x{i}") for i in range(len(slots))]
    of_task: dict[int, list[int]] = defaultdict(list)
    for i, slot in enumerate(slots):
        of_task[slot.task].append(i)
    for members in of_task.values():
        model.AddExactlyOne(m.x[i] for i in members)
    _in_order(day, slots, of_task, m)
    _temperatures(day, slots, m, without)
    _chance(day, slots, of_task, m, need, enough)
    if "room" not in without:
        _room(day, slots, m)
    if "warm place" not in without and day.hold_places is not None:
        held = [
            (m.x[i], day.tasks[s.task].pieces)
            for i, s in enumerate(slots)
            if day.tasks[s.task].serve_s - s.ready_s[1] > STRAIGHT_S
        ]
        model.Add(sum(pieces * x for x, pieces in held) <= day.hold_places)
    _fires(day, slots, m)
    if "hands" not in without:
        _hands(day, slots, m)
    m.holds = sum(_hold_steps(slot) * x for slot, x in zip(slots, m.x, strict=True))
    m.most["holds"] = sum(max(_hold_steps(slots[i]) for i in members) for members in of_task.values())
    _trips(slots, m)
    return m


def _in_order(day: Day, slots: Sequence[Slot], of_task: dict[int, list[int]], m: _Model) -> None:
    """Lots of one meat go on in the order of their numbers: as cooks count, and half the ways to look through."""
    for one, other in itertools.pairwise(sorted(of_task)):
        first, second = day.tasks[one], day.tasks[other]
        alike = first.lot_of and first.lot_of == second.lot_of and first.serve_s == second.serve_s
        if alike and first.put_on_s is None and second.put_on_s is None:
            ons = [sum(round(slots[i].put_on_s / 60.0) * m.x[i] for i in of_task[task]) for task in (one, other)]
            m.model.Add(ons[0] <= ons[1])


def _temperatures(day: Day, slots: Sequence[Slot], m: _Model, without: frozenset[str]) -> None:
    """Each pit that is used has one temperature for the whole occasion."""
    for place in day.places:
        for set_c in place.sets_c:
            m.sets[place.label, set_c] = m.model.NewBoolVar(f"set {place.label} {set_c:.1f}")
        if "temperature" not in without:
            m.model.AddAtMostOne(m.sets[place.label, set_c] for set_c in place.sets_c)
    at: dict[tuple[int, str, float], list[Any]] = defaultdict(list)
    for i, slot in enumerate(slots):
        option = day.tasks[slot.task].options[slot.option]
        at[slot.task, option.pit, option.set_c].append(m.x[i])
    for (_, pit, set_c), xs in at.items():  # of all slots of an item at once: a bound that each by itself does not give
        m.model.Add(sum(xs) <= m.sets[pit, set_c])


def _chance(day: Day, slots: Sequence[Slot], of_task: dict[int, list[int]], m: _Model, need: int, enough: int) -> None:
    """Late in a scenario is what picks a slot that is late in it; all are on time in at least ``need`` scenarios."""
    fails = []
    for member in range(day.members):
        bad = [[m.x[i] for i in of_task[task] if not slots[i].ok[member]] for task in of_task]
        bad = [each for each in bad if each]
        if not bad:
            continue
        late = m.model.NewBoolVar(f"late {member}")
        for each in bad:
            m.model.Add(sum(each) <= late)
        fails.append(late)
    m.others += fails
    m.on_time = m.model.NewIntVar(min(need, enough), min(enough, day.members), "on time")
    m.model.Add(m.on_time <= day.members - sum(fails))
    if need > enough:
        m.model.Add(sum(fails) <= day.members - need)


def _room(day: Day, slots: Sequence[Slot], m: _Model) -> None:
    """At each put-on, what is on the pit fits: areas in square centimetres."""
    for place in day.places:
        here = [i for i, s in enumerate(slots) if day.tasks[s.task].options[s.option].pit == place.label]
        area = {i: _cm2(day.tasks[slots[i].task].options[slots[i].option].area_m2) for i in here}
        room = math.floor(place.area_m2 * 1e4)
        most: dict[int, int] = defaultdict(int)
        for i in here:
            most[slots[i].task] = max(most[slots[i].task], area[i])
        if sum(most.values()) <= room:
            continue
        for at in sorted({slots[i].put_on_s for i in here}):
            on = [i for i in here if slots[i].put_on_s <= at < slots[i].off_s]
            m.model.Add(sum(area[i] * m.x[i] for i in on) <= room)


def _cm2(area_m2: float) -> int:
    return math.ceil(min(area_m2, 1e4) * 1e4 - 1e-6)


def _fires(day: Day, slots: Sequence[Slot], m: _Model) -> None:
    """When each pit is lit, and how long it burns; fuel in hundredths of a kilogram."""
    costs = []
    for place in day.places:
        here = [i for i, s in enumerate(slots) if day.tasks[s.task].options[s.option].pit == place.label]
        if not here:
            continue
        lit = _lightings(day, place, slots, here, m)
        ends = sorted({min(slots[i].off_s, 0.0) for i in here})
        burns = [m.model.NewBoolVar(f"burns {place.label} {k}") for k in range(len(ends))]
        m.others += burns
        for one, other in zip(burns[1:], burns, strict=False):  # still needed at the later end: then at the earlier
            m.model.AddImplication(one, other)
        by_end: dict[float, list[int]] = defaultdict(list)
        for i in here:
            by_end[min(slots[i].off_s, 0.0)].append(i)
        for end, needed in zip(ends, burns, strict=True):
            for i in by_end[end]:
                m.model.AddImplication(m.x[i], needed)
        # Burning time in minutes: from lighting (earlier: longer) to the last end.
        base = ends[0]
        span: Any = sum(
            round((end - before) / 60.0) * needed
            for before, end, needed in zip(ends, ends[1:], burns[1:], strict=False)
        )
        if lit:
            times = [at for at, _ in lit]
            span += round((base - times[-1]) / 60.0) * lit[-1][1]
            span += sum(
                round((later - earlier) / 60.0) * by for (earlier, by), later in zip(lit, times[1:], strict=False)
            )
        grams = [max(round(rate * 1000.0 / 60.0), 0) for rate in place.fuel_kg_h]  # per minute
        if not any(grams):
            continue
        # The least that it burns at any temperature holds whichever is set; that alone is most of the proof.
        longest = math.ceil((ends[-1] - min([at for at, _ in lit] or [ends[0]])) / 60.0) + len(ends) + len(lit)
        cost = m.model.NewIntVar(0, longest * max(grams), f"fuel {place.label}")
        m.most["fuel"] = m.most.get("fuel", 0) + longest * max(grams)
        m.model.Add(cost >= min(grams) * span)
        for set_c, rate in zip(place.sets_c, grams, strict=True):
            if rate > min(grams):
                m.model.Add(cost >= rate * span).OnlyEnforceIf(m.sets[place.label, set_c])
        costs.append(cost)
    m.fuel = sum(costs) if costs else 0
    m.most.setdefault("fuel", 0)


def _lightings(day: Day, place: Place, slots: Sequence[Slot], here: list[int], m: _Model) -> list[tuple[float, Any]]:
    """Booleans "lit by then", for every time at which it can be lit; none for a pit that burns already."""
    if place.lit:
        return []
    for_s = work_s("light", 1)
    wanted = sorted({slots[i].put_on_s - place.lit_s for i in here})
    back = [end for _, end in day.away] + [start - for_s for start, _ in day.away]
    times = sorted(
        {60.0 * math.floor(at / 60.0) for at in [*wanted, *back] if at <= wanted[-1] and at >= day.earliest_s}
    )
    times = [at for at in times if not any(at < end and at + for_s > start for start, end in day.away)]
    lit = [(at, m.model.NewBoolVar(f"lit {place.label} by {at:.0f}")) for at in times]
    m.others += [by for _, by in lit]
    for (_, earlier), (_, later) in itertools.pairwise(lit):
        m.model.AddImplication(earlier, later)
    m.lit_by[place.label] = lit
    if all(day.tasks[slots[i].task].put_on_s is None for i in here):  # a put-on that was asked for is lit for as can be
        for at, by in lit:
            m.model.AddBoolOr([*(m.x[i] for i in here if slots[i].put_on_s - place.lit_s <= at + IDLE_S), by.Not()])
    for i in here:
        can = [by for at, by in lit if at <= slots[i].put_on_s - place.lit_s]
        if can:
            m.model.AddImplication(m.x[i], can[-1])
        else:
            m.model.Add(m.x[i] == 0)
    return lit


def _hands(day: Day, slots: Sequence[Slot], m: _Model) -> None:
    """No more acts at once than there are pairs of hands."""
    load: dict[int, list[Any]] = defaultdict(list)
    for i, slot in enumerate(slots):
        # A slot's own acts follow each other: in a bin that two of them touch they want one pair of hands.
        for each in {each for call in slot.calls for each in _bins(call.at_s, call.for_s)}:
            load[each].append(m.x[i])
    for lit in m.lit_by.values():
        before: Any = 0
        for at, by in lit:
            for each in _bins(at, work_s("light", 1)):
                load[each].append(by - before)
            before = by
    for terms in load.values():
        if len(terms) > day.cooks:
            m.model.Add(sum(terms) <= day.cooks)


def _bins(at_s: float, for_s: float) -> range:
    return range(math.floor(at_s / BIN_S), math.ceil((at_s + for_s) / BIN_S))


def _trips(slots: Sequence[Slot], m: _Model) -> None:
    """Quarters of an hour in which somebody has to be at a pit."""
    by_trip: dict[int, dict[int, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for i, slot in enumerate(slots):
        for trip in {trip_of(call.at_s) for call in slot.calls}:
            by_trip[trip][slot.task].append(m.x[i])
    trips = []
    for trip, of_task in by_trip.items():
        made = m.model.NewBoolVar(f"trip {trip}")
        for xs in of_task.values():
            m.model.Add(sum(xs) <= made)
        trips.append(made)
    m.others += trips
    m.trips = sum(trips)


def trip_of(at_s: float) -> int:
    """Which quarter of an hour."""
    return math.floor(at_s / TRIP_S)


def _read(day: Day, slots: Sequence[Slot], m: _Model, solver: Any, stages: tuple[Stage, ...]) -> Picked:
    chosen = sorted((slot for slot, x in zip(slots, m.x, strict=True) if solver.Value(x)), key=lambda s: s.task)
    used = {(day.tasks[s.task].options[s.option].pit, day.tasks[s.task].options[s.option].set_c) for s in chosen}
    lights = {}
    for label, lit in m.lit_by.items():
        times = [at for at, by in lit if solver.Value(by)]
        if times and any(pit == label for pit, _ in used):
            lights[label] = times[0]
    together = np.all([slot.ok for slot in chosen], axis=0)
    return Picked(tuple(chosen), dict(used), lights, int(together.sum()), stages)
