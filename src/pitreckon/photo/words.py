"""A measured colour in words, and as plain values."""

from collections.abc import Sequence
from typing import Any

from pitreckon.cook.levels import format_level
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.photo.measure import Measured, Point
from pitreckon.text.said import said
from pitreckon.units import format_percent

LOOK = "colour in a photo"
"""The look that a measured colour is recorded as."""


def value_of(measured: Measured) -> str:
    """As a log and the ledger have it: ``0.86 ± 0.07``."""
    return format_level(measured.step.level, measured.step.sd)


def measured_words(measured: Measured) -> tuple[str, ...]:
    """What was measured, a sentence each."""
    kind, step = LOOK_KINDS[LOOK], measured.step
    shown = kind.show(step.level, value_of(measured), "F", "lb")
    lines = [
        said("Measured: {step}.", step=shown),
        said(
            "Chance that the colour is set: {set}; that it is too dark: {dark}.",
            set=format_percent(step.set_chance),
            dark=format_percent(step.dark_chance),
        ),
    ]
    lines += [said("Place {n} on the meat lies in glare or shade, and is left out.", n=n) for n in measured.left_out]
    return tuple(lines)


def places_words(meat: Sequence[Point], white: Point) -> str:
    """Where it was measured, short enough for a note."""
    spots = " ".join(f"{x:.2f},{y:.2f}" for x, y in meat)
    return f"meat {spots} white {white[0]:.2f},{white[1]:.2f}"


def measured_document(measured: Measured) -> dict[str, Any]:
    """A measured colour as plain values for ``json``."""
    step = measured.step
    return {
        "step": LOOK_KINDS[LOOK].word(step.level),
        "level": round(step.level, 3),
        "sd": round(step.sd, 3),
        "set_chance": round(step.set_chance, 4),
        "dark_chance": round(step.dark_chance, 4),
        "lab": [round(each, 1) for each in measured.lab],
        "lab_sd": [round(each, 1) for each in measured.lab_sd],
        "places": [[round(each, 1) for each in lab] for lab in measured.places],
        "left_out": list(measured.left_out),
    }
