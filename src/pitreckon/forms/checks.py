"""Checks that every record makes on itself, so that a file, a form and a program meet the same ones."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from pitreckon.errors import InputError, Place


def fault(field: str, trouble: str, remedy: str) -> InputError:
    """An InputError about one field of a record."""
    return InputError(trouble, remedy, Place(field=field))


def within(field: str, value: float, low: float, high: float, write: Callable[[float], str]) -> None:
    """Raise unless ``low <= value <= high`` (NaN never is). ``write`` puts a value as a cook reads it."""
    if not low <= value <= high:
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
    if not value or value != value.strip() or not value.isprintable() or len(value) > 60:
        raise fault(field, "the name is blank, too long or not plain text", "Write a short name on one line")


def no_twins(kind: str, labels: Sequence[str]) -> None:
    """Raise unless each label stands once, however it is spelt in capitals."""
    seen: set[str] = set()
    for label in labels:
        if label.casefold() in seen:
            raise fault("name", f"two {kind}s are named '{label}'", f"Give each {kind} a name of its own")
        seen.add(label.casefold())
