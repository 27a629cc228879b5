"""What a new cook takes from an old one that its form does not ask: each meat's course, and how its pits are fed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from pitreckon.forms.toml_write import Table

OF_ITEM: Final = ("thinner", "sugar", "salt")
OF_PIT: Final = ("water_pan", "feed_every", "feed", "water_every", "ash_every")
A_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")


def as_before(tables: Table, old: Table) -> Table:
    """The tables of a cook file with what an old one has beside; nothing that is of its day.

    A meat takes the course of the first of its cut that no other has taken; a pit is the one of its name and kind.
    """
    left = list(old.get("item", []))
    items = []
    for item in tables.get("item", []):
        same = next((each for each in left if each.get("cut") == item.get("cut")), None)
        if same is None:
            items.append(item)
            continue
        left.remove(same)
        stages = course_of(same, serves="serve" in tables.get("cook", {}))
        kept = {key: same[key] for key in OF_ITEM if key in same}
        items.append({**item, **kept, **({"stage": stages} if stages else {})})
    pits = []
    for pit in tables.get("pit", []):
        names = [each for each in old.get("pit", []) if each.get("kind") == pit.get("kind")]
        before = next((each for each in names if each.get("name") == pit.get("name")), {"name": ""})
        pits.append({**pit, **{key: before[key] for key in OF_PIT if key in before}})
    return {**tables, "pit": pits, "item": items}


def course_of(item: Table, *, serves: bool) -> Sequence[Table]:
    """An item's stages as another day may have them; none where one ends on a day of its own.

    serves: it is said when it is served, so that a stage may go on until then
    """
    stages: list[dict[str, Any]] = [
        {key: value for key, value in stage.items() if key != "about"} for stage in item.get("stage", [])
    ]
    if any(A_DAY.match(str(stage.get("until", ""))) for stage in stages):
        return []
    return [stage for stage in stages if serves or stage.get("until") != "serve"]
