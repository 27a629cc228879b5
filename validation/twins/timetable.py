"""The rule-of-thumb timetable: hours to a mark by cut, weight and pit temperature (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass

LB_KG = 0.45359237
PER_25_F = 1.2
"""So much longer for every 25 degF less."""
AT_F = 250.0
GLAZE_H = 0.25


@dataclass(frozen=True)
class Times:
    """Hours at 250 degF: to the set colour, and until done; ``by_weight``: hours a pound."""

    done: float
    colour: float | None = None
    by_weight: bool = False


TIMES = {
    "st-louis-ribs": Times(4.6, 2.5),
    "back-ribs": Times(4.0, 2.0),
    "spareribs": Times(5.0, 2.7),
    "beef-back-ribs": Times(4.5, 2.2),
    "beef-plate-ribs": Times(6.5),
    "country-style-ribs": Times(3.0, 1.5),
    "boston-butt": Times(1.25, by_weight=True),
    "brisket-whole": Times(1.0, by_weight=True),
    "brisket-flat": Times(1.25, by_weight=True),
    "brisket-point": Times(1.25, by_weight=True),
    "pork-loin": Times(0.55, by_weight=True),
    "turkey-breast": Times(0.5, by_weight=True),
    "chicken-half": Times(2.25),
    "chicken-thigh": Times(1.4),
    "chicken-wing": Times(1.2),
}


def hours(cut: str, set_c: float, mass_kg: float, mark: str, rest_s: float = 0.0, *, sauced: bool = False) -> float:
    """Hours from put-on to a mark (colour_set, done, glaze_set, ready), nan where the table has none."""
    times = TIMES[cut]
    slower = float(PER_25_F ** ((AT_F - (set_c * 1.8 + 32.0)) / 25.0))
    if mark == "colour_set":
        return times.colour * slower if times.colour is not None else float("nan")
    done = times.done * slower * (mass_kg / LB_KG if times.by_weight else 1.0)
    if mark == "done":
        return done
    glazed = done + (GLAZE_H if sauced else 0.0)
    return glazed if mark == "glaze_set" else glazed + rest_s / 3600.0
