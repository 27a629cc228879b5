"""Weights that a scale can show, rounded so that the whole stays true; what is too little for it goes in a premix."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Final

from pitreckon.errors import InputError
from pitreckon.forms.checks import within
from pitreckon.units import POUND_KG, parse_mass, shown

UNITS: Final = {"g": 0.001, "kg": 1.0, "oz": POUND_KG / 16.0, "lb": POUND_KG}
"""What a scale shows in [kg]."""
LEAST_STEPS: Final = 20
"""A scale weighs nothing truly below so many of its steps: OIML R 76, minimum capacity of class III (from memory)."""
RATIOS: Final = (10, 20, 50, 100)
"""One part in so many of a premix."""


def parse_step(text: str) -> tuple[float, str]:
    """The step of a scale [kg] and the unit that it shows, from ``1 g``, ``0.1 oz``, ``0.005 kg``, ``0.01 lb``.

    Raises InputError: no weight, or of several units.
    """
    mass_kg = parse_mass(text)
    unit = text.strip().casefold().lstrip("0123456789./ ").rstrip("s.")
    if unit not in UNITS or mass_kg <= 0.0:
        raise InputError(f"{shown(text)} is no step of a scale", "Write it as in 1 g, 0.1 oz or 0.01 lb")
    return mass_kg, unit


def scale_words(mass_kg: float, step_kg: float, unit: str) -> str:
    """What the scale shows: as many places as its step has.

    >>> scale_words(7.4250001, 0.001, "g"), scale_words(0.1, 0.0028349523125, "oz"), scale_words(7.425, 0.005, "kg")
    ('7425 g', '3.5 oz', '7.425 kg')
    """
    step = f"{step_kg / UNITS[unit]:.6f}".rstrip("0")
    return f"{mass_kg / UNITS[unit]:.{len(step.partition('.')[2])}f} {unit}"


@dataclass(frozen=True, slots=True)
class Weighed:
    """One thing to put on the scale. exact_kg: as the mix has it; shown_kg: what the scale has to show"""

    name: str
    exact_kg: float
    shown_kg: float


@dataclass(frozen=True, slots=True)
class Premix:
    """One part of what is too little for the scale in so many of the mix's heaviest, mixed first.

    own_kg, carrier_kg: to weigh for the premix; taken_kg: of it for each round; left_kg: after all rounds
    """

    of: str
    carrier: str
    parts: int
    own_kg: float
    carrier_kg: float
    taken_kg: float
    left_kg: float

    @property
    def name(self) -> str:
        """What it is called among what is weighed."""
        return f"premix of {self.of}"


@dataclass(frozen=True, slots=True)
class Weights:
    """What is weighed for one round, in the order of the mix; the same so many times.

    too_little: what no premix helps: it wants a finer scale; least_kg: below it this scale weighs nothing truly
    """

    rounds: int
    step_kg: float
    weighed: tuple[Weighed, ...]
    premixes: tuple[Premix, ...]
    too_little: tuple[str, ...]

    @property
    def least_kg(self) -> float:
        """Below it the scale weighs nothing truly."""
        return LEAST_STEPS * self.step_kg

    @property
    def mass_kg(self) -> float:
        """All rounds."""
        return self.rounds * sum(each.shown_kg for each in self.weighed)

    @property
    def widest(self) -> float:
        """The largest change that rounding made to one of them [-]."""
        return max(abs(each.shown_kg / each.exact_kg - 1.0) for each in self.weighed)


def weights_of(parts: Sequence[tuple[str, float]], step_kg: float, most_kg: float | None = None) -> Weights:
    """Weights for a scale that shows steps of ``step_kg``. parts: names and exact weights [kg] of the whole batch

    most_kg: the most that is mixed at one time; None: all at once

    Raises InputError: the scale is too coarse for the batch.
    """
    within("scale", step_kg, 1e-6, 1.0, lambda kg: f"{1000.0 * kg:g} g")
    whole = sum(mass for _, mass in parts)
    rounds = 1 if most_kg is None else max(1, ceil(whole / most_kg - 1e-9))
    if whole / rounds < 2 * LEAST_STEPS * step_kg:
        raise InputError("the scale is too coarse for this batch", "Take a finer scale, or make more")
    one = [(name, mass / rounds) for name, mass in parts if mass > 0.0]
    least = LEAST_STEPS * step_kg
    small = [(name, mass) for name, mass in one if mass < least - 1e-12]
    heaviest = max(one, key=lambda each: each[1])[0]
    masses = dict(one)
    premixes, without = [], []
    for name, mass in small:
        ratio = next((each for each in RATIOS if each * mass >= least), None)
        taken = 0.0 if ratio is None else _to_step(ratio * mass, step_kg)
        carrier = taken - mass
        if ratio is None or carrier > 0.5 * masses[heaviest]:
            without.append(name)
            continue
        masses[heaviest] -= carrier
        own = max(least, _up(mass * rounds, step_kg))
        carrier_kg = _to_step(own * (taken / mass - 1.0), step_kg)
        premixes.append(
            Premix(name, heaviest, ratio, own, carrier_kg, taken, max(0.0, own + carrier_kg - rounds * taken))
        )
        masses[name] = taken
    called = {each.of: each.name for each in premixes}
    exact = [(called.get(name, name), masses[name]) for name, _ in one]
    fixed = {each.name for each in premixes}
    return Weights(rounds, step_kg, _rounded(exact, step_kg, fixed), tuple(premixes), tuple(without))


def _rounded(parts: Sequence[tuple[str, float]], step_kg: float, fixed: set[str]) -> tuple[Weighed, ...]:
    """Each to a step, by the largest remainders, so that all together are the whole rounded up to a step.

    None is rounded away: what is less than half a step is one.
    """
    steps = [mass / step_kg for _, mass in parts]
    whole = ceil(sum(steps) - 1e-6)
    down = [max(1, round(x) if name in fixed else floor(x + 1e-9)) for (name, _), x in zip(parts, steps, strict=True)]
    movable = [n for n, (name, _) in enumerate(parts) if name not in fixed]
    by_rest = sorted(movable, key=lambda n: (down[n] - steps[n], n))
    short = whole - sum(down)
    for n in by_rest[: max(0, short)]:
        down[n] += 1
    if short < 0:  # what was lifted to one step is taken from the heaviest
        down[max(movable, key=lambda n: steps[n])] += short
    return tuple(
        Weighed(name, mass, round(count * step_kg, 9)) for (name, mass), count in zip(parts, down, strict=True)
    )


def _to_step(mass_kg: float, step_kg: float) -> float:
    return round(max(1.0, floor(mass_kg / step_kg + 0.5)) * step_kg, 9)


def _up(mass_kg: float, step_kg: float) -> float:
    return round(ceil(mass_kg / step_kg - 1e-9) * step_kg, 9)
