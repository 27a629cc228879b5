"""Why a day cannot be done, in plain words, and the smallest changes that would make it possible.

Both are found by asking again: the reasons by leaving one limit out at a time, the changes by trying each kind of
change in growing steps on the same scenarios.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta

import numpy as np

from pitreckon.errors import InputError
from pitreckon.ledger.wishes import ItemWish, PitWish, Wishes
from pitreckon.plan.amounts import Amount
from pitreckon.plan.day import day_of
from pitreckon.plan.model import FAMILIES, pick
from pitreckon.plan.scenarios import Case, cases_of, ways_of
from pitreckon.plan.schedule import Change, Schedule
from pitreckon.plan.slots import Slot, best_chance, slots_of
from pitreckon.plan.solve import needed
from pitreckon.plan.tables import Day, Task, Way
from pitreckon.units import format_clock, format_difference, format_duration, format_percent, instant_after

LIMIT_S = 1.5
MOST_TRIALS = 48
"""Days that are tried for changes; past it what was found is what there is."""
CHANGES = 3
PIT_STEP_K = 25.0 / 1.8
"""25 degF."""
HOTTEST_C = 176.7
"""350 F: no pit is proposed hotter than this (common practice, no source)."""
EARLIER_H = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 9.0, 12.0)
LATER_H = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
HOLDS_H = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0)
FEWER = (0.1, 0.2, 0.3, 0.5)
CHANCES = (0.9, 0.85, 0.8, 0.75, 0.7, 0.65, 0.6, 0.55, 0.5, 0.4, 0.3, 0.2, 0.1)

# What a change asks of the cook, so that the smallest come first: common practice, no source.
SIZE_EARLIER_H, SIZE_LATER_H, SIZE_HOTTER, SIZE_HOLD_H = 1.0, 1.5, 1.0, 0.5
SIZE_WRAP, SIZE_PIT, SIZE_HANDS, SIZE_THERE, SIZE_FEWER, SIZE_CHANCE = 1.0, 5.0, 2.0, 3.0, 10.0, 30.0

_FAMILY_WORDS = {
    "hands": "there are too few hands: acts on different items fall together",
    "room": "the pits have too little room for all that has to be on at one time",
    "warm place": "the warm place takes too few pieces for what has to wait in it",
    "temperature": "the items want different temperatures of one pit, which has one for the whole occasion",
}


@dataclass
class Trial:
    """What is needed to try a changed day. known: ways that were run already; until_s: by ``time.perf_counter``."""

    members: int
    seed: int
    workers: int
    known: dict[Case, Way] = field(default_factory=dict)
    count: int = 0
    until_s: float = math.inf

    def day(self, wishes: Wishes, amounts: Sequence[Amount]) -> Day:
        """The changed day, on the same scenarios."""
        cases = cases_of(wishes, amounts)
        return day_of(wishes, amounts, ways_of(wishes, cases, self.members, self.seed, known=self.known))

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
    out = [_FAMILY_WORDS[family] for family in FAMILIES if trial.possible(day, (family,))]
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


def _reaches(day: Day, index: int, need: int) -> bool:
    return best_chance(day, index) * day.members >= need - 0.5


def _alone(wishes: Wishes, day: Day, index: int) -> str:
    """Why an item cannot be on time, whatever the others do."""
    task = day.tasks[index]
    best = best_chance(day, index)
    asked = format_percent(day.chance)
    head = f"{task.label}: on time in {format_percent(best)} of the scenarios at best, {asked} is asked"
    if not np.isfinite(_quickest(task)):
        return f"{task.label}: it does not get done on these pits at these temperatures"

    free = replace(task, most_hold_s=48 * 3600.0)
    freed = replace(day, tasks=tuple(free if i == index else t for i, t in enumerate(day.tasks)))
    fresh = replace(task, ways=tuple(replace(way, past_s=np.full(way.members, np.inf)) for way in task.ways))
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
    return min((float(np.median(way.last_s)) for way in task.ways), default=np.inf)


def _spread_words(task: Task) -> str:
    way = min(task.ways, key=lambda way: float(np.quantile(way.last_s, 0.95, method="lower")))
    low, high = (float(np.quantile(way.last_s, q, method="lower")) for q in (0.05, 0.95))
    ends = [format_duration(600.0 * round(each / 600.0)) if np.isfinite(each) else "never" for each in (low, high)]
    return f"it takes {ends[0]} to {ends[1]} from put-on to ready (90 % of the scenarios)"


Rung = Callable[[Wishes, list[Amount]], tuple[Wishes, list[Amount]] | None]


@dataclass(frozen=True)
class _Ladder:
    """One kind of change in growing steps; each step is words, size and what it does to the wishes."""

    steps: tuple[tuple[str, float, Rung], ...]


def changes_for(
    wishes: Wishes, amounts: Sequence[Amount], day: Day, nearest: Schedule | None, trial: Trial
) -> tuple[Change, ...]:
    """The three smallest changes that make the day possible, each by itself, the smallest first."""
    trial.count = 0
    found: list[Change] = []
    for ladder in _ladders(wishes, amounts, day):
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
            found.append(Change(_accept_words(float(chance), wishes), SIZE_CHANCE * (wishes.chance - chance)))
    return tuple(sorted(found, key=lambda change: (change.size, change.what))[:CHANGES])


def _two_at_once(wishes: Wishes, amounts: list[Amount], trial: Trial) -> list[Change]:
    """Where no change helps by itself: more time, and being content with less; the largest chance that can be had."""
    if wishes.earliest_utc is None:
        times = [(f"serve {_hours(h)} later", SIZE_LATER_H * h, _later(h)) for h in LATER_H]
    else:
        times = [(f"start {_hours(h)} earlier", SIZE_EARLIER_H * h, _earlier(h)) for h in EARLIER_H]
    for chance in sorted((c for c in CHANCES if c < wishes.chance), reverse=True):
        content = replace(wishes, chance=chance)
        made = _lowest(_Ladder(tuple(times)), content, amounts, trial)
        if made is not None:
            size = made.size + SIZE_CHANCE * (wishes.chance - chance)
            return [
                Change(
                    f"{made.what}, and accept {format_percent(chance)} instead of {format_percent(wishes.chance)}", size
                )
            ]
    return []


def _lowest(ladder: _Ladder, wishes: Wishes, amounts: list[Amount], trial: Trial) -> Change | None:
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


def _ladders(wishes: Wishes, amounts: Sequence[Amount], day: Day) -> Iterator[_Ladder]:
    """What could be changed, the likeliest to help first."""
    need = needed(day)
    short = [i for i in range(len(day.tasks)) if not _reaches(day, i, need)]
    whom = short or list(range(len(day.tasks)))
    yield _wraps(wishes, whom)
    yield _holds(wishes, whom)
    for pit in wishes.pits:
        yield _hotter(pit)
    if wishes.earliest_utc is not None and (wishes.planned_utc is None or wishes.planned_utc < wishes.earliest_utc):
        yield _Ladder(tuple((f"start {_hours(h)} earlier", SIZE_EARLIER_H * h, _earlier(h)) for h in EARLIER_H))
    for number, away in enumerate(wishes.hands.away):
        begin, end = (
            format_clock(at, wishes.zone_info, seen_from=wishes.serve_utc) for at in (away.from_utc, away.until_utc)
        )
        size = SIZE_THERE + (1.0 if away.kind == "asleep" else 0.0)
        yield _Ladder(((f"have somebody at the pit from {begin} to {end}", size, _there(number)),))
    if not short:
        yield _Ladder((("have one more pair of hands", SIZE_HANDS, _more_hands),))
        for i in sorted(range(len(amounts)), key=lambda i: -amounts[i].pieces * amounts[i].mass_kg)[:4]:
            yield _fewer(wishes.items[i], amounts[i], i)
        if wishes.hold_places is not None:
            yield _Ladder((("have a larger warm place", SIZE_HANDS, _warm),))
        yield _Ladder((("have one more pit, like " + wishes.pits[0].label, SIZE_PIT, _one_more_pit),))
    yield _Ladder(tuple((f"serve {_hours(h)} later", SIZE_LATER_H * h, _later(h)) for h in LATER_H))
    yield _Ladder(
        tuple(
            (
                f"accept {format_percent(c)} instead of {format_percent(wishes.chance)}",
                SIZE_CHANCE * (wishes.chance - c),
                _accept(c),
            )
            for c in CHANCES
            if c < wishes.chance
        )
    )


def _accept_words(chance: float, wishes: Wishes) -> str:
    return f"accept {format_percent(chance)} instead of {format_percent(wishes.chance)}"


def _hours(hours: float) -> str:
    return format_duration(hours * 3600.0)


def _with_items(wishes: Wishes, change: Callable[[int, ItemWish], ItemWish]) -> Wishes:
    return replace(wishes, items=tuple(change(i, item) for i, item in enumerate(wishes.items)))


def _wraps(wishes: Wishes, whom: Sequence[int]) -> _Ladder:
    open_ = [i for i in whom if not wishes.items[i].stages and wishes.items[i].wrapping in {"usual", "without"}]
    if not open_:
        return _Ladder(())

    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return _with_items(wishes, lambda i, item: replace(item, wrapping="either") if i in open_ else item), amounts

    names = _listed([wishes.items[i].label for i in open_])
    return _Ladder(((f"wrap {names}, or leave the wrap off, as it comes out best", SIZE_WRAP, do),))


def _holds(wishes: Wishes, whom: Sequence[int]) -> _Ladder:
    names = _listed([wishes.items[i].label for i in whom])

    def longer(hours: float) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            def one(i: int, item: ItemWish) -> ItemWish:
                most = min(item.most_hold_s + hours * 3600.0, 24 * 3600.0)
                return replace(item, most_hold_s=most) if i in whom else item

            return _with_items(wishes, one), amounts

        return do

    return _Ladder(tuple((f"let {names} be held {_hours(h)} longer", SIZE_HOLD_H * h, longer(h)) for h in HOLDS_H))


def _hotter(pit: PitWish) -> _Ladder:
    def by(steps: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            hot = max(pit.sets_c) + steps * PIT_STEP_K
            pits = tuple(replace(p, sets_c=(*p.sets_c, hot)) if p.label == pit.label else p for p in wishes.pits)
            return replace(wishes, pits=pits), amounts

        return do

    steps = [n for n in (1, 2, 3) if max(pit.sets_c) + n * PIT_STEP_K <= HOTTEST_C]
    return _Ladder(
        tuple(
            (f"run {pit.label} {format_difference(n * PIT_STEP_K).lstrip('+')} hotter", SIZE_HOTTER * n, by(n))
            for n in steps
        )
    )


def _step_words(steps: int) -> str:
    return format_difference(steps * PIT_STEP_K).lstrip("+")


def _earlier(hours: float) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]] | None:
        if wishes.earliest_utc is None:
            return None
        at = wishes.earliest_utc - timedelta(hours=hours)
        if wishes.planned_utc is not None:
            at = max(at, wishes.planned_utc)
        return replace(wishes, earliest_utc=at), amounts

    return do


def _later(hours: float) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return replace(wishes, serve_utc=wishes.serve_utc + timedelta(hours=hours)), amounts

    return do


def _there(number: int) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        away = tuple(a for i, a in enumerate(wishes.hands.away) if i != number)
        return replace(wishes, hands=replace(wishes.hands, away=away)), amounts

    return do


def _more_hands(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    return replace(wishes, hands=replace(wishes.hands, cooks=min(wishes.hands.cooks + 1, 50))), amounts


def _warm(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    return replace(wishes, hold_places=None), amounts


def _one_more_pit(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    first = wishes.pits[0]
    taken = {pit.label for pit in wishes.pits}
    label = next(name for name in (f"another {first.label}"[:60], "one more pit", "the new pit") if name not in taken)
    items = tuple(
        replace(item, pits=(*item.pits, label)) if first.label in item.pits else item for item in wishes.items
    )
    return replace(wishes, pits=(*wishes.pits, replace(first, label=label)), items=items), amounts


def _fewer(wish: ItemWish, amount: Amount, index: int) -> _Ladder:
    counts = sorted(
        {int(np.floor(amount.pieces * (1.0 - share))) for share in FEWER} - {0, amount.pieces}, reverse=True
    )

    def to(count: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            return wishes, [replace(a, pieces=count) if i == index else a for i, a in enumerate(amounts)]

        return do

    return _Ladder(
        tuple(
            (
                f"{amount.pieces - count} of {amount.pieces} {wish.label} fewer",
                SIZE_FEWER * (1.0 - count / amount.pieces),
                to(count),
            )
            for count in counts
        )
    )


def _accept(chance: float) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return replace(wishes, chance=chance), amounts

    return do


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
