"""When the items of a day go on, each looked at by itself: no hands, no fires, no solver.

That is enough of a plan for one supper on one pit, and it needs nothing beyond the core. A whole day, with several
items that share hands and pits, is planned in :mod:`pitreckon.plan.schedule.solve`.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import numpy as np

from pitreckon.cook import Cook, PitPlan, Until
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, options_of, plan_of
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.tables import Option, Task
from pitreckon.plan.wishes import Wishes

MEMBERS: Final = 128
STEP_S: Final = 300.0
EARLIEST_S: Final = 36 * 3600.0
"""So long before it is served it goes on at the most [s]: no course of the catalog takes longer."""
SURE: Final = 0.95
"""The last put-on with this chance [-] is taken, for meat that waits less is better meat; else the likeliest one."""


@dataclass(frozen=True)
class Alone:
    """cook: with put-ons, courses and holds; chance: [-] that each item is ready in time and not past its best"""

    cook: Cook
    chance: tuple[float, ...]


def alone(wishes: Wishes, *, members: int = MEMBERS, seed: int = 1) -> Alone:
    """The cook of these wishes, with the put-on of each item, on the first of its pits and courses.

    A put-on that is wished is kept. What has no room or no hands is not seen here.

    Raises InputError: an unknown cut or pit; a course that ends by the clock
    """
    amounts = amounts_of(wishes)
    cases = [of_item[:1] for of_item in cases_of(wishes, amounts)]
    options = options_of(wishes, cases, members, seed)
    tasks = day_of(wishes, amounts, options).tasks
    items, chances = [], []
    for wish, (case,), (option,), task in zip(wishes.items, cases, options, tasks, strict=True):
        put_on_s, chance = _put_on(task, option)
        served = wishes.served_at(wish)
        hold = Until("clock", served) if wish.most_hold_s > 0.0 else None
        put_on_utc = wishes.serve_utc + timedelta(seconds=put_on_s)
        items.append(plan_of(case, case.pit, put_on_utc, hold_until=hold))
        chances.append(chance)
    pits = tuple(PitPlan(pit.label, pit.kind, pit.sets_c[0], pit.water_pan) for pit in wishes.pits)
    return Alone(wishes.as_cook(pits, tuple(items), wishes.serve_utc), tuple(chances))


def _put_on(task: Task, option: Option) -> tuple[float, float]:
    """The put-on [s from serving], and the share of scenarios [-] in which all goes well with it."""
    if task.put_on_s is not None:
        tried = np.array([task.put_on_s])
    else:
        tried = task.serve_s - np.arange(STEP_S, EARLIEST_S + STEP_S, STEP_S)  # the last one first
    shares = on_time(task, run_course(task, option, tried, ())).mean(axis=1)
    best = int(np.argmax(shares >= min(SURE, shares.max())))
    return float(tried[best]), float(shares[best])
