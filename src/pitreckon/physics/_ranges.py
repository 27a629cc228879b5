"""The one guard that every law uses: outside its range a law refuses, it never clamps."""

from pitreckon.errors import RangeError


def within(name: str, value: float, low: float, high: float, unit: str = "") -> None:
    """Raise RangeError unless ``low <= value <= high`` (a NaN is never inside)."""
    if not low <= value <= high:
        tail = f" {unit}" if unit else ""
        raise RangeError(f"{name} = {value:.6g}{tail} is outside the range {low:.6g} to {high:.6g}{tail}")


def above_zero(name: str, value: float, high: float, unit: str = "") -> None:
    """Raise RangeError unless ``0 < value <= high``."""
    if not 0.0 < value <= high:
        tail = f" {unit}" if unit else ""
        raise RangeError(f"{name} = {value:.6g}{tail} is outside the range above 0 to {high:.6g}{tail}")
