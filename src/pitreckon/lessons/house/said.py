"""What a person says of a pit, or a thermometer, outright, as a lesson of its own: later cooks may contradict it."""

from __future__ import annotations

from datetime import datetime
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.reckon.hands import THERMOMETER, HandTold
from pitreckon.reckon.learned import Lesson, ThermometerSaid
from pitreckon.reckon.levels import ROW, UNKNOWNS

THERMOMETER_KIND, READS, ANOTHER = "thermometer", "reads", "another"
"""In place of a pit's kind and of what of it, where a thermometer was spoken of; its owner's name is its label."""
NINE_IN_TEN: Final = 1.645
"""Standard errors on each side that hold a normal number nine times in ten."""
OFFSET: Final = "offset"
SAME: Final = "same"
"""What can be said of a pit: how far its grate is off its gauge, and that it is the same pit up to a day, whatever its
cooks seem to tell."""
SAID: Final = "said "
"""Stands before the key of what was said where a lesson names its cook."""


def said_offset(key: str, pit: str, kind: str, over_k: float, give_k: float, by: str, at: datetime) -> Lesson:
    """That the grate of a pit runs so much over its gauge.

    key: of what was said, its own; kind: catalog key; over_k: below 0: under it [K]; give_k: by how much that may be
        wrong, nine times in ten [K]; by: who says so; at: from when it is so

    Raises InputError: the catalog has no such kind
    """
    slope = np.zeros((1, len(UNKNOWNS)))
    slope[0, ROW["offset"]] = 1.0
    return Lesson(
        cook=f"{SAID}{key}",
        item="",
        piece=None,
        at_utc=at,
        cut="",
        pit=pit,
        kind=kind,
        wrap=None,
        measured=False,
        many=False,
        seen=1,
        slope=slope,
        value=np.array([over_k - catalog.pit(kind).air.offset_k.value]),
        sd=np.array([give_k / NINE_IN_TEN]),
        hand=by,
    )


def said_thermometer(key: str, whose: str, over_k: float, give_k: float, at: datetime) -> ThermometerSaid:
    """That the thermometer of somebody reads so much over the truth.

    key: of what was said, its own; over_k: below 0: under it [K]; give_k: by how much that may be wrong, nine times in
        ten [K]; at: from when it is so
    """
    return ThermometerSaid(key, whose, at, HandTold(whose, THERMOMETER, over_k, give_k / NINE_IN_TEN))


def another_thermometer(key: str, whose: str, at: datetime) -> ThermometerSaid:
    """That it is another one from then on: what was known of the old one counts no more."""
    return ThermometerSaid(key, whose, at)
