"""What temperatures the air in a pit and meat can have at all."""

import math

from pitreckon.cook.looks import BATHS
from pitreckon.ledger.events import MEAT_RANGE_C, PIT_AIR_RANGE_C
from pitreckon.units import format_temperature


def range_fault(channel: str, value_c: float) -> str | None:
    """Why a temperature [°C] cannot be of its channel, if it cannot: ``pit air``, ``check``, or else meat."""
    if channel == "check":
        if any(low <= value_c <= high for low, high in BATHS.values()):
            return None
        is_now = format_temperature(value_c) if math.isfinite(value_c) else "no number"
        return f"{is_now} is what no thermometer reads in ice water or in boiling water"
    low_c, high_c = PIT_AIR_RANGE_C if channel == "pit air" else MEAT_RANGE_C
    if low_c <= value_c <= high_c:
        return None
    what = "the air in a pit" if channel == "pit air" else "meat"
    ends = f"{format_temperature(low_c)} to {format_temperature(high_c)}"
    is_now = format_temperature(value_c) if math.isfinite(value_c) else "no number"
    return f"{is_now} is outside what {what} can have ({ends})"
