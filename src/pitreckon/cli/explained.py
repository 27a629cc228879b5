"""What ``pitreckon explain`` says as JSON: the numbers behind the pictures."""

from __future__ import annotations

from math import isfinite
from typing import Any, Final

from pitreckon.lessons.explain.lines import done_and_seen
from pitreckon.lessons.explain.otherwise import Otherwise
from pitreckon.lessons.explain.story import Band, Story
from pitreckon.lessons.lasttime.spread import Spread
from pitreckon.sheets.documents.story import SIMULATED

EVERY: Final = 6
"""So many points of a curve are one of the object's."""


def document_of(story: Story) -> dict[str, Any]:
    """As JSON: minutes, degrees C and shares; null where it is not known."""
    done = story.done
    bands = {
        "air_c": story.air_c,
        "core_c": story.core_c,
        "surface_c": story.surface_c,
        "water_lost": story.lost,
        "surface_activity": story.damp,
        "colour_level": story.colour,
        "collagen_turned": story.turned,
    }
    return {
        "cook": done.cook.name,
        "item": done.item.label,
        "cut": done.item.cut,
        "piece": story.piece,
        "put_on": done.put_on_utc.isoformat(),
        "on_the_pit_min": round(story.off_s / 60.0, 1),
        "end_min": round(story.end_s / 60.0, 1),
        "stages": [
            {"do": each.kind, "wrap": each.wrap, "from_min": _min(each.from_s), "until_min": _min(each.until_s)}
            for each in story.stretches
        ],
        "events": [
            {"min": _min(at), "what": str(what), "value": str(value)} for at, what, value in done_and_seen(story)
        ],
        "minutes": [_min(float(at)) for at in story.time_s[::EVERY]],
        "curves": {name: _band(band) for name, band in bands.items()},
        "moments": [
            {
                "name": str(each.moment.name),
                "min": _min(each.moment.at_s),
                "core_c": _spread(story.core_c.at(story.row(each.moment.at_s))),
                "surface_c": _spread(story.surface_c.at(story.row(each.moment.at_s))),
                "water_lost": _spread(story.lost.at(story.row(each.moment.at_s))),
                "collagen_turned": _spread(story.turned.at(story.row(each.moment.at_s))),
                "coldest_c": _number(float(each.temp_c.min())),
                "hottest_c": _number(float(each.temp_c.max())),
            }
            for each in story.insides
        ],
        "otherwise": [_way(each) for each in story.otherwise],
        "caution": SIMULATED,
    }


def _min(seconds: float) -> float:
    return round(seconds / 60.0, 1)


def _number(value: float) -> float | None:
    return round(value, 3) if isfinite(value) else None


def _spread(spread: Spread) -> dict[str, float | None]:
    return {"p05": _number(spread.low), "p50": _number(spread.mid), "p95": _number(spread.high)}


def _band(band: Band) -> dict[str, list[float | None]]:
    named = (("p05", band.low), ("p50", band.mid), ("p95", band.high))
    return {name: [_number(float(value)) for value in line[::EVERY]] for name, line in named}


def _way(way: Otherwise) -> dict[str, Any]:
    return {
        "key": way.key,
        "what": str(way.words),
        "minutes": _spread(way.minutes),
        "water_lost": _spread(way.loss),
        "colour_level": _spread(way.colour),
    }
