"""The change that helps most: what a cook would do otherwise, tried on the same scenarios, alone and together.

How much a change brings is first told from the slots of the items by themselves, without the solver: so each takes a
moment, and those that cannot help are not solved for. What is offered was planned as it will be when it is taken, and
its chance is that of the plan, on scenarios that no choice has seen: what the solver promises of the few that it chose
on may be a dozen points more.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Bools
from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import Amount, amounts_of
from pitreckon.plan.schedule.infeasible import Trial, likely
from pitreckon.plan.schedule.relax import Ladder, accept_words, ladders_of
from pitreckon.plan.schedule.schedule import Answer, Change, Schedule
from pitreckon.plan.schedule.slots import chances_of
from pitreckon.plan.schedule.solve import choose, nearest_of, needed
from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.wishes import Wishes
from pitreckon.text.said import joined, said
from pitreckon.units import format_percent

MOST_CHANGES: Final = 3
DEEPEST: Final = 3
"""So many changes together; with more it is another day."""
WORTH: Final = 0.04
"""A change that brings less chance than this is none."""
HALF_WAY: Final = 0.75
"""Beside a change that does, one that brings less than this share of what was asked is not told."""
NO_HELP: Final = 0.5
"""A change after which supper is still likelier late than not is no help, unless less than that was asked."""
NEAR_MOST: Final = 0.9
"""Of one kind of change the smallest step is taken that brings this share of the most it can."""
ENOUGH, NO_MORE = 0.05, 0.005
"""A step so much beyond what is asked is enough; one that brings less than this over the one before is the last."""
TELLS: Final = 0.06
"""Chances closer than this are the same on so few scenarios: then what asks less of the cook is better."""
FEW: Final = 48
"""Scenarios that changes are looked for on."""
MOST_RUNS: Final = 80
"""So many options are run for it at the most."""
SOLVE_S: Final = 3.0
MOST_SOLVED: Final = 24
"""So many changes are solved for where no item by itself says which would help; half of them where there are many."""
MANY_ITEMS: Final = 5
SPARE: Final = 2
"""So many more are planned at the most, where some that are shown turn out to bring too little."""
Progress = Callable[[str], None]
Planning = Callable[[Wishes], Answer]


@dataclass(frozen=True)
class Tried:
    """Wishes with changes: what was changed, how much that asks of the cook, and the chance without the solver.

    about: what its ladders are about
    """

    wishes: Wishes
    words: tuple[str, ...]
    size: float
    chance: float
    about: frozenset[str] = field(default=frozenset())

    @property
    def what(self) -> str:
        """The changes in one sentence."""
        if len(self.words) < 2:
            return next(iter(self.words), "")
        return said("{first} and {last}", first=joined(", ", self.words[:-1]), last=self.words[-1])


def rough_chance(day: Day) -> float:
    """The share of the scenarios that could be on time together if hands, room and one temperature allowed all of it.

    The items one after another, the hardest first, each at the put-on that is best with those before it.
    """
    rows = [chances_of(day, i) for i in range(len(day.tasks))]
    if any(not row.size for row in rows):
        return 0.0
    together: Bools = np.ones(day.members, dtype=bool)
    for row in sorted(rows, key=lambda each: float(each.mean(axis=1).max())):
        counts = (row & together[None, :]).sum(axis=1)
        together = together & row[int(np.argmax(counts))]
    return float(together.mean())


def best_changes(
    wishes: Wishes, nearest: Schedule | None, trial: Trial, progress: Progress, planned: Planning
) -> tuple[Change, ...]:
    """Up to three ways out, the one that helps most first; accepting less only where nothing that can be done helps.

    nearest: what can be done as it is; trial: on whose scenarios what is offered is solved for
    planned: the answer to wishes as it will be when they are taken, without what would help them in turn
    """
    full, trial = trial, replace(trial, members=min(FEW, trial.members), most_runs=MOST_RUNS, runs=0, tries_holds=True)
    day = trial.day(wishes, amounts_of(wishes))
    trial.runs = 0
    start = Tried(wishes, (), 0.0, rough_chance(day))
    singles = _steps(start, day, trial, progress, wishes.chance)
    before = 0.0 if nearest is None else nearest.chance
    out: dict[str, Change] = {}
    path, options, aim = start, singles, wishes.chance
    while options and len(path.words) < DEEPEST:
        path = max(options, key=lambda each: (_worth(each, path, aim), -each.size))
        if path.chance >= aim or trial.over or len(path.words) == DEEPEST:
            change = _offered(path, before, full, out, progress)
            if trial.over or (change is not None and change.does):
                break
            # What the solver finds is less than what the items could do by themselves: so much more is needed.
            aim = min(aim + max(path.chance - (0.0 if change is None else change.chance or 0.0), TELLS), 0.98)
        options = _steps(path, trial.day(path.wishes, amounts_of(path.wishes)), trial, progress, aim)
    if path.chance >= wishes.chance and not any(change.does for change in out.values()):
        _through_the_solver(start if start.chance >= wishes.chance else path, before, full, out, progress)
    if path is not start and path.what not in out:
        _offered(path, before, full, out, progress)
    for each in sorted(singles, key=lambda each: (-_worth(each, start, wishes.chance), each.size)):
        if len(out) < MOST_CHANGES:
            _offered(each, before, full, out, progress)
    full.timed_out = full.timed_out or trial.timed_out
    good = _as_planned(wishes, list(out.values()), before, full, progress, planned)
    if good and good[0].does:  # what helps a little is nothing to a cook who can have what he asked for
        good = [each for each in good if each.does or (each.chance or 0.0) >= HALF_WAY * wishes.chance]
    helps = min(NO_HELP, HALF_WAY * wishes.chance)
    good = [each for each in good if each.does or (each.chance or 0.0) >= helps]
    if not good and nearest is not None:
        good = _accepting(wishes, nearest, helps)
    return tuple(good[:MOST_CHANGES])


def _order(change: Change, asked: float) -> tuple[bool, float, float, float]:
    """What does before what does not; then what brings more, as far as that is to be told and enough is enough; then
    what asks less of the cook."""
    chance = change.chance or 0.0
    if not change.does:
        return True, -chance, change.size, 0.0
    return False, -round((min(chance, asked + ENOUGH) - asked) / TELLS), change.size, -chance


def _as_planned(
    wishes: Wishes, found: Sequence[Change], before: float, trial: Trial, progress: Progress, planned: Planning
) -> list[Change]:
    """The likeliest changes with the chance that their plans have; what they do not keep is not said to do.

    As many as are shown, and a few in place of those that turn out to bring too little.
    """
    told: list[Change] = []
    left = sorted(found, key=lambda change: _order(change, wishes.chance))
    for change in left[: MOST_CHANGES + SPARE]:
        if len(told) == MOST_CHANGES or (told and trial.over):
            break
        progress(said("planning with: {what}", what=change.what))
        made = _planned_change(wishes, change, before, planned)
        if made is not None:
            told.append(made)
    return sorted(told, key=lambda change: _order(change, wishes.chance))


def _planned_change(wishes: Wishes, change: Change, before: float, planned: Planning) -> Change | None:
    """A change with the chance that its plan has; None: that is no better than as it is, or cannot be done."""
    assert change.wishes is not None
    answer = planned(replace(change.wishes, chance=wishes.chance))
    if answer.schedule is not None:
        return replace(change, what=change.what, chance=answer.schedule.chance, does=True, wishes=answer.wishes)
    near = answer.nearest
    if near is None or answer.wishes is None or near.chance < before + WORTH:
        return None
    content = replace(answer.wishes, chance=max(math.floor(near.chance * 20.0 - 1e-9) / 20.0, 0.05))
    again = planned(content).schedule
    if again is None:
        return None
    fields = {"chance": format_percent(again.chance), "asked": format_percent(wishes.chance)}
    words = said("{what}: {chance} then, and not {asked}", what=change.what, **fields)
    return replace(change, what=words, chance=again.chance, does=False, wishes=content)


def _through_the_solver(path: Tried, before: float, full: Trial, out: dict[str, Change], progress: Progress) -> None:
    """Where each item could be on time by itself, so that hands, room or one temperature are in the way: the first step
    of every kind of change, what asks least first, each solved for; then the last step of what did not do.

    path: changes after which each could
    """
    amounts = amounts_of(path.wishes)
    every = (ladder for ladder in ladders_of(path.wishes, amounts, ()) if not ladder.about & path.about)
    ladders = [ladder.steps for ladder in every if ladder.steps]
    steps = [*sorted((each[0] for each in ladders), key=lambda step: step[1])]
    steps += sorted((each[-1] for each in ladders if len(each) > 1), key=lambda step: step[1])
    many = len(path.wishes.items) > MANY_ITEMS
    for words, size, do in steps[: MOST_SOLVED // (2 if many else 1)]:
        done = sum(change.does for change in out.values())
        if full.over or done >= MOST_CHANGES or (done and len(out) >= MOST_CHANGES):
            return
        if words in path.words:
            continue
        try:
            made = do(path.wishes, list(amounts))
            if made is not None:
                tried = Tried(made[0], (*path.words, words), path.size + size, path.chance)
                _offered(tried, before, full, out, progress)
        except InputError:
            continue


def _offered(each: Tried, before: float, full: Trial, out: dict[str, Change], progress: Progress) -> Change | None:
    """What a change really brings, put among what is offered under its name."""
    if each.what in out:
        return out[each.what]
    progress(said("solving for: {what}", what=each.what))
    change = _solved(each, before, full)
    if change is not None:
        out[each.what] = change
    return change


def _worth(each: Tried, before: Tried, asked: float) -> int:
    """What a change brings towards what is asked, in steps that its scenarios can tell; enough is enough."""
    return round((min(each.chance, asked + ENOUGH) - before.chance) / TELLS)


def _steps(before: Tried, day: Day, trial: Trial, progress: Progress, aim: float) -> list[Tried]:
    """One change more, of every kind that brings something."""
    wishes, amounts = before.wishes, amounts_of(before.wishes)
    need = needed(day)
    short = [i for i in range(len(day.tasks)) if _best(day, i) < max(need, 0.97 * day.members)]
    out = []
    for ladder in ladders_of(wishes, amounts, short):
        if trial.over:
            break
        if not ladder.steps or any(words in before.words for words, _, _ in ladder.steps):
            continue
        if ladder.about & before.about:
            continue
        progress(said("trying: {what}", what=ladder.steps[0][0]))
        tried = list(_climb(ladder, before, amounts, trial, aim))
        most = max((each.chance for each in tried), default=0.0)
        if most < before.chance + WORTH:
            continue
        goal = min(before.chance + NEAR_MOST * (most - before.chance), max(aim + 0.02, before.chance))
        out.append(next(each for each in tried if each.chance >= min(goal, most)))
    return out


def _best(day: Day, index: int) -> float:
    rows = chances_of(day, index)
    return float(rows.sum(axis=1).max()) if rows.size else 0.0


def _climb(ladder: Ladder, before: Tried, amounts: Sequence[Amount], trial: Trial, aim: float) -> Iterator[Tried]:
    """The steps of one kind of change, up to the first that does, or that brings no more than the one before."""
    last = before.chance
    for words, size, do in ladder.steps:
        if trial.over:
            return
        try:
            made = do(before.wishes, list(amounts))
            if made is None:
                continue
            changed, _ = made
            chance = rough_chance(trial.day(changed, amounts_of(changed)))
        except InputError:
            continue
        yield Tried(changed, (*before.words, words), before.size + size, chance, before.about | ladder.about)
        if chance >= aim + ENOUGH or (chance > before.chance + WORTH and chance <= last + NO_MORE):
            return
        last = chance


def _solved(each: Tried, before: float, trial: Trial) -> Change | None:
    """What it really brings: a day that keeps what was asked, else the nearest; None: no better than as it is."""
    day = trial.day(each.wishes, amounts_of(each.wishes))
    need = needed(day)
    if likely(day, need) is not None:
        got = choose(day, limit_s=SOLVE_S, workers=trial.workers, seed=trial.seed, aims=("chance",))
        if got.picked is not None:
            chance = got.picked.on_time / day.members
            return Change(each.what, each.size, chance, each.wishes, does=True)
    near = nearest_of(day, limit_s=SOLVE_S, workers=trial.workers, seed=trial.seed)
    if near.picked is None:
        return None
    chance = near.picked.on_time / day.members
    return None if chance < before + WORTH else Change(each.what, each.size, chance, each.wishes, does=False)


def _accepting(wishes: Wishes, nearest: Schedule, least: float) -> list[Change]:
    """Being content with what can be had: where nothing that a cook can do helps. least: what anybody would be"""
    chance = float(np.floor(min(nearest.chance, nearest.sampled) * 20.0 + 1e-9) / 20.0)
    if not max(least, 0.05) <= chance < wishes.chance:
        return []
    return [Change(accept_words(chance, wishes), 100.0, chance, replace(wishes, chance=chance), does=False)]
