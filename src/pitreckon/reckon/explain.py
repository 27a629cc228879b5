"""Why an outlook moved: the new entries of the ledger, let in one kind after the other.

The forecast is reckoned again with the same seed, first with the new acts (and the time that has passed), then
with the new pit readings, then with the new looks and probes; what each step moves is its share of the change.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from pitreckon.cook import Cook
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckon
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.outlook import Outlook
from pitreckon.text.said import clock_time, difference, joined, said, temperature
from pitreckon.units import format_difference, round_half_up

WORTH_SAYING_S = 180.0
"""Moves of less than this are not worth a line [s]: common practice, no source."""

WORTH_SAYING_K = 3.0
"""A readout found to be off by this much more or less is worth naming [K]: common practice, no source."""

Scale = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Change:
    """One item's forecast moved.

    moved_s: of the median of ready since the outlook before, later is positive [s]; nan where it has none
    causes: what moved it, the largest first, in plain words
    """

    label: str
    moved_s: float
    causes: tuple[str, ...]

    @property
    def line(self) -> str:
        """All of it in one plain line."""
        if not math.isfinite(self.moved_s) or abs(self.moved_s) < WORTH_SAYING_S:
            return said("{item}: ready as before", item=self.label)
        minutes = f"{round_half_up(abs(self.moved_s) / 60.0):.0f}"
        behind, ahead = "{item}: about {n} min behind of what was said", "{item}: about {n} min ahead of what was said"
        return joined("; ", [said(behind if self.moved_s > 0 else ahead, item=self.label, n=minutes), *self.causes])


def explain(
    cook: Cook,
    before: Ledger,
    before_at: datetime,
    after: Ledger,
    now: datetime,
    *,
    members: int = 128,
    seed: int = 1,
    celsius: bool = False,
    baseline: Outlook | None = None,
    lessons: Lessons | None = None,
) -> tuple[tuple[Change, ...], Outlook]:
    """What moved each item's ready time between two moments, and why.

    cook: the plan
    before, before_at: ledger and moment of the earlier outlook
    after, now: ledger and moment of the later one
    members: size of the ensembles compared; the same seed on both sides makes a small one enough
    celsius: words with degrees C instead of F
    baseline: the outlook that the last call returned, if it was for ``before`` with the same members and seed
    lessons: what earlier cooks of the house told

    Returns: one change an item, and the small outlook at ``now`` that they lead to.
    """
    old, new = set(before.until(before_at).events), after.until(now).events
    fresh = [event for event in new if event not in old]
    pit = [e for e in fresh if isinstance(e, Reading) and e.channel == "pit air"]
    acts = [e for e in fresh if isinstance(e, Act)]
    seen = [e for e in fresh if isinstance(e, Look) or (isinstance(e, Reading) and e.channel == "probe")]
    base = list(before.until(before_at).events)
    again = partial(reckon, cook, members=members, seed=seed, lessons=lessons)
    steps = [
        baseline or again(Ledger.of(base), now=before_at),
        again(Ledger.of([*base, *acts]), now=now),
        again(Ledger.of([*base, *acts, *pit]), now=now),
        again(Ledger.of([*base, *acts, *pit, *seen]), now=now),
    ]
    changes = []
    for item in cook.items:
        at = [_ready(step, item.label) for step in steps]
        seen_words = _look_words(cook, item.label, seen, now, celsius)
        seen_words = joined("", [seen_words, _grate_words(steps, item.label, celsius)]) if seen_words else ""
        shares = [
            (at[1] - at[0], _act_words(cook, item.label, item.pit, acts, now)),
            (at[2] - at[1], _pit_words(cook, item.pit, pit, now, celsius)),
            (at[3] - at[2], seen_words),
        ]
        worth = [(s, w) for s, w in shares if w and math.isfinite(s) and abs(s) >= WORTH_SAYING_S]
        worth.sort(key=lambda pair: -abs(pair[0]))
        causes = tuple(joined(": ", (words, _minutes(s))) for s, words in worth)
        changes.append(Change(item.label, at[3] - at[0], causes))
    return tuple(changes), steps[-1]


def _ready(outlook: Outlook, label: str) -> float:
    item = outlook.item(label)
    return item.put_on_utc.timestamp() + item.marks["ready"].p50


def _minutes(seconds: float) -> str:
    minutes = round(abs(seconds) / 60.0)
    return said("{n} min later" if seconds > 0 else "{n} min earlier", n=minutes)


def _pit_words(cook: Cook, pit: str, readings: Sequence[Reading], now: datetime, celsius: bool) -> str:
    mine = [r for r in readings if r.on == pit and r.rejected is None]
    if not mine:
        return ""
    mean = sum(r.value_c for r in mine) / len(mine)
    miss = mean - cook.pit(pit).set_c
    since = clock_time(mine[0].at_utc, cook.zone_info, now)
    if abs(miss) < 1.0:
        set_c = cook.pit(pit).set_c
        held = temperature(set_c, scale="C" if celsius else "F")
        return said("the pit held its {set} since {at}", set=held, at=since)
    message = PIT_OVER if miss > 0 else PIT_UNDER
    return said(message, size=_size(miss, celsius=celsius), at=since)


PIT_OVER = "the pit ran {size} over its setting since {at}"
PIT_UNDER = "the pit ran {size} under its setting since {at}"
GRATE_OVER = ", which speaks for a grate {size} over the readout"
GRATE_UNDER = ", which speaks for a grate {size} under the readout"


def _size(size_k: float, *, celsius: bool) -> str:
    return difference(abs(size_k), format_difference(abs(size_k), "C" if celsius else "F").lstrip("+"))


def _grate_words(steps: Sequence[Outlook], label: str, celsius: bool) -> str:
    """What the last step's looks say of the pit's readout, if they say much."""
    was, now = (step.item(label).grate_k.p50 for step in steps[-2:])
    if not math.isfinite(now) or abs(now - was) < WORTH_SAYING_K:
        return ""
    return said(GRATE_OVER if now > 0 else GRATE_UNDER, size=_size(now, celsius=celsius))


def _act_words(cook: Cook, label: str, pit: str, acts: Sequence[Act], now: datetime) -> str:
    mine = [a for a in acts if a.on in {label, pit}]
    zone = cook.zone_info
    if not mine:
        return said("it was left as it was")
    return joined(
        ", ",
        (said("{what} at {at}", what=said(a.act), at=clock_time(a.at_utc, zone, now)) for a in mine[-3:]),
    )


def _look_words(cook: Cook, label: str, seen: Sequence[Look | Reading], now: datetime, celsius: bool) -> str:
    mine = [s for s in seen if s.on == label and s.rejected is None]
    words = []
    for entry in [s for s in mine if isinstance(s, Look)][-2:]:
        at = clock_time(entry.at_utc, cook.zone_info, now)
        cause = LOOK_KINDS[entry.kind].as_cause(entry.value, "C" if celsius else "F")
        words.append(said("{what} at {at}", what=cause, at=at))
    if not words and mine:
        words.append(said("the probe's readings"))
    return joined(", ", words) if words else ""
