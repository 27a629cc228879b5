"""What a cook sees, feels and weighs: one record a kind of look, which file, log, page, weights and card all read.

A new look is a record here, and in ``reckon.measures`` the number of a member that it shows, under the record's
``measure``; one that shows a number which is there already needs the record alone.

Levels of a scale are ours: 1.0 is the model's mark (the set colour; the probe slides in), 0 the raw piece. The spacing
of the steps between, and every error below, is a judgement (common practice, no source).
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from pitreckon.cook.levels import LEVEL_SD, level_error, parse_level
from pitreckon.text.said import said
from pitreckon.units import (
    format_length,
    format_mass,
    format_temperature,
    parse_length,
    parse_mass,
    parse_temperature,
)

Degrees = Literal["F", "C"]
Masses = Literal["lb", "kg"]
RANDOM_STEP, BIAS_STEP = 0.15, 0.15
"""Standard errors of a word as levels: anew with each look, and of the cook, who has it in all looks of a kind.
Together about a step (common practice, no source)."""
ROUNDED: Final = 0.06
"""Standard error of a level because it is told as the nearest of five words or so."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """What an instrument shows, in SI.

    parse: of a text with its unit; show: as a person reads it; cell: as a log file has it; of: what it is, in words
    """

    parse: Callable[[str], float]
    show: Callable[[float, Degrees, Masses], str]
    cell: Callable[[float, Degrees], str]
    of: str


TEMPERATURE: Final = Quantity(
    parse_temperature,
    lambda value_c, degrees, masses: format_temperature(value_c, degrees),
    lambda value_c, degrees: format_temperature(value_c, degrees, 1).replace(" °", " "),
    "temperature",
)
LENGTH: Final = Quantity(
    parse_length,
    lambda length_m, degrees, masses: format_length(length_m, "in" if masses == "lb" else "mm"),
    lambda length_m, degrees: format_length(length_m, "in" if degrees == "F" else "mm"),
    "length",
)
WEIGHT: Final = Quantity(
    parse_mass,
    lambda mass_kg, degrees, masses: format_mass(mass_kg, masses),
    lambda mass_kg, degrees: format_mass(mass_kg, "lb" if degrees == "F" else "kg"),
    "weight",
)


LEVEL: Final = Quantity(
    parse_level,
    lambda level, degrees, masses: f"{level:.2f}",
    lambda level, degrees: f"{level:.2f}",
    "level of the colour scale with its standard error, as `0.86 ± 0.07`: 0 raw, 1 mahogany, 1.3 too dark",
)


@dataclass(frozen=True, slots=True)
class Errors:
    """Standard errors of a look, in the unit of its value; of a word, as levels.

    each: anew with each look; shared: the same in all looks of a kind at one cook
    rounded: of a level, because it is told as a word; of_raw: they are shares of the piece's raw weight
    place: it is read at the tip of a probe, which may have missed the core
    instrument: of ``each``, what is the thermometer's own and the same in all that it reads
    told: its own error stands in its text; ``each`` where it does not
    """

    each: float
    shared: float = 0.0
    rounded: float = 0.0
    of_raw: bool = False
    place: bool = False
    told: bool = False
    instrument: float = 0.0

    def of_each(self, text: str) -> float:
        """What is anew with each look, of one with this text, beside what all of them share."""
        if not self.told:
            return self.each
        return float(max(level_error(text) ** 2 - self.shared**2, (0.5 * self.each) ** 2) ** 0.5)


BATHS: Final = {"ice": (-25.0, 25.0), "boiling": (70.0, 125.0)}
"""What a thermometer can read in ice water or in boiling water, however far off it is [°C]."""
WORD: Final = Errors(RANDOM_STEP, BIAS_STEP, ROUNDED)


@dataclass(frozen=True, slots=True)
class OnPage:
    """How it is recorded with a tap.

    form: faces (a picture for each word), words, lengths (bones drawn to size) or dial; heading: over it
    group: its name in the page's style; racks: only where there are ribs
    """

    form: Literal["faces", "words", "lengths", "dial"]
    heading: str
    group: str
    racks: bool = False


@dataclass(frozen=True, slots=True)
class LookKind:
    """One kind of look.

    name: as in the log, in a request and in the ledger
    measure: what of a member it shows, a key of ``reckon.measures.MEASURES``; "": nothing of it
    errors: how far off it may be
    scale: its words and their levels, the lowest first; or quantity and range: what is measured, and what is possible
    told: what stands before its words on the pages, or the thing that is measured
    page: how it is recorded with a tap; None: by the log alone
    confirms: what a stage may have waited for when this was seen: colour, tender or core; "": it settles none
    within: how a change of the forecast names it; ``{}`` is its value
    measured_on: the look on whose scale it is measured, "" for none
    of_instrument: it is a thermometer's check in one of ``BATHS``, and says nothing of the meat
    of_pit: it is of a pit and not of an item
    """

    name: str
    measure: str
    errors: Errors
    scale: Mapping[str, float] = field(default_factory=dict)
    quantity: Quantity | None = None
    range: tuple[float, float] = (0.0, 0.0)
    told: str = ""
    page: OnPage | None = None
    confirms: str = ""
    within: str = ""
    measured_on: str = ""
    of_instrument: bool = False
    of_pit: bool = False

    def word(self, level: float) -> str:
        """The word of its scale nearest to a level [-], or of the scale that it is measured on."""
        scale = self.scale or LOOK_KINDS[self.measured_on].scale
        return min(scale, key=lambda step: abs(scale[step] - level))

    def step(self, value: float) -> float:
        """The level of a value as one who looks would tell it: of one that is measured, the nearest word's [-]."""
        return LOOK_KINDS[self.measured_on].scale[self.word(value)] if self.measured_on else value

    def cell(self, value: float, degrees: Degrees) -> str:
        """A value as a log file has it."""
        return self.word(value) if self.quantity is None else self.quantity.cell(value, degrees)

    def show(self, value: float, text: str, degrees: Degrees, masses: Masses) -> str:
        """A value as a person reads it; a word as the cook wrote it."""
        if self.measured_on:
            error = level_error(text) if text else LEVEL_SD
            return said(
                "{word} ({level} ± {error})", word=said(self.word(value)), level=f"{value:.2f}", error=f"{error:.2f}"
            )
        if self.quantity is not None:
            return self.quantity.show(value, degrees, masses)
        return text or f"{value:g}"

    def as_cause(self, value: float, degrees: Degrees) -> str:
        """As a change of the forecast names it."""
        if self.quantity is None or self.measured_on:
            return said("{look} '{word}'", look=said(self.name), word=said(self.word(value)))
        shown = self.quantity.show(value, degrees, "lb")
        return said(self.within.replace("{}", "{value}"), value=shown) if self.within else said(self.name)


