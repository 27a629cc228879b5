"""The net quantity as a label has it, in both systems, in the order that the market wants."""

from math import floor, log10
from typing import Final

from pitreckon.units import POUND_KG

OUNCE_KG: Final = POUND_KG / 16.0


def net_words(nominal_kg: float, market: str) -> str:
    """``NET WT 12 OZ (340 g)`` for us, ``340 g (12 oz)`` for eu and uk.

    us: the largest whole unit first, metric beside it (16 CFR 500, 21 CFR 101.7, from memory); what is converted is
    rounded down to three figures, so that it promises no more (Uniform Packaging and Labeling Regulation, from memory)
    eu, uk: metric holds, ounces may stand behind it, no larger (Directive 80/181/EEC, from memory)

    >>> net_words(0.340194, "us"), net_words(0.35, "us"), net_words(0.340, "eu"), net_words(0.566990, "us")
    ('NET WT 12 OZ (340 g)', 'NET WT 12.3 OZ (350 g)', '340 g (11.9 oz)', 'NET WT 1 LB 4 OZ (566 g)')
    """
    metric = f"{_down(1000.0 * nominal_kg)} g" if nominal_kg < 1.0 - 1e-9 else f"{_down(nominal_kg)} kg"
    ounces = _ounces(nominal_kg)
    return f"NET WT {ounces.upper()} ({metric})" if market == "us" else f"{metric} ({ounces})"


def least_figure_mm(nominal_kg: float) -> float:
    """The least height of the figures of a metric net quantity [mm]: Directive 76/211/EEC, annex I, 3.1 (from memory)

    >>> [least_figure_mm(kg) for kg in (0.05, 0.2, 0.34, 1.5)]
    [2.0, 3.0, 4.0, 6.0]
    """
    return next(height for upto, height in ((0.05, 2.0), (0.2, 3.0), (1.0, 4.0), (1e9, 6.0)) if nominal_kg <= upto)


def _ounces(mass_kg: float) -> str:
    if mass_kg < POUND_KG - 1e-6:
        return f"{_down(mass_kg / OUNCE_KG)} oz"
    pounds = floor(mass_kg / POUND_KG + 1e-6)
    rest = max(0.0, mass_kg / OUNCE_KG - 16.0 * pounds)
    ounces = floor(10.0 * rest + 1e-3) / 10.0
    return f"{pounds} lb" + (f" {ounces:g} oz" if ounces else "")


def _down(value: float) -> str:
    """Three figures, rounded down; what binary noise took is given back first."""
    scale = 10.0 ** (2 - floor(log10(value) + 1e-12))
    return f"{floor(value * scale + 1e-3) / scale:.10g}"
