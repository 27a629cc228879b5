"""Why a day cannot be done, in plain words.

They are found by asking again, leaving one limit out at a time. What was not found in time is not said to be
impossible.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.cache import OptionCache
from pitreckon.plan.schedule.cpsat import FAMILIES, pick
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.schedule.slots import Slot, best_chance, slots_of
from pitreckon.plan.schedule.solve import needed
from pitreckon.plan.schedule.tables import Day, Task
from pitreckon.plan.space.sharing import against_words
from pitreckon.plan.wishes import PitWish, Wishes
from pitreckon.text.said import clock_time, joined, said
from pitreckon.units import format_duration, format_percent, instant_after

LIMIT_S = 1.5
FAMILY_WORDS = {
    "hands": "there are too few hands: acts on different items fall together",
    "room": "the pits have too little room for all that has to be on at one time",
    "warm place": "the warm place takes too few pieces for what has to wait in it",
    "temperature": "the items want different temperatures of one pit, which has one for the whole occasion",
}


@dataclass
class Trial:
    """What is needed to try a changed day.

    members, seed: of the scenarios; memory: options that were run already, by the conditions of their day
    until_s: there is time till then, by ``time.perf_counter``; most_runs: so many options may be run
    runs: so many were; timed_out: there was not enough time, or too many to run
    tries_holds: what is run serves longer holds, too
    """

    members: int
    seed: int
    workers: int
    memory: OptionCache = field(default_factory=OptionCache)
    until_s: float = math.inf
    most_runs: int = 1_000_000
    runs: int = 0
    timed_out: bool = False
    tries_holds: bool = False

    @property
    def over(self) -> bool:
        """Whether no more may be tried."""
        if self.runs >= self.most_runs or time.perf_counter() > self.until_s:
            self.timed_out = True
            return True
        return False

    def day(self, wishes: Wishes, amounts: Sequence[Amount]) -> Day:
        """The changed day, on the same scenarios."""
        cache, _ = self.memory.of(wishes, self.seed, self.members)
        cases = cases_of(wishes, amounts, tries_holds=self.tries_holds, known=cache)
        self.runs += len({case for of_item in cases for case in of_item if case not in cache})
        return day_of(wishes, amounts, options_of(wishes, cases, self.members, self.seed, cache=cache, coarse=True))

    def possible(self, day: Day, without: Sequence[str] = ()) -> bool:
        """Is a day found? Where none is in the time there is, ``timed_out`` says so."""
        if self.over:
            return False
        need = needed(day)
        slots = likely(day, need)
        if slots is None:
            return False
        picked, stages = pick(
            *(day, slots, need, need),
            limit_s=LIMIT_S,
            workers=self.workers,
            seed=self.seed,
            without=without,
            aims=("chance",),
        )
        if picked is None and stages[0].status == "unknown":
            self.timed_out = True
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
    if not out and trial.timed_out:
        return (said(NOT_FOUND),)
    if not out and trial.possible(day, FAMILIES):
        out = [said("hands, room, the warm place and one temperature for each pit stand in the way together")]
    if not out:
        out = [said(NOT_TOGETHER, chance=format_percent(day.chance), n=len(day.tasks))]
    return tuple(out)


NOT_FOUND = "what stands in the way was not found in the time there was; that is not to say that it cannot be"
NOT_TOGETHER = (
    "each item by itself can be on time in {chance} of the scenarios; all {n} together in so many cannot, because they "
    "are not late in the same ones"
)
AT_BEST = "{item}: on time in {chance} of the scenarios at best, {asked} is asked"


def _family_words(wishes: Wishes, family: str) -> str:
    """What stands in the way; of temperatures also whose."""
    words = said(FAMILY_WORDS[family])
    if family != "temperature":
        return words
    against: list[str] = []
    for pit in wishes.pits:
        here = [item for item in wishes.items if pit in _pits(wishes, item.label)]
        against += against_words(pit, here) if len(here) > 1 else ()
    return joined(": ", (words, joined("; ", against))) if against else words


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
    head = said(AT_BEST, item=task.label, chance=format_percent(best), asked=asked)
    if not np.isfinite(_quickest(task)):
        against = [words for pit in _pits(wishes, task.label) for words in against_words(pit, [wishes.items[index]])]
        words = said("{item}: it does not get done on these pits at these temperatures", item=task.label)
        return said("{what} ({why})", what=words, why=joined("; ", against)) if against else words

    free = replace(task, most_hold_s=48 * 3600.0)
    freed = replace(day, tasks=tuple(free if i == index else t for i, t in enumerate(day.tasks)))
    fresh = replace(
        task, options=tuple(replace(option, past_s=np.full(option.members, np.inf)) for option in task.options)
    )
    lasting = replace(day, tasks=tuple(fresh if i == index else t for i, t in enumerate(day.tasks)))
    earliest = instant_after(wishes.serve_utc, max(day.earliest_s, -7 * 86400.0))
    at = clock_time(earliest, wishes.zone_info, wishes.serve_utc)
    limits = [
        (
            best_chance(freed, index),
            said("a wider spread than its longest hold of {span} can take up", span=format_duration(task.most_hold_s)),
        ),
        (best_chance(lasting, index), said("in many of them it is past its best before it is served")),
    ]
    if day.away:
        limits.append(
            (best_chance(replace(day, away=()), index), said("it often has to be seen to while nobody is at the pit"))
        )
    if task.put_on_s is not None:
        limits.append((best_chance(_open(day, index), index), said("its put-on is set")))
    elif np.isfinite(day.earliest_s):
        limits.append(
            (best_chance(replace(day, earliest_s=-np.inf), index), said("nothing is done before {at}", at=at))
        )
    most, words = max(limits, key=lambda limit: limit[0])
    if most <= best + 0.01:
        words = said("no one limit alone is to blame: its spread, its longest hold and the clock are")
    return joined("; ", (head, _spread_words(task), words))


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
    ends = [
        format_duration(600.0 * round(each / 600.0)) if np.isfinite(each) else said("never") for each in (low, high)
    ]
    return said("it takes {low} to {high} from put-on to ready (90 % of the scenarios)", low=ends[0], high=ends[1])
