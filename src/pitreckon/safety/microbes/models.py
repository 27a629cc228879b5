"""The models that advise beside the rules: which microbe, which meat, from where, and what they hold for."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import inf

from pitreckon import catalog
from pitreckon.errors import InputError, Place
from pitreckon.physics.growth import (
    growth_rate_perfringens_juneja,
    growth_rate_staphylococcus_medvedova,
    readiness_perfringens_juneja,
)
from pitreckon.units import celsius_from_fahrenheit

F = 1.0 / 1.8
SLACK_K = 0.01
"""A hold at the very least temperature counts, whatever the rounding of its degrees."""


@dataclass(frozen=True)
class Killed:
    """How fast heat kills a microbe.

    ref_c, d_ref_s, z_k: of Bigelow's law; from_c: colder than that nothing is credited; holds: for what it holds
    """

    microbe: str
    ref_c: float
    d_ref_s: float
    z_k: float
    from_c: float
    source: str
    holds: str


@dataclass(frozen=True)
class Grown:
    """How fast a microbe grows.

    rate: [1/s] at a temperature [degC]; readiness: of its lag, inf: none; room_log10: from the first count to the most
    the food carries; limit_log10: what is too much, and by whom; part: of the history that is looked at
    """

    microbe: str
    when: str
    rate: Callable[[float], float]
    readiness: float
    room_log10: float
    limit_log10: float
    limit_by: str
    source: str
    holds: str


# The least temperature of a table's row, or of the trials, below which no kill is credited.
SALMONELLA_MEAT = Killed(
    "Salmonella",
    celsius_from_fahrenheit(150.0),
    0.172 * 60.0,
    10.0 * F,
    celsius_from_fahrenheit(130.0) - SLACK_K,
    "FSIS-GD-2021-14, table 2: what its times imply",
    "beef, lamb and pork with a moist surface; 130 °F and hotter",
)
SALMONELLA_CHICKEN = Killed(
    "Salmonella",
    60.0,
    5.0 * 60.0,
    9.55 * F,
    celsius_from_fahrenheit(136.0) - SLACK_K,
    "FSIS-GD-2021-14, table 3 at 12 % fat: what its times at 140 and 160 °F imply",
    "chicken with a moist surface; its survivors do not die by a straight line, so the table counts, not this",
)
SALMONELLA_TURKEY = Killed(
    "Salmonella",
    60.0,
    4.8143 * 60.0,
    10.66 * F,
    celsius_from_fahrenheit(136.0) - SLACK_K,
    "FSIS-GD-2021-14, table 4 at 12 % fat: what its times at 140 and 160 °F imply",
    "turkey with a moist surface; its survivors do not die by a straight line, so the table counts, not this",
)
LISTERIA = Killed(
    "Listeria monocytogenes",
    70.0,
    20.0,
    7.5,
    60.0 - SLACK_K,
    "2 min at 70 °C for six powers of ten: NZ MPI 2016/05; z from memory",
    "meat at 60 °C and hotter; colder holds are not credited",
)
_KILLED: dict[str, tuple[Killed, ...]] = {
    "meat": (SALMONELLA_MEAT, LISTERIA),
    "chicken": (SALMONELLA_CHICKEN, LISTERIA),
    "turkey": (SALMONELLA_TURKEY, LISTERIA),
    "fish": (LISTERIA,),
    "none": (),
}
"""By what an animal's file says that heat kills in it; fish takes the one that was not made for one kind of meat."""
FASTEST = "beef"
"""Whose growth stands in where an animal has no file."""
PERFRINGENS_ROOM, STAPHYLOCOCCUS_ROOM = 6.0, 6.0
"""From 100 to 1e8 a gram, the count at which growth ends: common in the published models (from memory)."""


def has_models(animal: str) -> bool:
    """Is there a model of killing for an animal's meat?"""
    known = catalog.animals().get(animal)
    return known is not None and bool(_KILLED[known.killed_as])


def killed_in(animal: str) -> tuple[Killed, ...]:
    """How heat kills microbes in an animal's meat.

    Raises InputError: no model is for it
    """
    animals = catalog.animals()
    found = _KILLED[animals[animal].killed_as] if animal in animals else ()
    if not found:
        near = ", ".join(key for key, each in animals.items() if _KILLED[each.killed_as])
        raise InputError(f"'{animal}' has no model", f"Take the nearest of {near}", Place(field="meat"))
    return found


def grows_as(animal: str) -> str:
    """Whose growth model an animal's meat takes; the fastest where it has no file."""
    known = catalog.animals().get(animal)
    return FASTEST if known is None else known.grows_as


def perfringens_cooling(meat: str) -> Grown:
    """Clostridium perfringens from spores that the cooking woke, in the cooling."""
    of = grows_as(meat)
    return Grown(
        "Clostridium perfringens",
        "cooling",
        _rate_perfringens(of),
        readiness_perfringens_juneja(of),  # type: ignore[arg-type]
        PERFRINGENS_ROOM,
        1.0,
        "what plants have to cool within (9 CFR 318.17, 381.150)",
        "Juneja et al. 2011; coefficients second-hand, their unit inferred",
        f"cooked uncured {of}, 10 to 51 °C, smooth cooling; it says more than was found in trials",
    )


def perfringens_come_up(meat: str) -> Grown:
    """The same in a slow come-up, without the lag that nobody has measured there."""
    of = grows_as(meat)
    return Grown(
        "Clostridium perfringens",
        "come-up",
        _rate_perfringens(of),
        inf,
        PERFRINGENS_ROOM,
        1.0,
        "the same as in cooling; no rule says it for a come-up",
        "Juneja et al. 2011, without a lag; chicken warmed slowly grew 2 to 3 (Duan et al. 2016)",
        f"a bound, not a forecast: the model was made for cooked {of} that cools",
    )


STAPHYLOCOCCUS_COME_UP = Grown(
    "Staphylococcus aureus",
    "come-up",
    growth_rate_staphylococcus_medvedova,
    inf,
    STAPHYLOCOCCUS_ROOM,
    2.0,
    "what 6 hours between 50 and 130 °F come to (FSIS-GD-2021-14, p. 24)",
    "Medvedova et al. 2019, no lag",
    "broth and milk, 8 to 47 °C; beef and turkey in trials grew 0.5 to 2 less (Shrestha et al. 2025)",
)


_RATES = {of: partial(growth_rate_perfringens_juneja, meat=of) for of in ("beef", "chicken", "pork")}


def _rate_perfringens(of: str) -> Callable[[float], float]:
    """The same object each time, so that its table is made once."""
    return _RATES[of]
