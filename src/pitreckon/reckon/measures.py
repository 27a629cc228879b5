"""What of a member a cook can see, feel or weigh: the model's numbers as looks have them."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut, Rack
from pitreckon.cook.looks import LOOK_KINDS, SCALES
from pitreckon.ledger import Look
from pitreckon.reckon.draws import ItemDraw
from pitreckon.section.trace import Trace

TOO_DARK_LEVEL = SCALES["colour"]["too dark"]
MOST_FELT = 1.3
"""Past the last word of a scale there is nothing more to feel."""


def level_of_colour(colour: Floats, dark_at: Floats) -> Floats:
    """The step of the colour scale that a model colour looks like: 0 raw, 1 set, 1.3 too dark.

    The eye goes with the square root up to the set colour and with the logarithm past it (from memory).
    """
    below = np.sqrt(np.clip(colour, 0.0, 1.0))
    past = (TOO_DARK_LEVEL - 1.0) * np.log(np.maximum(colour, 1.0)) / np.log(np.maximum(dark_at, 1.01))
    return np.asarray(below + past)


def colour_of_level(level: float, dark_at: float) -> float:
    """The inverse of ``level_of_colour`` for one cut."""
    if level <= 1.0:
        return level * level
    return float(dark_at ** ((level - 1.0) / (TOO_DARK_LEVEL - 1.0)))


def bone_showing(cut: Cut, loss: Floats, bone_show: Floats) -> Floats:
    """Bare bone at one end [m]: the meat shortens with the water it loses; 0 where there is no rack."""
    if not isinstance(cut.shape, Rack):
        return 0.0 * loss
    return np.asarray(0.5 * cut.shape.width_m.value * bone_show * loss)


def fat_lost(cut: Cut, gelatin_mean: Floats, fat_render: Floats) -> Floats:
    """Rendered fat as a share of the raw piece; it runs off as the collagen lets go."""
    share = cut.composition.fat.value * (1.0 - cut.composition.bone_fraction.value)
    return np.asarray(share * fat_render * gelatin_mean)


def held_at(trace: Trace, channel: str, at_s: float) -> Floats:
    """A channel at a time [s since put-on]; a member whose course is over keeps its last value."""
    values = trace.at(channel, at_s)
    if np.isfinite(values).all():
        return values
    series = trace.written(channel)
    row = int(np.clip(np.searchsorted(trace.time_s, at_s), 0, series.shape[0] - 1))
    past = series[: row + 1]
    last = past.shape[0] - 1 - np.argmax(np.isfinite(past[::-1]), axis=0)
    return np.asarray(np.where(np.isfinite(values), values, past[last, np.arange(past.shape[1])]))


def at_each(trace: Trace, channel: str, when_s: Floats) -> Floats:
    """A channel at a time of each member's own [s since put-on], by straight lines between records; (members,)."""
    series, times = trace.written(channel), trace.time_s
    hi = np.clip(np.searchsorted(times, when_s), 1, series.shape[0] - 1)
    share = np.clip((when_s - times[hi - 1]) / (times[hi] - times[hi - 1]), 0.0, 1.0)
    member = np.arange(series.shape[1])
    here, there = series[hi - 1, member], series[hi, member]
    return np.asarray(np.where(np.isfinite(there), (1.0 - share) * here + share * there, here))


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece in every member, at a time [s since put-on]: what a measure looks at."""

    cut: Cut
    draw: ItemDraw
    trace: Trace
    at_s: float
    mass_kg: float

    def __getitem__(self, channel: str) -> Floats:
        """A channel of the trace, (members,)."""
        return held_at(self.trace, channel, self.at_s)

    @property
    def lost(self) -> Floats:
        """Water, as a share of the raw piece."""
        return np.asarray(self["evaporated"] + self["dripped"])


def _colour(piece: Piece) -> Floats:
    return level_of_colour(piece["colour"], piece.draw.members["dark_at"])


def _tenderness(piece: Piece) -> Floats:
    return np.minimum(piece["gelatin_core"] / piece.draw.members["tender_at"], MOST_FELT)


SALT_DISSOLVES: Final = 0.75
"""Water activity at which salt takes up water and melts: of its saturated solution (Greenspan 1977, from memory)."""


def bark_level(colour_level: Floats, activity: Floats) -> Floats:
    """How far the bark has set: 0 it comes off, 0.5 it smears, 1 it stays.

    A rub stays on the finger as long as its salt is dissolved in wet juice on the surface, and on the meat once that
    has dried and the crust under it has browned and set. Dryness alone comes within the first hour, long before a rub
    holds; colour alone does not come off again in a wrap, though the bark softens there and smears. So the colour's
    level counts, up to set, and half of it only where the surface is too wet for salt to be dry.
    (The halves are a judgement: common practice, no source.)
    """
    dry = np.clip((1.0 - activity) / (1.0 - SALT_DISSOLVES), 0.0, 1.0)
    return np.asarray(np.minimum(colour_level, 1.0) * (0.5 + 0.5 * dry))


def _bone_showing(piece: Piece) -> Floats:
    return bone_showing(piece.cut, piece.lost, piece.draw.bone_show)


def _weight(piece: Piece) -> Floats:
    fat = fat_lost(piece.cut, piece["gelatin_mean"], piece.draw.fat_render)
    return np.asarray(piece.mass_kg * (1.0 - piece.lost - fat))


MEASURES: Final[dict[str, Callable[[Piece], Floats]]] = {
    "colour": _colour,
    "tenderness": _tenderness,
    "bark": lambda piece: bark_level(_colour(piece), piece["activity"]),
    "core": lambda piece: piece["core_c"],
    "bone showing": _bone_showing,
    "weight": _weight,
}
"""What of a member a kind of look shows, (members,), by its record's ``measure``; a temperature at the core."""


def looked(cut: Cut, draw: ItemDraw, trace: Trace, look: Look, at_s: float, mass_kg: float) -> Floats:
    """What a look would show in every member at a time, in the unit of its value; a spot temperature at the core."""
    return MEASURES[LOOK_KINDS[look.kind].measure](Piece(cut, draw, trace, at_s, mass_kg))


PLACES = (("core_c", "core_c", 0.0), ("core_c", "place1_c", 0.5), ("place1_c", "place1_c", 0.0),
          ("place1_c", "place2_c", 0.5), ("place2_c", "place2_c", 0.0))  # fmt: skip
"""Where a tip may sit, from the core outwards: between two channels, and how far on the way."""


def at_places(trace: Trace, at_s: float) -> Floats:
    """Temperature at each of ``PLACES``; shape (places, members)."""
    of = {name: held_at(trace, name, at_s) for name in ("core_c", "place1_c", "place2_c")}
    return np.stack([(1.0 - way) * of[a] + way * of[b] for a, b, way in PLACES])
