"""Tables as TOML, for every file that is written; what is written here is for :mod:`pitreckon.text.toml` to read."""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

Value = str | int | float | bool | Sequence[str] | None
Table = Mapping[str, Any]
"""Each key's value, table or list of tables."""


def toml_text(tables: Table, path: str = "") -> str:
    """A TOML document of these tables; what is None is left out.

    path: of what they stand in

    >>> print(toml_text({"cook": {"name": "supper"}, "hands": {"cooks": 2, "away": [{"kind": "asleep", "at": None}]}}))
    [cook]
    name = "supper"
    <BLANKLINE>
    [hands]
    cooks = 2
    <BLANKLINE>
    [[hands.away]]
    kind = "asleep"
    <BLANKLINE>
    """
    return "\n".join(_tables(tables, path))


def typed(filled: Mapping[str, str], *whole: str) -> dict[str, Value]:
    """What was filled in at a form, as a file has it: blanks left out, and whole numbers under the keys ``whole``.

    >>> typed({"name": " racks ", "weight": "", "pieces": "12", "adults": "a dozen"}, "pieces", "adults")
    {'name': 'racks', 'pieces': 12, 'adults': 'a dozen'}
    """
    stripped = {key: text.strip() for key, text in filled.items()}
    return {key: _number(text) if key in whole else text for key, text in stripped.items() if text}


def _number(text: str) -> int | str:
    """A whole number as TOML has it; anything else stays a text, for the reader to complain of."""
    digits = text.removeprefix("-")
    return int(text) if digits.isascii() and digits.isdigit() and len(digits) < 10 else text


def _tables(tables: Table, path: str) -> Iterator[str]:
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield from _table(f"[{path}{key}]", value, f"{path}{key}.")
        elif _is_tables(value):
            for each in value:
                yield from _table(f"[[{path}{key}]]", each, f"{path}{key}.")


def _table(head: str, table: Table, path: str) -> Iterator[str]:
    lines, inside = list(_lines(table)), list(_tables(table, path))
    if lines or not inside:
        yield "\n".join([head, *lines]) + "\n"
    yield from inside


def _is_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and all(isinstance(each, Mapping) for each in value)


def _lines(table: Table) -> Iterator[str]:
    for key, value in table.items():
        if value is None or isinstance(value, Mapping) or _is_tables(value):
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
