"""The readable kernel's time stepping: one knot by Runge-Kutta-Chebyshev steps [sommeijer1998]_."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.section.chebyshev import (
    AGAIN_TURNS,
    FRESH_PARTS,
    FRESH_TURNS,
    MOST_PARTS,
    NUDGE_HEAT,
    NUDGE_WATER,
    SAFETY,
    TEMPERATURE_FAULT_K,
    TURNS,
    WATER_FAULT,
)
from pitreckon.section.readable_rates import (
    Around,
    Fields,
    Floats,
    Named,
    Piece,
    State,
    derivative,
    reactions,
)

Pit = Callable[[float], Around]
"""The surroundings at a time since the knot [s]."""


@dataclass
class Reacted:
    """A reaction's time integral and its present rate."""

    total: Floats
    rate: Floats

    def add(self, dt: float, new_rate: Floats) -> None:
        """One step by the trapezoidal rule."""
        self.total += 0.5 * dt * (self.rate + new_rate)
        self.rate = new_rate


@dataclass
class Direction:
    """The state's fastest direction so far, of unit length a member, measured in nudges."""

    heat: Floats
    water: Floats

    @classmethod
    def first(cls, cells: int, members: int) -> Direction:
        """Neighbours against each other, which heat evens out fastest."""
        heat = np.where(np.arange(cells) % 2 == 0, 0.1, -0.1)[:, None]
        return cls(np.broadcast_to(heat, (cells, members)).copy(), np.zeros((cells, members)))


@dataclass
class Pace:
    """How many steps a knot takes: more after a change, fewer again while the estimated error is small."""

    least: int
    parts: int
    fresh: bool = True
    calm: bool = True
    turns: int = FRESH_TURNS

    def begin(self) -> None:
        """At the start of a knot."""
        if self.fresh:
            self.parts = max(self.parts, FRESH_PARTS)
        elif self.calm:
            self.parts = max(self.parts // 2, self.least)
        self.turns = FRESH_TURNS if self.fresh else TURNS
        self.fresh, self.calm = False, True

    def accepts(self, fault: float) -> bool:
        """Whether a step of this estimated error (1 is the most) stands; if not, steps get shorter."""
        if fault > 1.0 and self.parts < MOST_PARTS:
            self.parts *= 2
            return False
        if fault > 0.1:
            self.calm = False
        return True


def advance(
    piece: Piece,
    p: Named,
    pit: Pit,
    state: State,
    reacted: dict[str, Reacted],
    pace: Pace,
    direction: Direction,
    knot_s: float,
    alive: NDArray[np.bool_],
    coef: Floats,
    extent: Floats,
) -> tuple[State, Fields]:
    """The state one knot later; the reactions and the fastest direction are moved on in place."""
    around = pit(0.0)
    rate, fields = derivative(piece, p, around, state)
    quickest = fastest(piece, p, around, state, rate, direction, alive, pace.turns)
    done_s = 0.0
    while done_s < knot_s - 1e-6:
        dt = knot_s / pace.parts
        stages = stages_for(SAFETY * quickest * dt, extent)
        new = chebyshev_step(piece, p, pit, state, rate, done_s, dt, coef[stages], stages)
        around = pit(done_s + dt)
        new_rate, new_fields = derivative(piece, p, around, new)
        fault = step_fault(dt, state, new, rate, new_rate, new_fields.capacity, alive)
        if not pace.accepts(fault):
            again = fastest(piece, p, pit(done_s), state, rate, direction, alive, AGAIN_TURNS)
            quickest = max(quickest, again)
            continue
        done_s += dt
        state, rate, fields = new, new_rate, new_fields
        for name, new_speed in reactions(piece, p, around.stage, state, fields.temp_c).items():
            reacted[name].add(dt, new_speed)
    return state, fields


def fastest(
    piece: Piece,
    p: Named,
    around: Around,
    state: State,
    rate: State,
    direction: Direction,
    alive: NDArray[np.bool_],
    turns: int,
) -> float:
    """Fastest rate of any member [1/s], by ``turns`` of the power method along ``direction``."""
    quickest = 0.0
    first = Direction.first(*state.heat.shape)
    for _ in range(turns):
        nudged = State(
            state.heat + NUDGE_HEAT * direction.heat, state.water + NUDGE_WATER * direction.water, state.tally
        )
        there, _fields = derivative(piece, p, around, nudged)
        heat = (there.heat - rate.heat) / NUDGE_HEAT
        water = (there.water - rate.water) / NUDGE_WATER
        length = np.sqrt((heat * heat + water * water).sum(axis=0))
        sound = (length > 0.0) & np.isfinite(length)
        direction.heat = np.where(sound, heat / length, first.heat)
        direction.water = np.where(sound, water / length, first.water)
        quickest = float(np.max(length, where=sound & alive, initial=0.0))
    return quickest


def stages_for(extent_needed: float, extent: Floats) -> int:
    """Fewest stages, at least 2, whose stable stretch is long enough; the most there are if none is."""
    enough = np.flatnonzero(extent[2:-1] >= extent_needed)
    return int(enough[0]) + 2 if enough.size else extent.size - 1


def chebyshev_step(
    piece: Piece,
    p: Named,
    pit: Pit,
    state: State,
    rate: State,
    start_s: float,
    dt: float,
    coef: Floats,
    stages: int,
) -> State:
    """One step of ``dt`` from a state whose rate of change is known."""
    mu, nu, mu_tilde, gamma_tilde, c = coef
    last = state
    now = _combined((1.0, state), (mu_tilde[1] * dt, rate))
    for j in range(2, stages + 1):
        here, _ = derivative(piece, p, pit(start_s + c[j - 1] * dt), now)
        following = _combined(
            (1.0 - mu[j] - nu[j], state),
            (mu[j], now),
            (nu[j], last),
            (mu_tilde[j] * dt, here),
            (gamma_tilde[j] * dt, rate),
        )
        last, now = now, following
    return now


def _combined(*parts: tuple[float, State]) -> State:
    """Weighted sum of states."""
    return State(
        heat=sum((w * s.heat for w, s in parts[1:]), parts[0][0] * parts[0][1].heat),
        water=sum((w * s.water for w, s in parts[1:]), parts[0][0] * parts[0][1].water),
        tally=sum((w * s.tally for w, s in parts[1:]), parts[0][0] * parts[0][1].tally),
    )


def step_fault(
    dt: float,
    old: State,
    new: State,
    old_rate: State,
    new_rate: State,
    capacity: Floats,
    alive: NDArray[np.bool_],
) -> float:
    """Estimated error of a step over its allowance, worst cell and member.

    Sommeijer et al. 1998, from memory. A number that is none makes it infinite.
    """
    heat = 0.8 * (old.heat - new.heat) + 0.4 * dt * (old_rate.heat + new_rate.heat)
    water = 0.8 * (old.water - new.water) + 0.4 * dt * (old_rate.water + new_rate.water)
    worst = np.maximum(np.abs(heat) / capacity / TEMPERATURE_FAULT_K, np.abs(water) / WATER_FAULT)
    worst = np.where(np.isnan(worst), np.inf, worst)[:, alive]
    return float(worst.max(initial=0.0))
