"""A cook for the tests of what comes in: racks on a big box, a butt on a night fire."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.ledger import Reading

START = datetime(2026, 10, 10, 18, tzinfo=UTC)  # 13:00 in Chicago
PITS = (PitPlan("big box", "pellet-cooker", 135.0), PitPlan("night fire", "offset-log-burner", 121.0))
RACKS = ItemPlan("racks", "st-louis-ribs", 4, 1.2, "big box", START)
BUTT = ItemPlan("butt", "boston-butt", 1, 3.6, "night fire", START)
COOK = Cook("supper", "America/Chicago", None, 0.0, None, None, PITS, (RACKS, BUTT))
SMALL = Cook("supper", "America/Chicago", None, 0.0, None, None, PITS[:1], (RACKS,))


def after(seconds: float) -> datetime:
    """An instant of the day, from its start."""
    return START + timedelta(seconds=seconds)


def air(seconds: float, value_c: float, rejected: str | None = None) -> Reading:
    """A reading of the big box."""
    return Reading(after(seconds), "pit air", "big box", None, value_c, rejected)


def core(seconds: float, value_c: float, piece: int | None = 1) -> Reading:
    """A reading of a probe in the racks."""
    return Reading(after(seconds), "probe", "racks", piece, value_c)
