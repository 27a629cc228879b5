"""Checks that every record makes on itself, so that a file, a form and a program meet the same ones."""

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Final

from pitreckon.errors import InputError, Place
from pitreckon.units import format_mass, shown
from pitreckon.units._text import plain

LONGEST_NAME: Final = 60


def number(value: float) -> str:
    """A number as a message has it, and as it can be typed: never ``1e-06``."""
    short = f"{value:g}"
    return plain(value) if "e" in short else short


def kilograms(mass_kg: float) -> str:
    """A weight as a message has it; below a gram in parts of it."""
    return f"{number(1000.0 * mass_kg)} g" if 0.0 < mass_kg < 1e-3 else format_mass(mass_kg, "kg")


def price(per_kg: float) -> str:
    """A price by weight as a message has it, whatever the currency."""
    return f"{number(per_kg)} per kg"


def millimetres(length_m: float) -> str:
    """A length as a message has it."""
    return f"{length_m * 1000:g} mm"


def fault(field: str, trouble: str, remedy: str, entry: tuple[str, int] | None = None) -> InputError:
    """An InputError about one field of a record, or of one of several inside it: ``("item", 2)``, the third item."""
    return InputError(trouble, remedy, Place(field=field, entry=entry))


def within(field: str, value: float | None, low: float, high: float, write: Callable[[float], str] = number) -> None:
    """Raise unless ``low <= value <= high`` (NaN never is) or it is None.

    write: a value as a cook reads it; both ends are told by it, and what it tells of them has to lie between them
    """
    if value is not None and not low <= value <= high and not any(math.isclose(value, end) for end in (low, high)):
        is_now = write(value) if math.isfinite(value) else str(value)
        raise fault(field, f"{field} is {is_now}", f"It lies between {write(low)} and {write(high)}")


def one_of(field: str, value: str, allowed: tuple[str, ...]) -> None:
    """Raise unless the value is one of the allowed words."""
    if value not in allowed:
        raise fault(field, f"'{value}' is no {field}", f"Write one of: {', '.join(allowed)}")


def is_utc(field: str, value: datetime) -> None:
    """Raise unless the instant is in UTC."""
    if value.utcoffset() != timedelta(0):
        raise fault(field, f"{field} is {value.isoformat()}, which is not in UTC", "Convert it to UTC first")


def is_label(field: str, value: str) -> None:
    """Raise unless the name can stand in a column and on a label."""
    if not value or value != value.strip() or not value.isprintable() or len(value) > LONGEST_NAME:
        raise fault(
            field, "the name is blank, too long or not plain text", f"Write 1 to {LONGEST_NAME} signs on one line"
        )


def no_twins(kind: str, labels: Sequence[str]) -> None:
    """Raise unless each label stands once, however it is spelt in capitals."""
    seen: dict[str, int] = {}
    for n, label in enumerate(labels):
        twin = seen.setdefault(label.casefold(), n)
        if twin != n:
            trouble = f"{shown(label)} is also the name of {kind} {twin + 1}"
            raise fault("name", trouble, "Give each its own name", (kind, n))
