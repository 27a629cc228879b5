"""What is allowed in a cook file and far from usual: more often a slip of a unit or a digit than meant.

Nothing is refused for it. What is usual is the catalog's own: how a cut is bought, what pits are set to for its
animal, the cut's proportions. How far is far is common practice, no source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from pitreckon import catalog
from pitreckon.catalog.buying import buying
from pitreckon.cook.looks import Masses
from pitreckon.cook.plan import StagePlan
from pitreckon.text.toml import Path
from pitreckon.units import (
    Scale,
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    format_length,
    format_mass,
    format_temperature,
)

LIGHT, HEAVY = 0.4, 1.6
"""Of the lightest and the heaviest piece as it is bought; one that is trimmed or halved is lighter [-]."""
COOLER_K, HOTTER_K = 55.0, 80.0
"""Than a pit is usually set to for an animal: below it is a cold smoke, above it a roasting oven [K]."""
RAW_C: Final = (-5.0, 25.0)
"""Meat as it goes on: from half frozen to a kitchen's warmth [°C]."""
HOLD_C: Final = (50.0, 95.0)
"""Air around a hold [°C]."""
CORE_C: Final = (45.0, 102.0)
"""A core that ends a stage [°C]."""
WEATHER_C: Final = (-30.0, 45.0)
THIN, THICK = 0.45, 2.2
"""Of what the cut's proportions give for a piece of its weight [-]."""
SALT_G_PER_KG: Final = 35.0
"""More of it on raw meat is for curing [g/kg]."""
HIGH_M: Final = 3500.0


class Meat(Protocol):
    """What a planned item and one that is wished for have alike."""

    @property
    def cut(self) -> str: ...
    @property
    def mass_kg(self) -> float | None: ...
    @property
    def start_c(self) -> float: ...
    @property
    def thickness_m(self) -> float | None: ...
    @property
    def salt_g_per_kg(self) -> float | None: ...
    @property
    def stages(self) -> tuple[StagePlan, ...]: ...


@dataclass(frozen=True, slots=True)
class Unusual:
    """One value. path: of its key in the file; words: what it is and what is usual, without a full stop."""

    path: Path
    words: str


def unusual_meat(number: int, item: Meat, degrees: Scale) -> Iterator[Unusual]:
    """What is far from usual of an item. number: of its table in the file, from 0"""
    cut, bought = catalog.cut(item.cut), buying(item.cut)
    masses: Masses = "lb" if degrees == "F" else "kg"
    low_kg, high_kg = bought.piece_low_kg.value, bought.piece_high_kg.value
    if bought.key != item.cut:  # nobody has said how it is bought
        low_kg = high_kg = cut.shape.mass_kg.value
    if item.mass_kg is not None and not LIGHT * low_kg <= item.mass_kg <= HEAVY * high_kg:
        ends = [format_mass(each, masses) for each in (low_kg, high_kg)]
        usual = f"about {ends[0]}" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
        words = f"{format_mass(item.mass_kg, masses)} is unusual for one piece ({cut.name}): {usual} is what is sold"
        yield Unusual(("item", number, "weight"), words)
    elif item.mass_kg is not None and item.thickness_m is not None:
        yield from _thickness(number, cut, item.mass_kg, item.thickness_m, degrees)
    yield from _warmth(("item", number, "start"), item.start_c, RAW_C, "meat goes on", degrees)
    if item.salt_g_per_kg is not None and item.salt_g_per_kg > SALT_G_PER_KG:
        words = f"{item.salt_g_per_kg:g} g of salt for a kilogram of meat is unusual: 10 to 20 g is"
        yield Unusual(("item", number, "salt"), words)
    for n, stage in enumerate(item.stages):
        if stage.kind == "hold" and stage.air_c is not None:
            yield from _warmth(("item", number, "stage", n, "air"), stage.air_c, HOLD_C, "a hold is kept", degrees)
        if stage.until.core_c is not None:
            path = ("item", number, "stage", n, "until")
            yield from _warmth(path, stage.until.core_c, CORE_C, "a core ends a stage", degrees)


def _thickness(number: int, cut: catalog.Cut, mass_kg: float, thickness_m: float, degrees: Scale) -> Iterator[Unusual]:
    shape = cut.shape
    whole_m = getattr(shape, "thickness_m", None) or getattr(shape, "diameter_m", None)
    if whole_m is None:
        return
    usual_m = whole_m.value * cut.scale(mass_kg)
    if not THIN * usual_m <= thickness_m <= THICK * usual_m:
        unit, masses = ("in", "lb") if degrees == "F" else ("cm", "kg")
        here, usual = (format_length(each, unit) for each in (thickness_m, usual_m))  # type: ignore[arg-type]
        of = f"one of {format_mass(mass_kg, masses)}"  # type: ignore[arg-type]
        yield Unusual(("item", number, "thickness"), f"{here} is unusual for {of}: about {usual} is usual")


def unusual_set(number: int, sets_c: Sequence[float], cuts: Sequence[str], degrees: Scale) -> Iterator[Unusual]:
    """What is far from usual of what a pit is set to.

    number: of its table in the file, from 0; cuts: of what goes on it, if any is known
    """
    animals = {catalog.cut(cut).animal for cut in cuts} or set(catalog.animals())
    usual = sorted(catalog.animal(key).usual_set_c.value for key in animals)
    for set_c in sets_c:
        if usual[0] - COOLER_K <= set_c <= usual[-1] + HOTTER_K:
            continue
        ends = list(dict.fromkeys(format_temperature(each, degrees) for each in (usual[0], usual[-1])))
        what = "about " + " to ".join(ends) if len(ends) > 1 else f"about {ends[0]}"
        here = format_temperature(set_c, degrees)
        whose = " and ".join(sorted(catalog.animal(key).name.lower() for key in animals)) if cuts else "meat"
        words = f"a pit set to {here} is unusual for {whose}: {what} is usual{_other_scale(set_c, usual[0], usual[-1])}"
        yield Unusual(("pit", number, "set"), words)


def _other_scale(set_c: float, low_c: float, high_c: float) -> str:
    """Whether the number in the other scale would be usual."""
    number_f = fahrenheit_from_celsius(set_c)
    for number, scale, meant_c in ((set_c, "F", celsius_from_fahrenheit(set_c)), (number_f, "C", number_f)):
        if low_c - COOLER_K <= meant_c <= high_c + COOLER_K:
            return f"; {number:.0f} {scale} would be"
    return ""


def _warmth(path: Path, value_c: float, ends_c: tuple[float, float], what: str, degrees: Scale) -> Iterator[Unusual]:
    if ends_c[0] <= value_c <= ends_c[1]:
        return
    here, low, high = (format_temperature(each, degrees) for each in (value_c, *ends_c))
    yield Unusual(path, f"{here} is unusual: {what} at {low} to {high}")


def unusual_occasion(altitude_m: float, weather_c: float | None, degrees: Scale) -> Iterator[Unusual]:
    """What is far from usual of where and when it is."""
    if altitude_m > HIGH_M:
        here, most = (format_length(each, "ft" if degrees == "F" else "m") for each in (altitude_m, HIGH_M))
        yield Unusual(("cook", "altitude"), f"{here} above the sea is unusual: few live above {most}")
    if weather_c is not None:
        yield from _warmth(("cook", "air"), weather_c, WEATHER_C, "the weather is", degrees)
