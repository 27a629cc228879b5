"""A study as one flat list of texts: what a folder remembers of it, and by what two studies are told apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any, Final

import pitreckon
from pitreckon import catalog
from pitreckon.study.chunk import program
from pitreckon.study.plan import Study

FORM: Final = 1
"""Of the files of a study's folder; it goes up when a column goes, or means something else."""


def asked_of(study: Study) -> dict[str, Any]:
    """Every setting and its value as text, in a fixed order; the program and the catalog's own entries with it."""
    asked: dict[str, Any] = {"form": FORM, "pitreckon": pitreckon.__version__, "program": program()}
    asked |= {"name": study.name, "item": study.item, "members": study.members, "seed": study.seed}
    asked |= {"same_members": study.same_members, "keep": list(study.keep)}
    for name, values in study.grid:
        asked[f"grid.{name}"] = [value.text for value in values]
    for n, row in enumerate(study.together, 1):
        asked |= {f"together {n}.{name}": value.text for name, value in row}
    if study.draws:
        asked["draws.count"] = study.draws
    for each in study.drawn:
        between = [end.text for end in (each.low, each.high) if end is not None]
        asked[f"draws.{each.name}"] = [value.text for value in each.choices] or " to ".join(between)
    asked |= dict(flat(study.habits, "habits"))
    asked |= dict(flat(study.cook, "cook"))
    return asked | _catalog(study)


def flat(value: Any, path: str) -> Iterator[tuple[str, str]]:
    """A record's numbers and words as texts, each by its path: ``cook.items.1.mass_kg``."""
    if is_dataclass(value) and not isinstance(value, type):
        for each in fields(value):
            yield from flat(getattr(value, each.name), f"{path}.{each.name}")
    elif isinstance(value, tuple):
        for n, each in enumerate(value, 1):
            yield from flat(each, f"{path}.{n}")
    elif value is not None:
        yield path, str(value)


def _catalog(study: Study) -> dict[str, str]:
    """What the catalog says of each cut, pit and wrap that it names: somebody may have files of their own."""
    import hashlib  # noqa: PLC0415

    item = study.cook.item(study.item)
    named = {"cut": {item.cut}, "pit": {study.cook.pit(item.pit).kind}, "wrap": {s.wrap for s in item.stages if s.wrap}}
    for name, value in study.every_value():
        if name in named:
            named[name].add(value.meant)
    known: dict[str, Any] = {"cut": catalog.cuts(), "pit": catalog.pits(), "wrap": catalog.wraps()}
    found = {}
    for what, keys in named.items():
        for key in sorted(keys):
            if key in known[what]:
                found[f"catalog.{what}.{key}"] = hashlib.sha256(repr(known[what][key]).encode()).hexdigest()[:16]
    return found
