"""When what ends a stage was met in each member, which the run itself cannot leave before the present."""

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Until
from pitreckon.reckon.measures import colour_of_level
from pitreckon.section.members import Members
from pitreckon.section.trace import Trace

OPEN_WITHIN_S = 60.0
"""The run ends a stage on a knot of the pit's air; up to one later than now is now [s]."""


def met_s(
    trace: Trace, members: Members, until: Until, span_s: tuple[Floats, Floats], now_s: float, zero: float
) -> Floats:
    """When the criterion of the running stage was met [s since put-on], nan where it never is; shape (members,).

    span_s: begin and end of the stage in every member; now_s: the present; zero: epoch of put-on [s]
    """
    begin, end = span_s
    if not np.any(end <= now_s + OPEN_WITHIN_S):
        return np.asarray(end)
    match until.ends_by:
        case "minutes":
            return np.asarray(np.minimum(end, begin + (until.duration_s or 0.0)))
        case "clock":
            at = until.at_utc.timestamp() - zero if until.at_utc else np.inf
            return np.asarray(np.minimum(end, np.maximum(begin, at)))
        case "colour":
            name, level = "colour", np.array([colour_of_level(until.level, d) for d in members["dark_at"]])
        case "tender":
            name, level = "gelatin_core", members["tender_at"] * min(until.level, 1.2)
        case "core":
            name, level = "core_c", np.minimum(until.core_c or 0.0, members["boil_c"] - 1.0)
        case _:
            name, level = "glaze_ratio", members["glaze_set_at"]
    rows = slice(0, int(np.searchsorted(trace.time_s, now_s, side="right")) + 1)
    sign = -1.0 if name == "glaze_ratio" else 1.0
    short = sign * (level[None, :] - trace[name][rows])  # above 0: not there yet
    times = trace.time_s[rows]
    there = (short <= 0.0) & (times[:, None] >= begin[None, :])
    row, column = np.argmax(there, axis=0), np.arange(end.size)
    before = np.maximum(row - 1, 0)
    gap = np.maximum(short[before, column] - short[row, column], 1e-12)
    part = np.clip(np.nan_to_num(short[before, column] / gap), 0.0, 1.0)
    met = times[before] + part * (times[row] - times[before])
    return np.asarray(np.where(there.any(axis=0), np.minimum(np.maximum(met, begin), end), end))
