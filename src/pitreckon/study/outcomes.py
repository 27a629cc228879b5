"""What can be kept of a simulated piece: times, temperatures and shares, each a column of the results."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.reckon.measures import at_each, fat_lost, level_of_colour
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.summary import ItemRun, core_got_to_least, past_best
from pitreckon.study.plates import right

Kind = Literal["time", "temperature", "weight", "share", "level", "yes"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One of them.

    column: in the results, with its unit; means: for the reference; kind: how it is told
    of: a run's members to their values, (members,), nan: never reached; yes and no are 1 and 0
    """

    name: str
    column: str
    kind: Kind
    means: str
    of: Callable[[ItemRun], Floats]


def _ready(run: ItemRun) -> Floats:
    return np.where(np.isfinite(run.trace.failed_s), np.nan, run.ready_s)


def _at_ready(run: ItemRun, channel: str) -> Floats:
    ready = _ready(run)
    return np.where(np.isnan(ready), np.nan, at_each(run.trace, channel, np.nan_to_num(ready)))


def _on_pit(run: ItemRun) -> Floats:
    last = max(n for n, stage in enumerate(run.stages) if stage.plan.kind in PIT_KINDS)
    return np.asarray(run.ends_s[last])


def _weight(run: ItemRun) -> Floats:
    lost = _at_ready(run, "evaporated") + _at_ready(run, "dripped")
    fat = fat_lost(run.cut, _at_ready(run, "gelatin_mean"), run.draw.fat_render)
    return np.asarray(run.item.mass_kg * (1.0 - lost - fat))


def _hottest(run: ItemRun) -> Floats:
    core = np.where(np.isfinite(run.trace["core_c"]), run.trace["core_c"], -np.inf)
    hottest = core.max(axis=0)
    return np.where(np.isfinite(hottest), hottest, np.nan)


def _on_time(run: ItemRun) -> Floats:
    """Ready by serving and not past its best then; nan: no serving time is said."""
    cook = run.main.track.cook
    serve = cook.served_at(run.item)
    if serve is None:
        return np.full(run.ready_s.size, np.nan)
    serve_s = serve.timestamp() - run.put_on_utc.timestamp()
    ready = _ready(run)
    past = past_best(run, ready)
    return np.asarray((ready <= serve_s) & ~(past < serve_s), dtype=np.float64)


OUTCOMES: Final[dict[str, Outcome]] = {
    each.name: each
    for each in (
        Outcome("ready", "ready_s", "time", "when it can be served: after the last stage before a hold", _ready),
        Outcome("on_pit", "on_pit_s", "time", "when it comes off the pit", _on_pit),
        Outcome(
            "colour_set", "colour_set_s", "time", "when its colour is set", lambda run: run.trace.mark("colour_set")
        ),
        Outcome(
            "tender", "tender_s", "time", "when it is tender, or its core is done where that counts", lambda r: r.done_s
        ),
        Outcome("glaze_set", "glaze_set_s", "time", "when its glaze has set", lambda run: run.trace.mark("glaze_set")),
        Outcome(
            "past_best",
            "past_best_s",
            "time",
            "when it is too soft, too dark or too cool, standing in the warm or a room",
            lambda run: past_best(run, _ready(run)),
        ),
        Outcome("core", "core_c", "temperature", "of its core when it is ready", lambda run: _at_ready(run, "core_c")),
        Outcome("hottest", "hottest_c", "temperature", "the hottest that its core was", _hottest),
        Outcome(
            "loss",
            "loss",
            "share",
            "water lost when it is ready, of the raw weight",
            lambda run: _at_ready(run, "evaporated") + _at_ready(run, "dripped"),
        ),
        Outcome("weight", "cooked_kg", "weight", "of one piece when it is ready", _weight),
        Outcome(
            "colour",
            "colour",
            "level",
            "when it is ready: 0 raw, 1 set, 1.3 too dark",
            lambda run: level_of_colour(_at_ready(run, "colour"), run.draw.members["dark_at"]),
        ),
        Outcome(
            "tenderness",
            "tenderness",
            "level",
            "when it is ready: 1 where a probe slides in",
            lambda run: np.asarray(_at_ready(run, "gelatin_core") / run.draw.members["tender_at"]),
        ),
        Outcome(
            "least_core",
            "least_core",
            "yes",
            "its core got to the official minimum before it was ready",
            lambda run: core_got_to_least(run).astype(np.float64),
        ),
        Outcome(
            "right",
            "right",
            "yes",
            "not too dark, pale, tough, mushy, dry, raw inside or bitter when it is ready, by the marks of a recipe "
            "card against the cut's usual course",
            lambda run: right(run, _ready(run)).astype(np.float64),
        ),
        Outcome("on_time", "on_time", "yes", "ready by the cook's serving time and not past its best then", _on_time),
    )
}
"""By name."""
USUAL_KEEP: Final = ("ready", "colour_set", "tender", "core", "loss", "least_core")
"""What is kept where the study does not say."""
