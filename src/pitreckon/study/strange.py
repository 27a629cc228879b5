"""What a study's settings make of its item that is far from usual: more often a slip of a unit than meant."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from pitreckon.cook import Cook
from pitreckon.cook.unusual import Unusual, unusual_meat, unusual_occasion, unusual_set
from pitreckon.study.plan import Study
from pitreckon.study.settings import item_of
from pitreckon.text.toml import Path
from pitreckon.units import Scale

MOST_LOOKED_AT: Final = 500
"""Of the ways in which the settings below meet; a study of more is looked at in so many of them."""
MEET: Final = ("cut", "weight", "thickness", "start", "set", "wrap_when", "done_when", "air", "altitude")
"""Settings that can be far from usual, some of them only for what others are."""
SETTING_OF: Final = {"until": "done_when"}


def strange(study: Study, degrees: Scale) -> Iterator[tuple[str | None, str]]:
    """Each thing once, in the order of the settings: the setting that says it (None: the cook does), and its words."""
    told = set()
    for n in _looked_at(study):
        for each in _of(study.cook_of(study.case(n)), study.item, degrees):
            if each.words not in told:
                told.add(each.words)
                key = str(each.path[-1])
                name = next((name for name in (key, SETTING_OF.get(key)) if name in study.varied), None)
                yield name, each.words


def _looked_at(study: Study) -> list[int]:
    """Numbers of settings in which all that can be strange differs."""
    first: dict[tuple[str, ...], int] = {}
    for n in range(study.cases):
        values = dict(study.case(n).values)
        first.setdefault(tuple(values[name].text for name in MEET if name in values), n)
    numbers = list(first.values())
    return numbers[:: -(-len(numbers) // MOST_LOOKED_AT)]


def _of(cook: Cook, label: str, degrees: Scale) -> Iterator[Unusual]:
    item = item_of(cook, label)
    pit = cook.pit(item.pit)
    yield from unusual_occasion(cook.altitude_m, cook.weather_air_c, degrees)
    yield from unusual_set(cook.pits.index(pit), (pit.set_c,), [item.cut], degrees)
    yield from unusual_meat(cook.items.index(item), item, degrees)


def path_of(study: Study, name: str | None) -> Path:
    """Where a setting stands in a study file, the first time; None: the study itself."""
    if name in dict(study.grid):
        return "grid", str(name)
    if name in {each.name for each in study.drawn}:
        return "draws", str(name)
    return ("study",) if name is None else ("together", 0, name)
