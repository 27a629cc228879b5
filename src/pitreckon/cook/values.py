"""Values as a cook file has them: in the unit in which they are short and read back the same.

Else temperatures are written to 0.01 K, weights to 0.1 g and lengths to 0.01 mm. Times are written to the minute, with
their offset, for an hour that the clocks repeat. What is None stays None.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from pitreckon.cook.plan import SUGAR_LEVELS
from pitreckon.units import INCH_M, POUND_KG, format_mass, parse_length, parse_mass, parse_temperature


def moment_text(at_utc: datetime | None, zone: ZoneInfo) -> str | None:
    """A day and time in a zone."""
    return None if at_utc is None else at_utc.astimezone(zone).isoformat(sep=" ", timespec="minutes")


def temperature_text(temp_c: float | None) -> str | None:
    """A temperature [°C].

    >>> temperature_text(135.0), temperature_text(4.0), temperature_text(63.21)
    ('275 F', '4 C', '63.21 C')
    """
    if temp_c is None:
        return None
    celsius, fahrenheit = f"{temp_c:g} C", f"{temp_c * 1.8 + 32.0:.0f} F"
    # Cooks set fives: 275 F is rather meant than 135 C, and 65 C than 149 F.
    ways = (fahrenheit, celsius) if fahrenheit.endswith(("0 F", "5 F")) else (celsius, fahrenheit)
    return _same(ways, temp_c, parse_temperature) or f"{temp_c:.2f} C"


def weight_text(mass_kg: float | None) -> str | None:
    """A weight [kg]."""
    if mass_kg is None:
        return None
    ways = (f"{mass_kg:g} kg", f"{mass_kg / POUND_KG:.4g} lb", format_mass(mass_kg, "lb"))
    return _same(ways, mass_kg, parse_mass) or f"{1000.0 * mass_kg:.1f} g"


def length_text(length_m: float | None) -> str | None:
    """A length [m]."""
    if length_m is None:
        return None
    ways = (f"{1000.0 * length_m:g} mm", f"{length_m / INCH_M:.4g} in")
    return _same(ways, length_m, parse_length) or f"{1000.0 * length_m:.2f} mm"


def thinner_text(thickness_factor: float) -> str | None:
    """By how much thinner than the cut comes; None: as it comes."""
    thinner = 1.0 - thickness_factor
    return f"{100.0 * thinner:.2f} %" if thinner > 1e-6 else None


def salt_text(dose_g_per_kg: float | None) -> str | None:
    """A dose of salt [g/kg]."""
    return None if dose_g_per_kg is None else f"{dose_g_per_kg:g} g/kg"


def sugar_text(level: float) -> str:
    """The word for sugar that is nearest to a level.

    >>> sugar_text(0.5), sugar_text(0.9)
    ('some', 'much')
    """
    return min(SUGAR_LEVELS, key=lambda name: abs(SUGAR_LEVELS[name] - level))


def share_text(share: float | None) -> str | None:
    """A share [-] in percent."""
    return None if share is None else f"{100.0 * share:.6g} %"


def minutes_text(span_s: float | None) -> str | None:
    """A time [s] in minutes."""
    return None if span_s is None else f"{span_s / 60.0:.6g} min"


def _same(ways: Sequence[str], value: float, parse: Callable[[str], float]) -> str | None:
    """The first of these texts that is read as just that value."""
    return next((text for text in ways if parse(text) == value), None)
