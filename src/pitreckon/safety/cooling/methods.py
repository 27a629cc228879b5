"""Methods to cool what is left over: how it is cut, what it lies in, and where that stands.

What no source is named for is common practice, no source: how long a method takes in work, how deep slices lie, how a
refrigerator behaves. Its spread says how little it is known.
"""

import math
from dataclasses import dataclass
from typing import Literal

from pitreckon.catalog import Ball, Bird, Block, Cut, Drum
from pitreckon.section import material, shapes
from pitreckon.units import INCH_M, format_length

Form = Literal["whole", "halved", "sliced", "pulled"]
Lies = Literal["on a rack", "in a tray", "in a bag"]


@dataclass(frozen=True)
class Place:
    """Where it cools.

    air_c, air_sd_k: of its air or water; film_w_m2k: heat transfer without radiation
    film_ln_sd: spread of its logarithm
    load_k_per_kg: how much warm meat warms it in its first hours [K/kg]; wet: it is water
    """

    name: str
    air_c: float
    air_sd_k: float
    film_w_m2k: float
    film_ln_sd: float
    load_k_per_kg: float = 0.0
    wet: bool = False


REFRIGERATOR = Place("refrigerator", 3.0, 0.7, 5.0, 0.3, load_k_per_kg=1.0)
"""Still air: free convection about a warm piece is 4 to 5 W/m2K (Churchill and Chu)."""
FAN_ROOM = Place("cold room with a fan", 2.0, 0.7, 14.0, 0.25)
"""Air at 1 to 2 m/s about a piece of 10 cm: 11 to 17 W/m2K (Churchill and Bernstein)."""
ICE_BATH = Place("ice bath", 1.0, 0.5, 200.0, 0.4, wet=True)
"""Ice and water, stirred now and then, with ice left in it at the end; film from memory."""
LOAD_S, MOST_LOAD_K = 2 * 3600.0, 5.0

SLICE_M = 0.5 * INCH_M
DEEP_M, SHALLOW_M = 2.0 * INCH_M, 1.0 * INCH_M
WHOLE_SPREAD, DEPTH_SPREAD = 0.08, 0.1


@dataclass(frozen=True)
class Method:
    """One method to cool a piece.

    depth_m: of slices, or of pulled meat in its tray or bag; covered: nothing dries; effort_s: the cook's own time
    """

    form: Form
    lies: Lies
    place: Place
    covered: bool
    effort_s: float
    depth_m: float | None = None

    @property
    def words(self) -> str:
        """What to do.

        >>> Method("pulled", "in a tray", REFRIGERATOR, False, 900.0, DEEP_M).words
        'pulled, 2 in deep in an open tray, refrigerator'
        """
        how: str = self.lies
        if self.lies == "in a tray":
            how = "in a covered tray" if self.covered else "in an open tray"
        elif self.lies == "on a rack":
            how = "loosely covered" if self.covered else "open"
        if self.form == "sliced":
            how = f"{format_length(self.depth_m or 0.0)} thick in one layer, {how}"
        elif self.depth_m is not None:
            how = f"{format_length(self.depth_m)} deep {how}"
        return f"{self.form}, {how}, {self.place.name}"


def methods_for(cut: Cut, *, fan: bool = False) -> tuple[Method, ...]:
    """The methods that make sense for a cut, least work first.

    cut: of the catalog
    fan: the refrigerator is a cold room with a fan
    """
    cold = FAN_ROOM if fan else REFRIGERATOR
    thick = isinstance(cut.shape, Block | Drum | Ball | Bird)
    methods = [
        Method("whole", "on a rack", cold, True, 60.0),
        Method("whole", "on a rack", cold, False, 90.0),
        Method("whole", "in a bag", ICE_BATH, True, 8 * 60.0),
    ]
    if thick:
        methods += [
            Method("halved", "on a rack", cold, False, 4 * 60.0),
            Method("halved", "in a bag", ICE_BATH, True, 10 * 60.0),
            Method("sliced", "in a tray", cold, False, 15 * 60.0, SLICE_M),
        ]
    if thick and cut.texture.done_by == "tender":
        methods += [
            Method("pulled", "in a tray", cold, True, 14 * 60.0, DEEP_M),
            Method("pulled", "in a tray", cold, False, 14.5 * 60.0, DEEP_M),
            Method("pulled", "in a tray", cold, False, 16 * 60.0, SHALLOW_M),
            Method("pulled", "in a bag", ICE_BATH, True, 18 * 60.0, DEEP_M),
            Method("pulled", "in a bag", ICE_BATH, True, 20 * 60.0, SHALLOW_M),
        ]
    return tuple(sorted(methods, key=lambda method: method.effort_s))


def section_of(cut: Cut, method: Method) -> shapes.Section:
    """The piece as it lies, at its catalog size: the whole one, a half, a slice, or a bed of pulled meat.

    A half of a squat round piece is drawn as a bar as thick as it is high and half as wide as it is across: its ends
    are left out, so that it cools a little late. A long piece is halved along its length.
    """
    if method.depth_m is not None:
        return shapes.slab(method.depth_m, n=21, spacing_m=1.5e-3)
    if method.form == "whole":
        return material.section_of(cut)
    match cut.shape:
        case Drum() as s:
            return shapes.block(s.height_m.value, 0.5 * s.diameter_m.value)
        case Block() as s:
            return shapes.block(s.thickness_m.value, 0.5 * s.width_m.value)
        case Ball() as s:
            return shapes.drum(0.5 * s.diameter_m.value, s.diameter_m.value)
        case Bird() as s:  # split along its back: two walls, each as a bar of half the bird's girth
            wall = 0.5 * (s.diameter_m.value - s.cavity_m.value)
            return shapes.block(wall, 0.25 * math.pi * (s.diameter_m.value + s.cavity_m.value))
        case _:
            return material.section_of(cut)
