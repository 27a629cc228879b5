"""Why a day cannot be done, in plain words, and the smallest changes that would make it possible.

Both are found by asking again: the reasons by leaving one limit out at a time, the changes by trying each kind of
change in growing steps on the same scenarios.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.cpsat import FAMILIES, pick
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.relax import (
    CHANCES,
    EARLIER_H,
    LATER_H,
    SIZE_CHANCE,
    SIZE_EARLIER_H,
    SIZE_LATER_H,
    Ladder,
    accept_words,
    earlier,
    hours_words,
    ladders_of,
    later,
)
from pitreckon.plan.schedule.scenarios import Case, cases_of, options_of
from pitreckon.plan.schedule.schedule import Change, Schedule
from pitreckon.plan.schedule.slots import Slot, best_chance, slots_of
from pitreckon.plan.schedule.solve import needed
from pitreckon.plan.schedule.tables import Day, Option, Task
from pitreckon.plan.space.sharing import against_words
from pitreckon.plan.wishes import PitWish, Wishes
from pitreckon.units import format_clock, format_duration, format_percent, instant_after

LIMIT_S = 1.5
MOST_TRIALS = 48
"""Days that are tried for changes; past it what was found is what there is."""
CHANGES = 3
_FAMILY_WORDS = {
    "hands": "there are too few hands: acts on different items fall together",
    "room": "the pits have too little room for all that has to be on at one time",
    "warm place": "the warm place takes too few pieces for what has to wait in it",
    "temperature": "the items want different temperatures of one pit, which has one for the whole occasion",
}


@dataclass
class Trial:
    """What is needed to try a changed day. cache: options that were run already; until_s: by ``time.perf_counter``."""

    members: int
    seed: int
    workers: int
    cache: dict[Case, Option] = field(default_factory=dict)
    count: int = 0
    until_s: float = math.inf

    def day(self, wishes: Wishes, amounts: Sequence[Amount]) -> Day:
        """The changed day, on the same scenarios."""
        cases = cases_of(wishes, amounts)
        return day_of(wishes, amounts, options_of(wishes, cases, self.members, self.seed, cache=self.cache))

    def possible(self, day: Day, without: Sequence[str] = ()) -> bool:
        """Is there a day at all? What is not found in time is taken not to be."""
        if time.perf_counter() > self.until_s:
            return False
        self.count += 1
        need = needed(day)
        slots = likely(day, need)
        if slots is None:
            return False
        picked, _ = pick(
            *(day, slots, need, need),
            limit_s=LIMIT_S,
            workers=self.workers,
            seed=self.seed,
            without=without,
            aims=("chance",),
        )
        return picked is not None


def likely(day: Day, need: int) -> list[Slot] | None:
    """Slots that may be in a day that keeps the chance; None where an item has none."""
    if any(best_chance(day, i) * day.members < need - 0.5 for i in range(len(day.tasks))):
        return None
    return [slot for i in range(len(day.tasks)) for slot in slots_of(day, i, least=need)]


def reasons(wishes: Wishes, day: Day, trial: Trial) -> tuple[str, ...]:
    """What stands in the way, the items by themselves first."""
    need = needed(day)
    alone = [_alone(wishes, day, i) for i in range(len(day.tasks)) if not _reaches(day, i, need)]
    if alone:
        return tuple(alone)
    out = [_family_words(wishes, family) for family in FAMILIES if trial.possible(day, (family,))]
    if not out and trial.possible(day, FAMILIES):
        out = ["hands, room, the warm place and one temperature for each pit stand in the way together"]
    if not out:
        out = [
            (
                f"each item by itself can be on time in {format_percent(day.chance)} of the scenarios; all "
                f"{len(day.tasks)} together in so many cannot, because they are not late in the same ones"
            )
        ]
    return tuple(out)


def _family_words(wishes: Wishes, family: str) -> str:
    """What stands in the way; of temperatures also whose."""
    words = _FAMILY_WORDS[family]
    if family != "temperature":
        return words
    against: list[str] = []
    for pit in wishes.pits:
        here = [item for item in wishes.items if pit in _pits(wishes, item.label)]
        against += against_words(pit, here) if len(here) > 1 else ()
    return f"{words}: {'; '.join(against)}" if against else words


def _pits(wishes: Wishes, label: str) -> list[PitWish]:
    """The pits that an item may go on."""
    own = next(item.pits for item in wishes.items if item.label == label)
    return [pit for pit in wishes.pits if not own or pit.label in own]


def _reaches(day: Day, index: int, need: int) -> bool:
    return best_chance(day, index) * day.members >= need - 0.5


def _alone(wishes: Wishes, day: Day, index: int) -> str:
    """Why an item cannot be on time, whatever the others do."""
    task = day.tasks[index]
    best = best_chance(day, index)
    asked = format_percent(day.chance)
    head = f"{task.label}: on time in {format_percent(best)} of the scenarios at best, {asked} is asked"
    if not np.isfinite(_quickest(task)):
        against = [words for pit in _pits(wishes, task.label) for words in against_words(pit, [wishes.items[index]])]
        more = f" ({'; '.join(against)})" if against else ""
        return f"{task.label}: it does not get done on these pits at these temperatures{more}"

    free = replace(task, most_hold_s=48 * 3600.0)
    freed = replace(day, tasks=tuple(free if i == index else t for i, t in enumerate(day.tasks)))
    fresh = replace(
        task, options=tuple(replace(option, past_s=np.full(option.members, np.inf)) for option in task.options)
    )
    lasting = replace(day, tasks=tuple(fresh if i == index else t for i, t in enumerate(day.tasks)))
    at = format_clock(
        instant_after(wishes.serve_utc, max(day.earliest_s, -7 * 86400.0)), wishes.zone_info, seen_from=wishes.serve_utc
    )
    limits = [
        (
            best_chance(freed, index),
            f"a wider spread than its longest hold of {format_duration(task.most_hold_s)} can take up",
        ),
        (best_chance(lasting, index), "in many of them it is past its best before it is served"),
    ]
    if day.away:
        limits.append(
            (best_chance(replace(day, away=()), index), "it often has to be seen to while nobody is at the pit")
        )
    if task.put_on_s is not None:
        limits.append((best_chance(_open(day, index), index), "its put-on is set"))
    elif np.isfinite(day.earliest_s):
        limits.append((best_chance(replace(day, earliest_s=-np.inf), index), f"nothing is done before {at}"))
    most, words = max(limits, key=lambda limit: limit[0])
    if most <= best + 0.01:
        words = "no one limit alone is to blame: its spread, its longest hold and the clock are"
    return f"{head}; {_spread_words(task)}; {words}"


def _open(day: Day, index: int) -> Day:
    opened = replace(day.tasks[index], put_on_s=None)
    return replace(day, tasks=tuple(opened if i == index else t for i, t in enumerate(day.tasks)))


def _quickest(task: Task) -> float:
    """How long its quickest way takes in the middle scenario [s]; inf: it is not done then, however long that lasts."""
    return min(
        (float(np.median(np.where(option.done, option.last_s, np.inf))) for option in task.options), default=np.inf
    )


def _spread_words(task: Task) -> str:
    option = min(task.options, key=lambda option: float(np.quantile(option.last_s, 0.95, method="lower")))
    low, high = (float(np.quantile(option.last_s, q, method="lower")) for q in (0.05, 0.95))
    ends = [format_duration(600.0 * round(each / 600.0)) if np.isfinite(each) else "never" for each in (low, high)]
    return f"it takes {ends[0]} to {ends[1]} from put-on to ready (90 % of the scenarios)"


def changes_for(
    wishes: Wishes, amounts: Sequence[Amount], day: Day, nearest: Schedule | None, trial: Trial
) -> tuple[Change, ...]:
    """The three smallest changes that make the day possible, each by itself, the smallest first."""
    trial.count = 0
    need = needed(day)
    short = [i for i in range(len(day.tasks)) if not _reaches(day, i, need)]
    found: list[Change] = []
    for ladder in ladders_of(wishes, amounts, short):
        if trial.count >= MOST_TRIALS:
            break
        made = _lowest(ladder, wishes, list(amounts), trial)
        if made is not None:
            found.append(made)
    if not found:
        found += _two_at_once(wishes, list(amounts), trial)
    if nearest is not None and not any("accept" in change.what for change in found):
        chance = np.floor(nearest.sampled * 20.0 + 1e-9) / 20.0
        if 0.05 <= chance < wishes.chance:
            found.append(Change(accept_words(float(chance), wishes), SIZE_CHANCE * (wishes.chance - chance)))
    return tuple(sorted(found, key=lambda change: (change.size, change.what))[:CHANGES])


def _two_at_once(wishes: Wishes, amounts: list[Amount], trial: Trial) -> list[Change]:
    """Where no change helps by itself: more time, and being content with less; the largest chance that can be had."""
    if wishes.earliest_utc is None:
        times = [(f"serve {hours_words(h)} later", SIZE_LATER_H * h, later(h)) for h in LATER_H]
    else:
        times = [(f"start {hours_words(h)} earlier", SIZE_EARLIER_H * h, earlier(h)) for h in EARLIER_H]
    for chance in sorted((c for c in CHANCES if c < wishes.chance), reverse=True):
        content = replace(wishes, chance=chance)
        made = _lowest(Ladder(tuple(times)), content, amounts, trial)
        if made is not None:
            size = made.size + SIZE_CHANCE * (wishes.chance - chance)
            return [
                Change(
                    f"{made.what}, and accept {format_percent(chance)} instead of {format_percent(wishes.chance)}", size
                )
            ]
    return []


def _lowest(ladder: Ladder, wishes: Wishes, amounts: list[Amount], trial: Trial) -> Change | None:
    """The lowest step that does; steps further up always do more."""

    def does(step: int) -> bool:
        if time.perf_counter() > trial.until_s:
            return False
        try:
            changed = ladder.steps[step][2](wishes, amounts)
            return changed is not None and trial.possible(trial.day(*changed))
        except InputError:
            return False

    low, high = 0, len(ladder.steps) - 1
    if high < 0 or not does(high):
        return None
    while low < high:
        middle = (low + high) // 2
        if does(middle):
            high = middle
        else:
            low = middle + 1
    words, size, _ = ladder.steps[high]
    return Change(words, size)
