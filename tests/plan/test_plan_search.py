"""The search in two steps finds what one aim after another finds, and a what-if is answered from what is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
from validation.days.plain import files

from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.read import read_wishes
from pitreckon.plan.schedule import cpsat, solve
from pitreckon.plan.schedule.cache import OptionCache, Options
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import Case, cases_of, options_of
from pitreckon.plan.schedule.slots import Slot, slots_of
from pitreckon.plan.schedule.solve import needed, plan, promising
from pitreckon.plan.schedule.tables import Day, Option
from pitreckon.plan.schedule.variants import variant
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes

pytestmark = pytest.mark.kernel

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
RACKS = ItemWish("racks", "back-ribs", pieces=2, mass_kg=1.1, most_hold_s=3 * 3600.0)
THIGHS = ItemWish("thighs", "chicken-thigh", pieces=6, mass_kg=0.17, most_hold_s=2 * 3600.0)
PITS = (PitWish("box", "pellet-cooker", (121.1, 135.0)), PitWish("kettle", "kettle", (163.0,)))
DAY = Wishes("day", "UTC", SERVE, PITS, (RACKS, THIGHS), hands=Hands(2), chance=0.5)


def one_aim_after_another(day: Day, slots: Sequence[Slot], need: int, enough: int) -> list[int]:
    """The best of each aim, with all before it kept, by the solver as it comes: no aims in one, nothing left out."""
    made = cpsat._build(day, slots, need, enough, frozenset())
    best = []
    for aim in cpsat.AIMS:
        least = cpsat._least(made, aim)
        made.model.Minimize(least)
        solver = made.cp.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.StatusName(solver.Solve(made.model)) == "OPTIMAL"
        best.append(solver.Value(least))
        made.model.Add(least <= best[-1])
    return best


@pytest.mark.parametrize("number", ["03", "10", "19"])
def test_two_aims_at_once_come_to_what_one_after_another_does(number: str) -> None:
    wishes = read_wishes(next(path for path in files() if path.stem.startswith(number)))
    amounts = amounts_of(wishes)
    day = day_of(wishes, amounts, options_of(wishes, cases_of(wishes, amounts), 24, 1, coarse=True))
    need = needed(day)
    enough = math.ceil(day.members * 0.9)
    slots = [slot for i in range(len(day.tasks)) for slot in promising(list(slots_of(day, i, least=need)), 60)]
    picked, stages = cpsat.pick(day, slots, need, enough, limit_s=60.0)
    assert picked is not None
    assert [stage.aim for stage in stages] == list(cpsat.AIMS)
    assert all(stage.status == "optimal" and stage.gap == 0.0 for stage in stages)
    chance, holds, trips, fuel = one_aim_after_another(day, slots, need, enough)
    assert [stage.value for stage in stages[:3]] == [-chance, holds, trips]
    assert stages[3].value == pytest.approx(fuel, rel=0.01)  # minutes are rounded end by end
    assert picked.on_time >= -chance


def test_the_same_day_half_an_hour_later_is_not_chosen_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    memory = OptionCache()
    first = plan(DAY, members=16, explain=False, cache=memory).schedule
    assert first is not None

    def never(*_: object, **__: object) -> None:
        raise AssertionError("chosen anew")

    monkeypatch.setattr(solve, "pick", never)
    monkeypatch.setattr(solve, "options_of", _known)
    later = variant(DAY, "later")
    assert later is not None
    moved = plan(later.wishes, members=16, explain=False, cache=memory).schedule
    assert moved is not None
    assert (moved.chance, moved.fuel_kg) == (first.chance, first.fuel_kg)
    half_hour = timedelta(minutes=30)
    assert [call.at_utc - half_hour for call in moved.calls] == [call.at_utc for call in first.calls]
    monkeypatch.undo()
    assert plan(later.wishes, members=16, explain=False).schedule == moved  # as it comes out without a memory


def _known(
    _: Wishes, cases: Sequence[Sequence[Case]], *__: object, cache: Options, coarse: bool = False
) -> list[tuple[Option, ...]]:
    """What a cache has of the cases that are asked for; KeyError: one is not there."""
    return [tuple(cache[case] for case in of_item) for of_item in cases]


def test_one_more_pair_of_hands_runs_no_way_of_cooking_again(monkeypatch: pytest.MonkeyPatch) -> None:
    memory = OptionCache()
    assert plan(DAY, members=16, explain=False, cache=memory).schedule is not None
    runs: list[int] = []
    real = solve.options_of

    def counted(
        wishes: Wishes,
        cases: Sequence[Sequence[Case]],
        members: int,
        seed: int,
        *,
        cache: Options,
        coarse: bool = False,
    ) -> list[tuple[Option, ...]]:
        runs.extend(members for of_item in cases for case in of_item if case not in cache)
        return real(wishes, cases, members, seed, cache=cache, coarse=coarse)

    monkeypatch.setattr(solve, "options_of", counted)
    for key in ("hand", "hold", "later", "fewer-hands"):
        changed = variant(DAY, key)
        assert changed is not None
        assert plan(changed.wishes, members=16, explain=False, cache=memory).best is not None
        assert 16 not in runs, key
