"""The readable kernel's time stepping: one step of every member, each of its own length, kept or refused.

``multistage.py`` has the scheme; the compiled twin is ``compiled_step.py``.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from tests.oracles.readable.rates import (
    Around,
    Fields,
    Floats,
    Mask,
    Named,
    Piece,
    State,
    derivative,
    fields_of,
    reactions,
)
from tests.oracles.readable.steady import prepare, steady

from pitreckon.section.multistage import DRY, STAGE_AT, STEADY, TEMPERATURE_FAULT_K, WATER_FAULT

REFUSED = 1e9
Pit = Callable[[Floats], Around]
"""The surroundings at a time of each member since the knot [s]."""


@dataclass(frozen=True)
class Tried:
    """A step that was tried: the state at its end, half way what the reactions need, and how far it is off."""

    new: State
    middle: State
    fields: Fields  # of the middle
    fault: Floats  # over its allowance, one number a member


def attempt(piece: Piece, p: Named, pit: Pit, state: State, late_s: Floats, dt: Floats) -> Tried:
    """Try a step of ``dt`` [s], a number a member, from ``late_s`` [s] past the knot."""
    to_middle, _ = STAGE_AT
    around = pit(late_s + 0.5 * dt)  # the mean of the step, for both stages
    fields = fields_of(piece, p, state)
    steadier = prepare(piece, p, around.stage, STEADY * dt, state, fields)
    first = steady(piece, p, steadier, derivative(piece, p, around, state, fields))
    middle = moved(state, to_middle * dt, first)

    middle_fields = fields_of(piece, p, middle)
    rate = derivative(piece, p, around, middle, middle_fields)
    news = State(rate.heat - first.heat, rate.water - first.water, rate.tally)
    change = steady(piece, p, steadier, news)  # of the tallies all, of heat and water what the first did not know
    whole = State(first.heat + change.heat, first.water + change.water, change.tally)
    new = moved(state, dt, whole)
    return Tried(new, middle, middle_fields, fault_of(new, change, fields.capacity, dt))


def moved(state: State, dt: Floats, rate: State) -> State:
    """A state after ``dt`` at a rate."""
    return State(state.heat + dt * rate.heat, state.water + dt * rate.water, state.tally + dt * rate.tally)


def fault_of(new: State, change: State, capacity: Floats, dt: Floats) -> Floats:
    """Difference of the two stages over its allowance, the worst cell of each member; no number is far too much."""
    heat = np.abs(change.heat) / TEMPERATURE_FAULT_K / capacity
    water = np.abs(change.water) / WATER_FAULT
    fault = dt * np.maximum(heat, water)
    bearable = (fault < REFUSED) & (new.water > DRY)  # false for nan, too
    worst: Floats = np.where(bearable, fault, REFUSED).max(axis=0)
    return worst


def settle(
    piece: Piece, p: Named, stage: Named, state: State, reacted: Named, tried: Tried, dt: Floats, taken: Mask
) -> State:
    """The state after the step of the members that take it; their reactions go on by the middle's rates."""
    for name, speed in reactions(piece, p, stage, tried.middle, tried.fields.temp_c).items():
        reacted[name] = np.where(taken, reacted[name] + dt * speed, reacted[name])
    new = tried.new
    return State(
        np.where(taken, new.heat, state.heat),
        np.where(taken, new.water, state.water),
        np.where(taken, new.tally, state.tally),
    )
