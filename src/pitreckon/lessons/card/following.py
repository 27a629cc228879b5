"""How readers follow a line of a card, in the kernel's terms: first look, further looks, the clock.

A line that is ended by a look becomes three stretches of the course: until the first look, until it is there (as this
reader sees it), and until the next walk after that. A glaze is watched from the start; once it is set none dries.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.cook import StagePlan, Until
from pitreckon.lessons.card.readers import Audience, Habits
from pitreckon.lessons.card.script import Line, Script
from pitreckon.reckon.measures import TOO_DARK_LEVEL
from pitreckon.section.course import Until as Kernel

Fields = Mapping[str, Floats | float]

TENDEREST: Final = 1.2
BELOW_BOIL_K: Final = 1.0
LEAST_S: Final = 60.0
LEAST_WAIT_S: Final = 1800.0
PLACES_SHARE: Final = 0.3
"""Of the error of a single place that is left where the thermometer goes into two or three (from memory)."""
WITH_ALARM: Final = 0.25
"""Of the time between two looks: who hears an alarm still has to walk (common practice, no source)."""
CODE: Final = {"colour": Kernel.COLOUR, "tender": Kernel.TENDER, "core": Kernel.CORE, "glaze": Kernel.GLAZE}


@dataclass(frozen=True, slots=True)
class Step:
    """A stretch of the kernel's course: part of a line, from 0. part: first | look | wait | clock."""

    line: int
    part: str
    plan: StagePlan


def steps_of(script: Script) -> list[Step]:
    """The stretches of a card, in order."""
    steps: list[Step] = []
    for n, line in enumerate(script.lines):
        plan = line.plan
        timed = Until("minutes", LEAST_S)
        if line.look is None:
            steps.append(Step(n, "clock", replace(plan, until=timed)))
        elif plan.kind == "sauced":
            steps += [Step(n, "look", plan), Step(n, "wait", StagePlan("open", timed))]
        else:
            dry = replace(plan, liquid_kg=0.0)  # the liquid goes in once
            steps += [
                Step(n, "first", replace(plan, until=timed)),
                Step(n, "look", replace(dry, until=line.look)),
                Step(n, "wait", replace(dry, until=timed)),
            ]
    return steps


def as_it_should(step: Step, line: Line, cut: Cut, boil_c: Floats) -> Fields:
    """A stretch as it should be done: looked at all the time, never wrongly, as long as it takes.

    boil_c: of water where each reader lives, shape (readers,)
    """
    if step.part == "clock":
        return {"value": max(line.clock_s, LEAST_S)}
    if step.part == "look" and line.look is not None:
        return {"value": _goal(line.look, np.ones_like(boil_c), 0.0 * boil_c, cut, boil_c)}
    return {"value": 0.0, "lid_dip_k": 0.0} if step.part == "wait" else {"value": 0.0}


def as_followed(
    step: Step, line: Line, script: Script, habits: Habits, who: Audience, cut: Cut, boil_c: Floats
) -> Fields:
    """A stretch as readers take it, those who look and those who go by the clock; shape (readers,) each."""
    late_s = who.late_s * habits.late
    kept_s = line.clock_s * habits.clock
    by_clock = habits.clocked | line.by_clock
    sauced = line.plan.kind == "sauced"
    if step.part == "clock":
        return {"value": np.maximum(kept_s + late_s * line.on_pit, LEAST_S)}
    if step.part == "first":
        return {"value": np.where(by_clock, 0.0, line.from_s + late_s)}
    look = line.look
    if step.part == "wait" or look is None:
        gap_s = _gap_s(line, script, habits, who)
        return {"value": np.where(by_clock, 0.0, habits.wait * gap_s), "lid_dip_k": 0.0}
    level = {"colour": habits.colour, "tender": habits.feel}.get(look.ends_by, np.ones_like(boil_c))
    tip_k = who.tip_k * np.abs(habits.tip) * (PLACES_SHARE if script.places else 1.0)
    longest = max(who.patience * line.to_s - (0.0 if sauced else line.from_s), LEAST_WAIT_S)
    clock_s = np.maximum(kept_s + (0.0 if sauced else 1.0) * late_s, LEAST_S)
    return {
        "until": np.where(by_clock, float(Kernel.MINUTES), float(CODE[look.ends_by])),
        "value": np.where(by_clock, clock_s, _goal(look, level, tip_k, cut, boil_c)),
        "longest_s": np.where(by_clock, 2.0 * clock_s, longest),
    }


def _gap_s(line: Line, script: Script, habits: Habits, who: Audience) -> Floats:
    """Between one look and the next [s]."""
    if line.plan.kind == "sauced":
        return np.full(habits.gap.size, who.glaze_gap_s)
    gap = script.every_s * habits.gap
    if line.look is not None and line.look.ends_by == "core":
        gap = np.where(habits.alarm, WITH_ALARM * gap, gap)
    return np.asarray(gap)


def _goal(look: Until, level: Floats, tip_k: Floats, cut: Cut, boil_c: Floats) -> Floats:
    """What ends a look, as the kernel counts it. level: factor at which it is seen; tip_k: read too hot [K]."""
    if look.ends_by == "colour":
        dark = cut.colour.dark_level.value / cut.colour.set_level.value
        seen = look.level * level
        return np.asarray(np.where(seen <= 1.0, seen * seen, dark ** ((seen - 1.0) / (TOO_DARK_LEVEL - 1.0))))
    if look.ends_by == "tender":
        return np.asarray(np.minimum(look.level * level, TENDEREST))
    if look.ends_by == "core":
        # Water cannot be hotter than it boils where they live; a target above that is its boiling point.
        return np.asarray(np.minimum((look.core_c or 0.0) - tip_k, boil_c - BELOW_BOIL_K))
    return np.zeros_like(boil_c)
