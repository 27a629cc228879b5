"""Tables as TOML, for every cook file that is written; what is written here is for :mod:`.tomlplaces` to read."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence

Value = str | int | float | bool | Sequence[str] | None
Table = tuple[str, Mapping[str, Value]]
"""A heading with its brackets, and what stands below it."""


def tables_text(tables: Iterable[Table]) -> str:
    """A TOML document of these tables; what is None is left out.

    >>> print(tables_text([("[cook]", {"name": "supper"}), ("[hands]", {"cooks": 2, "away": None})]))
    [cook]
    name = "supper"
    <BLANKLINE>
    [hands]
    cooks = 2
    <BLANKLINE>
    """
    return "\n".join("\n".join([head, *_lines(values)]) + "\n" for head, values in tables)


def whole_number(text: str) -> int | str:
    """A whole number as TOML has it; anything else stays a text, for the reader to complain of.

    >>> whole_number("12"), whole_number("-3"), whole_number("a dozen")
    (12, -3, 'a dozen')
    """
    digits = text.removeprefix("-")
    return int(text) if digits.isascii() and digits.isdigit() and len(digits) < 10 else text


def _lines(values: Mapping[str, Value]) -> Iterator[str]:
    for key, value in values.items():
        if value is None:
            continue
        if isinstance(value, str):
            yield f"{key} = {_quoted(value)}"
        elif isinstance(value, bool):
            yield f"{key} = {'true' if value else 'false'}"
        elif isinstance(value, int | float):
            yield f"{key} = {value!r}"
        else:
            yield f"{key} = [{', '.join(_quoted(each) for each in value)}]"


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's escapes are its own; JSON leaves but one character that TOML does not allow."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
