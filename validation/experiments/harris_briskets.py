"""Whole briskets over an oak fire [harris_briskets]_, n = 48, a pit near 99 degC.

Compared: about 11 h until tender, at about 85 degC at the core. Ranges: 9-13 h, as the mass is not given;
80-90 degC.
Assumed: 5.5 kg (from memory: a trimmed Choice brisket has 5-6 kg), the catalog's offset log burner, never
wrapped.
"""

from __future__ import annotations

from functools import cache

from pitreckon import catalog
from validation.check import Check, Group
from validation.lab import FOREVER, Cooked, cook, pit, to_f


@cache
def cooked() -> Cooked:
    """One brisket, watched for two days."""
    chamber = pit(to_f(99.0), "offset-log-burner")
    return cook(catalog.cut("brisket-whole"), chamber, FOREVER, hours=48.0, mass_kg=5.5)


def hours_to(core_c: float) -> float:
    """Time at which the core is there [h], nan if never."""
    trace = cooked().trace
    there = trace["core_c"][:, 0] >= core_c
    return float(trace.time_s[there.argmax()]) / 3600.0 if there.any() else float("nan")


GROUP = Group(
    "Briskets over an oak fire",
    "harris_briskets",
    "test",
    (
        Check(
            "time",
            "core at 85 °C",
            "h",
            9.0,
            13.0,
            lambda: hours_to(85.0),
            "a matter of energy: in air of 99 °C the heat that reaches the skin just pays for the juice that such a "
            "brisket gives off, so a bare one stands for hours; mass, humidity and the fire's radiation are not given",
        ),
        Check(
            "tender",
            "core when tender",
            "°C",
            80.0,
            90.0,
            lambda: cooked().at("core_c", 3600.0 * cooked().mark_h("tender")),
        ),
    ),
)
