"""The text of a cook file from what was filled in at a form; :mod:`.cookfile` reads and judges it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence

Filled = Mapping[str, str]


def plan_text(
    cook: Filled,
    pits: Sequence[Filled],
    items: Sequence[Filled],
    stages: Mapping[int, Sequence[Filled]] | None = None,
) -> str:
    """A cook file with these values, as they were typed; what is blank is left out.

    cook, pits, items: values by their keys in a cook file
    stages: of the item of that place; an item without any has its cut's usual course

    >>> print(plan_text({"name": "supper", "zone": "UTC"}, [{"name": "box", "set": "275 F"}], []))
    [cook]
    name = "supper"
    zone = "UTC"
    <BLANKLINE>
    [[pit]]
    name = "box"
    set = "275 F"
    <BLANKLINE>
    """
    parts = [_table("[cook]", cook)]
    parts += [_table("[[pit]]", pit) for pit in pits]
    for place, item in enumerate(items):
        parts.append(_table("[[item]]", item))
        parts += [_table("[[item.stage]]", stage) for stage in (stages or {}).get(place, ())]
    return "\n".join(parts)


def _table(head: str, filled: Filled) -> str:
    return "\n".join([head, *_lines(filled)]) + "\n"


def _lines(filled: Filled) -> Iterator[str]:
    for key, value in filled.items():
        text = value.strip()
        if text:
            yield f"{key} = {_number(text) if key == 'pieces' else _quoted(text)}"


def _number(text: str) -> str:
    """A whole number as TOML has it; anything else stays a text, for the reader to complain of."""
    return str(int(text)) if text.isascii() and text.isdigit() and len(text) < 10 else _quoted(text)


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's escapes are its own; JSON leaves but one character that TOML does not allow."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