KINDS: Final = (
    LookKind(  # of the outside; a cook stops the smoke at "mahogany"
        "colour",
        "colour",
        WORD,
        {"raw": 0.0, "tan": 0.3, "amber": 0.55, "red-brown": 0.8, "mahogany": 1.0, "too dark": 1.3},
        page=OnPage("faces", "Colour outside", "colour"),
        confirms="colour",
    ),
    LookKind(  # measured in a picture with a white (``pitreckon.photo``); how meat differs is the same in all of a cook
        "colour in a photo",
        "colour",
        Errors(0.08, 0.06, told=True),
        quantity=LEVEL,
        range=(0.0, 1.5),
        confirms="colour",
        measured_on="colour",
    ),
    LookKind(  # has the bark set? Few words, and fingers differ: it is believed half as much as a colour
        "rub",
        "bark",
        Errors(0.25, 0.25, 0.15),
        {"comes off": 0.0, "smears": 0.5, "stays": 1.0},
        told="wiped with a finger it",
        page=OnPage("words", "The rub, wiped with a finger", "rub"),
    ),
    LookKind(  # what the hand feels when a thin probe is pushed in; done at "slides in"
        "probe feel",
        "tenderness",
        WORD,
        {"hard": 0.0, "firm": 0.4, "some drag": 0.75, "slides in": 1.0, "falls apart": 1.3},
        page=OnPage("words", "The probe goes in", "feel"),
        confirms="tender",
    ),
    LookKind(  # meat that holds water stays at its boiling point; a freezer is its cold end
        # A thermometer in hand is off by one to three kelvins, and stays so: nine in ten within 2 K
        "spot temperature",
        "core",
        Errors(1.5, place=True, instrument=1.2),
        quantity=TEMPERATURE,
        range=(-25.0, 110.0),
        page=OnPage("dial", "Temperature inside", "spot"),
        confirms="core",
        within="{} inside",
    ),
    LookKind(
        "bone showing",
        "bone showing",
        Errors(0.0025, 0.0015),
        quantity=LENGTH,
        range=(0.0, 0.15),
        told="length of bare bone",
        page=OnPage("lengths", "Bone showing, drawn to size", "bone", racks=True),
    ),
    LookKind(  # what a rack does when it is lifted at one end with the tongs
        "bend",
        "tenderness",
        WORD,
        {"stiff": 0.0, "sags": 0.5, "bends": 0.8, "cracks": 1.0, "breaks": 1.3},
        told="lifted at one end it is",
        page=OnPage("words", "Lifted at one end, the rack", "bend", racks=True),
        confirms="tender",
    ),
    LookKind(  # the errors are of the scale, and of the piece's own raw weight
        "weight",
        "weight",
        Errors(0.02, 0.02, of_raw=True),
        quantity=WEIGHT,
        range=(0.001, 200.0),
        told="weight of the piece",
    ),
    LookKind(  # the cook was there, looked, and did not go on: what the running stage waits for has not come
        "ready",
        "",
        Errors(0.0),
        {"not yet": 0.0},
        told="for the next step:",
        page=OnPage("words", "Ready for the next step?", "ready"),
    ),
    LookKind(  # of a pit: how far the grate lies over its gauge. The places of a grate differ, and it takes minutes
        "grate temperature",
        "",
        Errors(2.5),
        quantity=TEMPERATURE,
        range=(0.0, 350.0),
        told="what a thermometer laid on the grate beside the meat shows; it is a look at a pit, not at an item",
        page=OnPage("dial", "A thermometer on the grate shows", "grate"),
        of_pit=True,
    ),
    LookKind(
        "probe check",
        "",
        Errors(0.0),
        quantity=TEMPERATURE,
        told="what the probe in it read in a bath: `ice water 33 F`, `boiling water 211 F`, or just the temperature",
        of_instrument=True,
    ),
    LookKind(
        "spot check",
        "",
        Errors(0.0),
        quantity=TEMPERATURE,
        told="the same of the thermometer in hand, which spot temperatures are taken with",
        of_instrument=True,
    ),
)
"""In the order of the page."""
LOOK_KINDS: Final = {kind.name: kind for kind in KINDS}
SCALES: Final = {kind.name: kind.scale for kind in KINDS if kind.scale}
