"""Populations of twin readers whose habits are not those of ``lessons/data/readers.toml``, nor of its form.

A population has its own pits, altitudes, scales and habits, drawn once; its readers scatter about them. They go by a
clock that they round, or look at intervals of their own whatever the card says, with eyes that are off by the light;
some stop when it is near enough; some set their pits otherwise than the card has it. How they are drawn is a judgement,
written down before anything was looked at; the forecaster's own draws (``pitreckon.reckon.draws``) are not used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pitreckon import catalog
from validation.twins.streams import one_of, pick, stream

PITS = (
    "pellet-cooker",
    "kettle",
    "gas-cooker",
    "ceramic",
    "offset-log-burner",
    "upright-drum",
    "oven",
    "water-smoker",
    "insulated-cabinet",
)
GAPS_S = (480.0, 900.0, 1200.0, 1800.0, 2700.0)
ROUNDS_S = (300.0, 300.0, 600.0, 900.0, 1800.0)


@dataclass(frozen=True)
class Population:
    """What the readers of one card have in common. All shares [-]; eye: of the logarithm of the level of a colour.

    pits, altitudes: shares by key and by height [m]; clock: go by it; late_s: mean of how late they come to a first
    look; gaps: shares by time between looks; near: stop when it is near enough; resets: set the pit otherwise
    hotter_k: mean of how much hotter such pits then run than they show; size: of the logarithm of weight, over the card
    stricter: of calling a plate wrong, in the readers' own errors; tells: share of times that are written down
    """

    seed: int
    number: int
    pits: Mapping[str, float]
    altitudes: Mapping[float, float]
    clock: float
    late_s: float
    gaps: Mapping[float, float]
    near: float
    eye: float
    eye_sd: float
    feel: float
    feel_sd: float
    tip_k: float
    resets: float
    hotter_k: float
    size: float
    size_sd: float
    stricter: float
    tells: float


def population(seed: int, number: int) -> Population:
    """Draw one."""
    rng = stream(seed, number, "population")
    return Population(
        seed=seed,
        number=number,
        pits=dict(zip(PITS, rng.dirichlet(np.full(len(PITS), 0.8)).tolist(), strict=True)),
        altitudes=dict(zip((50.0, 400.0, 1200.0, 2000.0), rng.dirichlet((6.0, 3.0, 1.0, 0.5)).tolist(), strict=True)),
        clock=float(rng.beta(1.5, 4.0)),
        late_s=float(60.0 * rng.uniform(2.0, 14.0)),
        gaps=dict(zip(GAPS_S, rng.dirichlet((1.0, 2.0, 3.0, 2.0, 0.7)).tolist(), strict=True)),
        near=float(rng.uniform(0.0, 0.3)),
        eye=float(rng.normal(0.0, 0.05)),
        eye_sd=float(rng.uniform(0.05, 0.15)),
        feel=float(rng.normal(0.0, 0.025)),
        feel_sd=float(rng.uniform(0.03, 0.08)),
        tip_k=float(rng.uniform(0.5, 3.0)),
        resets=float(rng.uniform(0.05, 0.35)),
        hotter_k=float(rng.normal(0.0, 2.0)),
        size=float(rng.normal(0.0, 0.06)),
        size_sd=float(rng.uniform(0.08, 0.16)),
        stricter=float(rng.normal(0.0, 0.4)),
        tells=float(rng.uniform(0.7, 1.0)),
    )


@dataclass(frozen=True)
class Ways:
    """How one reader goes about it. colour, feel: factors on the level at which it is seen or felt"""

    pit: str
    altitude_m: float
    set_k: float
    mass: float
    clocked: bool
    late_s: float
    gap_s: float
    near: bool
    colour: float
    feel: float
    tip_k: float
    patience: float
    rounds_s: float
    tempered: bool


def ways(of: Population, index: int) -> Ways:
    """Draw one reader of it."""
    rng = stream(of.seed, 1_000_000 * of.number + index, "ways")
    key = pick(rng, dict(of.pits))
    by_hand = not catalog.pits()[key].fan
    night = rng.random() < 0.25
    light = -0.06 if night else 0.02  # by a lamp meat looks darker than it is, so that they stop sooner
    steps_k = 25.0 / 1.8 if rng.random() < 0.5 else 10.0 / 1.8
    return Ways(
        pit=key,
        altitude_m=max(pick(rng, dict(of.altitudes)) + float(rng.uniform(-150.0, 150.0)), 0.0),
        set_k=float(steps_k * one_of(rng, (-1, 1))) if rng.random() < of.resets else 0.0,
        mass=float(np.exp(of.size + of.size_sd * rng.standard_normal())),
        clocked=bool(rng.random() < of.clock),
        late_s=of.late_s * (1.5 if by_hand else 0.9),
        gap_s=pick(rng, dict(of.gaps)),
        near=bool(rng.random() < of.near),
        colour=float(np.exp(of.eye + light + of.eye_sd * rng.standard_t(6) / np.sqrt(1.5))),
        feel=1.0 + of.feel + of.feel_sd * float(rng.standard_normal()),
        tip_k=of.tip_k * float(rng.exponential()),
        patience=float(rng.uniform(1.25, 2.0)),
        rounds_s=one_of(rng, ROUNDS_S),
        tempered=bool(rng.random() < 0.25),
    )
