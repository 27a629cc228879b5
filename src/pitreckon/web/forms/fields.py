"""What forms of a cook have in common: their texts as a cook file has them, their rows, and what stays empty."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final

from starlette.datastructures import FormData

from pitreckon.errors import InputError

MOST_ROWS: Final = 40


def clean(value: Any) -> str:
    """A text of a form; what a browser's own date field sends becomes what a cook file has.

    >>> clean(" 2026-10-17T18:00 "), clean(None)
    ('2026-10-17 18:00', '')
    """
    text = value.strip() if isinstance(value, str) else ""
    return text.replace("T", " ") if len(text) == 16 and text[4:5] == "-" and text[10:11] == "T" else text


def rows_of(form: FormData, of: str, keys: Sequence[str]) -> list[dict[str, str]]:
    """The rows of a form whose fields are named ``of_key``, each by its keys; a field that is not there is empty."""
    columns = {key: form.getlist(f"{of}_{key}")[:MOST_ROWS] for key in keys}
    count = max((len(column) for column in columns.values()), default=0)
    return [{key: clean(column[n]) if n < len(column) else "" for key, column in columns.items()} for n in range(count)]


def with_unit(text: str, sign: str) -> str:
    """A bare number with the unit that the form shows beside its field; anything else as it is.

    >>> with_unit("275", "F"), with_unit("2 lb 10 oz", "kg")
    ('275 F', '2 lb 10 oz')
    """
    return f"{text} {sign}" if text.replace(".", "", 1).isdigit() else text


def price_with_unit(text: str, unit: str) -> str:
    """A bare price, with or without its sign, for the weight that the form shows beside its field.

    >>> price_with_unit("$4.99", "/ lb"), price_with_unit("4.50 per 500 g", "/ lb")
    ('$4.99 / lb', '4.50 per 500 g')
    """
    return f"{text} {unit}" if re.fullmatch(r"[$€£]?\s*[0-9.]+\s*[$€£]?", text) else text


_PLACES: Final = re.compile(r"(?:(?P<of>[a-z]+)(?: (?P<n>\d+))?: )?(?P<key>[a-z_]+)")


def field_at(fault: InputError | None, names: Mapping[str, str]) -> tuple[str, int] | None:
    """The field of a form that a fault is about, and in which row; None: it is about none that is known.

    names: what stands before the key in a field's name, by the table of the cook file
    """
    found = None if fault is None else _PLACES.match(fault.place.field or "")
    if found is None:
        return None
    return names.get(found["of"] or "cook", "") + found["key"], int(found["n"] or 1) - 1


def free_name(name: str, taken: set[str]) -> str:
    """The name, with a number when another has it already; it is taken then.

    >>> taken = set()
    >>> free_name("racks", taken), free_name("Racks", taken)
    ('racks', 'Racks 2')
    """
    free, n = name, 2
    while free.casefold() in taken:
        free, n = f"{name} {n}", n + 1
    taken.add(free.casefold())
    return free


def padded(rows: Sequence[Any], least: int) -> list[Any]:
    """Rows, with empty ones up to as many as a form shows."""
    return [*rows, *({} for _ in range(max(least - len(rows), 0)))]
