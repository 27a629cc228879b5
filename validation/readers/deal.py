"""Deals one twin reader: a true pit, a true piece, and a way of following a card.

Who reads cards is as ``lessons/data/readers.toml`` says, for that is what a share of readers is a share of; the draws
are made here. What is true of the pit and of the meat is dealt as for the twin cooks (``validation.twins.deal``): a
composition, slopes, thresholds and sugar of its own, a fire that drifts and fades, walls and draught that change.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.lessons.card.cooked import Piece
from pitreckon.lessons.card.readers import Audience
from pitreckon.lessons.card.script import Script
from pitreckon.physics.vapour import pressure_isa
from pitreckon.section import material
from validation.twins.deal import DAY, FINER, ITEM, PIT, Twin, deal_meat
from validation.twins.fire import deal_fire
from validation.twins.streams import one_of, pick, stream
from validation.twins.worlds import truth_of


@dataclass(frozen=True)
class Reader:
    """A twin who reads. clocked: goes by the clock; alarm: hears one; tip_k: what the thermometer reads too high [K]

    colour, feel: factors on the level at which it is seen or felt
    """

    twin: Twin
    clocked: bool
    alarm: bool
    tip_k: float
    colour: float
    feel: float


def deal_reader(seed: int, index: int, piece: Piece, script: Script, who: Audience) -> Reader:
    """Draw one twin reader of a card."""
    rng = stream(seed, index, "reader")
    pit = catalog.pits()[pick(rng, dict(who.pits))]
    altitude_m = max(pick(rng, dict(who.altitudes)) + float(rng.uniform(-100.0, 100.0)), 0.0)
    pressure_pa = pressure_isa(altitude_m)
    mass_kg = piece.mass_kg * float(np.exp(who.mass_sd * rng.standard_normal()))
    item = ItemPlan(
        label=ITEM,
        cut=piece.cut.key,
        pieces=1,
        mass_kg=mass_kg,
        pit=PIT,
        put_on_utc=DAY,
        start_c=piece.start_c,
        sugar=piece.sugar,
        stages=tuple(line.plan for line in script.lines),
    )
    cook = Cook("reader", "UTC", None, altitude_m, None, None, (PitPlan(PIT, pit.key, script.set_c),), (item,))
    wrap = next((line.plan.wrap for line in script.lines if line.plan.wrap), None)
    true = truth_of("even", piece.cut, pit, wrap, stream(seed, index, "world"))
    meat, _ = deal_meat(piece.cut, mass_kg, pressure_pa, true, rng)
    start_c = piece.start_c + float(rng.normal(0.0, 1.5))
    if rng.random() < who.tempered_share:
        start_c += who.tempered_k
    middle = material.section_of(meat.cut, finer=FINER)  # a plate is cut from the middle of a piece, not from one end
    meat = replace(meat, thick=middle, thin=middle, members=meat.members.changed(start_c=np.array([start_c])))
    fire = deal_fire(
        pit,
        set_c=script.set_c,
        weather_c=float(rng.uniform(5.0, 32.0)),
        weather_rh=float(rng.uniform(0.3, 0.9)),
        meat_kg=mass_kg * one_of(rng, (1, 2, 3, 4)),
        pressure_pa=pressure_pa,
        true=true,
        rng=stream(seed, index, "fire"),
    )
    twin = Twin("even", seed, index, 0, "reader", cook, DAY, item.stages, meat, fire)
    return Reader(
        twin,
        clocked=bool(rng.random() < who.clock_share),
        alarm=bool(rng.random() < who.alarm_share),
        tip_k=who.tip_k * abs(float(rng.standard_normal())),
        colour=float(np.exp(who.colour_sd * rng.standard_normal())),
        feel=1.0 + who.feel_sd * float(rng.standard_normal()),
    )
