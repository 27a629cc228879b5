"""What a line of a card says in words: what is done, what to look for."""

from itertools import pairwise
from typing import Literal

from pitreckon import catalog
from pitreckon.cook import Until
from pitreckon.cook.scales import COLOUR
from pitreckon.lessons.card.script import Line, Script
from pitreckon.units import Scale, format_both, format_duration, format_mass, format_temperature

Masses = Literal["lb", "kg"]
NEAR_A_WORD = 0.2
"""Nearer to a word of a scale than this share of the step is that word; else it is between two."""


def look_words(look: Until, scale: Scale) -> str:
    """What ends a line, after "until": ``the outside is mahogany``."""
    if look.ends_by == "colour":
        return f"the outside is {_colour(look.level)}"
    if look.ends_by == "tender":
        return _tender(look.level)
    if look.ends_by == "core":
        return f"a thermometer in the coldest place reads {format_temperature(look.core_c or 0.0, scale)}"
    if look.ends_by == "glaze":
        return "the glaze is set: it shines, sticks to a finger and runs no more"
    raise KeyError(look.ends_by)


def _colour(level: float) -> str:
    steps = list(COLOUR.items())
    for (word, at), (after, then) in pairwise(steps):
        if at <= level < then:
            part = (level - at) / (then - at)
            if part < NEAR_A_WORD:
                return word
            if after == "too dark":
                return f"a shade past {word}"
            return after if part > 1.0 - NEAR_A_WORD else f"between {word} and {after}"
    return steps[-1][0]


def _tender(level: float) -> str:
    if level < 0.88:
        return "a thin probe goes in with some drag"
    if level < 0.98:
        return "a thin probe all but slides in, with the last of the drag left"
    if level <= 1.04:
        return "a thin probe slides in"
    return "a thin probe slides in as into soft butter" if level <= 1.15 else "the meat is about to fall apart"


def do_words(line: Line, before: Line | None, masses: Masses) -> str:
    """What is done at the begin of a line: ``Wrap in foil, with 50 g of liquid``. before: the line before it."""
    plan = line.plan
    if plan.kind == "wrapped":
        words = f"Wrap in {catalog.wraps()[plan.wrap or 'foil'].name.lower()}"
        return words + (f", with {format_mass(plan.liquid_kg, masses)} of liquid a piece" if plan.liquid_kg else "")
    if plan.kind == "sauced":
        unwrap = "Unwrap, brush" if before is not None and before.plan.kind == "wrapped" else "Brush"
        return f"{unwrap} with the glaze and leave it on the pit"
    if plan.kind == "rest":
        return "Take it off and rest it" + (", uncovered" if plan.wrap == "none" else ", loosely covered")
    if plan.kind == "hold":
        return f"Hold it warm at {format_both(plan.air_c or 65.0)}"
    return "Put it on, in the open" if before is None else "Unwrap and put it back in the open"


def range_words(line: Line) -> str:
    """How long a line takes: ``1 h 45 min to 4 h``; one time where it goes by the clock."""
    if line.from_s == line.to_s:
        return f"about {format_duration(line.clock_s)}"
    return f"{format_duration(line.from_s)} to {format_duration(line.to_s)}"


def short_words(script: Script, n: int) -> str:
    """A line by a word or two, for the head of a table: ``in the open``, ``in foil``, ``glazed``, ``rest``."""
    plan = script.lines[n].plan
    if plan.kind == "wrapped":
        return f"in {plan.wrap}"
    return {"open": "in the open", "sauced": "glazed", "rest": "rest", "hold": "hold"}[plan.kind]
