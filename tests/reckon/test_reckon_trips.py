"""Trips: the curves and the grouping against brute force, their limits, and what always holds."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from supper import N, air, at, cook, put_on, wings
from tests.sparing import examples

from pitreckon.cook import PitPlan, StagePlan, TripCosts, Until
from pitreckon.ledger import Act, Ledger
from pitreckon.reckon import reckon
from pitreckon.reckon.schedule import NEAR_BEST_S, plan, schedule
from pitreckon.reckon.tripcost import LEAST_OPEN, Curves, Due, clock_grid, cost_curves

COSTS = TripCosts()
HOUR = 3600.0
some = settings(max_examples=examples(60))


def thing(opens_h, closes_h=None, item="racks", pit="drum", weights=None, **more):
    opens = np.atleast_1d(np.asarray(opens_h, dtype=float)) * HOUR
    closes = opens + HOUR if closes_h is None else np.atleast_1d(np.asarray(closes_h, dtype=float)) * HOUR
    w = np.full(opens.size, 1.0 / opens.size) if weights is None else np.asarray(weights, dtype=float)
    return Due(item, pit, opens, np.broadcast_to(closes, opens.shape), w, **more)


def spread(middle_h, sd_h, n=64, seed=0, stays_h=1.0, **more):
    opens = middle_h + sd_h * np.random.default_rng(seed).normal(size=n)
    return thing(opens, opens + stays_h, **more)


@st.composite
def things(draw, most=4, members=6, carries=False):
    """A few items of one or two acts each, on one or two pits, with members of any weights."""
    seed, items = draw(st.integers(0, 2**32 - 1)), draw(st.integers(1, most))
    rng = np.random.default_rng(seed)
    out = []
    for i in range(items):
        w = rng.dirichlet(np.ones(members))
        opens = rng.uniform(-0.5, 3.0) + rng.uniform(0.0, 1.0) * rng.random(members)
        for _ in range(rng.integers(1, 3)):
            out.append(
                thing(
                    *(opens, opens + rng.exponential(1.0, members), f"item {i}"),
                    ["drum", "oven", None][rng.integers(3)],
                    w,
                    carries=carries and bool(rng.integers(2)),
                )
            )
            opens = opens + rng.uniform(0.1, 2.0) + 0.3 * rng.random(members)
    return out


def slow_curve(due, grid, costs):
    """The same costs by plain recursion over the times, member by member."""
    lid = 0.0 if due.pit is None else costs.lid_s
    opens = np.maximum(due.opens_s, 0.0)
    closes = np.maximum(due.closes_s, opens)

    def late(member, t):
        return costs.late * (t - opens[member]) + (costs.too_late - costs.late) * max(t - closes[member], 0.0)

    def to_come(i, shut):
        """Cost of the trips after one at time i, for members that could not be done on it."""
        if not shut:
            return 0.0
        if i not in known:
            left = sum(due.weights[m] for m in shut)
            best = left * (costs.walk_s + lid) if i == grid.size - 1 else np.inf
            for j in range(i + 1, grid.size):
                now = [m for m in shut if opens[m] <= grid[j]]
                cost = left * (min(costs.walk_s, grid[j] - grid[i]) + lid)
                cost += sum(due.weights[m] * late(m, grid[j]) for m in now)
                best = min(best, cost + to_come(j, [m for m in shut if m not in now]))
            known[i] = best
        return known[i]

    known: dict[int, float] = {}
    out = []
    for i, t in enumerate(grid):
        can = [m for m in range(opens.size) if opens[m] <= t]
        shut = [m for m in range(opens.size) if opens[m] > t]
        cost = sum(due.weights[m] * late(m, t) for m in can) + to_come(i, shut)
        out.append(cost if sum(due.weights[m] for m in can) >= LEAST_OPEN else np.inf)
    return np.array(out)


@settings(max_examples=examples(25))
@given(st.integers(0, 2**32 - 1), st.sampled_from([None, "drum"]))
def test_curves_against_plain_recursion(seed, pit):
    rng = np.random.default_rng(seed)
    n = 5
    opens = rng.uniform(-0.2, 0.6, n)
    due = thing(opens, opens + rng.exponential(0.2, n), pit=pit, weights=rng.dirichlet(5.0 * np.ones(n)))
    grid = np.unique(np.concatenate((np.linspace(0.0, 0.7 * HOUR, 15), rng.uniform(0.0, 0.7 * HOUR, 3))))
    costs = TripCosts(rng.uniform(0, 2000), rng.uniform(0, 600), 1.0, rng.uniform(1.0, 6.0))
    got = cost_curves([due, replace(due, opens_s=due.opens_s + 60.0)], grid, costs)
    # what is left to do after 98 % of the weight is not planned any further: no more than that can differ
    most = 0.02 * (costs.walk_s + costs.lid_s + costs.too_late * 0.7 * HOUR)
    np.testing.assert_allclose(got.cost_s[0], slow_curve(due, grid, costs), atol=most)
    np.testing.assert_allclose(got.open[0], [np.sum(due.weights[due.opens_s <= t]) for t in grid], atol=1e-12)


@some
@given(st.integers(0, 2**32 - 1), st.integers(1, 4))
def test_plan_is_the_best_of_all_contiguous_trips_at_all_times(seed, n):
    rng = np.random.default_rng(seed)
    times = 7
    cost = np.round(rng.uniform(0, 3000, (n, times)))
    names = [f"item {rng.integers(3)}" for _ in range(n)]
    due = [thing([0.0], item=name, pit=["drum", "oven", None][rng.integers(3)]) for name in names]
    costs = TripCosts(walk_s=float(rng.integers(0, 2000)), lid_s=float(rng.integers(0, 900)))
    curves = Curves(cost, np.ones((n, times)), np.full((n, times), times - 1))
    trips, total = plan(due, curves, range(n), costs)

    def priced(groups, at):
        price = 0.0
        for group, i in zip(groups, at, strict=True):
            if len({due[k].item for k in group}) < len(group):
                return np.inf
            price += costs.walk_s + costs.lid_s * len({due[k].pit for k in group} - {None}) + cost[group, i].sum()
        return price

    order = [k for _, things, _ in trips for k in things]
    best = np.inf
    for count in range(1, n + 1):
        for cuts in combinations(range(1, n), count - 1):
            edges = [0, *cuts, n]
            groups = [order[a:b] for a, b in pairwise(edges)]
            best = min([best] + [priced(groups, at) for at in combinations(range(times), count)])
    assert total == pytest.approx(best)
    assert priced([t[1] for t in trips], [t[0] for t in trips]) == pytest.approx(best)


def _all_ways(due, left):
    """Every way to put things on trips in order: sets of things of different items, steps of an item in turn."""
    if not left:
        yield []
        return
    first = [k for k in left if not any(due[j].item == due[k].item and j < k for j in left)]
    for size in range(1, len(first) + 1):
        for group in combinations(first, size):
            for rest in _all_ways(due, [k for k in left if k not in group]):
                yield [list(group), *rest]


@settings(max_examples=examples(25))
@given(things(most=3, members=5))
def test_the_order_by_best_times_costs_little(due):
    """Against all groupings in all orders at all times of the grid: never better, and little worse."""
    due = due[:4]
    grid = clock_grid(due)
    curves = cost_curves(due, grid, COSTS)
    _, total = plan(due, curves, range(len(due)), COSTS)
    best = np.inf
    for groups in _all_ways(due, list(range(len(due)))):
        left = np.zeros(grid.size + 1)
        for group in reversed(groups):
            lids = len({due[k].pit for k in group} - {None})
            cost = COSTS.walk_s + COSTS.lid_s * lids + curves.cost_s[group].sum(axis=0) + left[1:]
            left = np.append(np.minimum.accumulate(cost[::-1])[::-1], np.inf)
        best = min(best, left[0])
    assert best - 1e-6 <= total <= 1.1 * best + 1e-6


def test_certain_windows_are_met_at_the_second():
    due = [thing([h], item=f"item {h}") for h in (0.5, 2.0, 3.123, 7.777)]
    visits = schedule(due, COSTS)
    assert [v.things for v in visits] == [(0,), (1,), (2,), (3,)]
    np.testing.assert_allclose([v.at_s for v in visits], [h * HOUR for h in (0.5, 2.0, 3.123, 7.777)])
    for visit in visits:
        assert visit.from_s == visit.at_s  # before it there is nothing to do
        assert visit.at_s < visit.by_s <= visit.at_s + NEAR_BEST_S / COSTS.late + 1e-6
        assert visit.open == (1.0,)


def test_what_is_due_now_is_due_now():
    (visit,) = schedule([thing([-0.5], [0.5])], COSTS)
    assert visit.at_s == visit.from_s == 0.0
    assert visit.by_s == pytest.approx(NEAR_BEST_S / COSTS.late)
    (over,) = schedule([thing([-1.0], [-0.5])], COSTS)
    assert over.by_s == pytest.approx(NEAR_BEST_S / COSTS.too_late)


def test_nothing_to_do():
    assert schedule([], COSTS) == ()


def test_free_trips_are_one_for_each_thing():
    due = [thing([1.0 + 0.1 * i], item=f"item {i}") for i in range(5)]
    assert [v.things for v in schedule(due, TripCosts(walk_s=0.0, lid_s=0.0))] == [(i,) for i in range(5)]


def test_dear_trips_are_as_few_as_can_be():
    due = [thing([1.0 + i], item=f"item {i // 2}", closes_h=[40.0]) for i in range(6)]  # three items of two acts
    visits = schedule(due, TripCosts(walk_s=4 * HOUR, late=0.001, too_late=0.1))
    assert [len(v.things) for v in visits] == [3, 3]


def test_dear_lids_keep_one_pit_together_and_let_two_pits_part():
    walk_free = TripCosts(walk_s=0.0, lid_s=1200.0)
    pair = [thing([1.0], item="a"), thing([1.1], item="b")]
    assert len(schedule(pair, walk_free)) == 1
    assert len(schedule([pair[0], replace(pair[1], pit="oven")], walk_free)) == 2
    assert len(schedule([replace(each, pit=None) for each in pair], walk_free)) == 2


def test_two_acts_of_an_item_are_never_on_one_trip():
    due = [thing([1.0]), thing([1.01])]
    assert [v.things for v in schedule(due, TripCosts(walk_s=4 * HOUR))] == [(0,), (1,)]


@pytest.mark.parametrize("sd_h", [0.1, 0.25, 0.5, 1.0])
def test_late_is_worse_than_early(sd_h):
    """As far before the middle as after it, from when somebody would come at all: the earlier of the two costs less."""
    due = spread(3.0, sd_h, n=1024)
    grid = np.unique(np.concatenate((np.arange(0.0, 6 * HOUR, 300.0), [3 * HOUR])))
    curves = cost_curves([due, due], grid, COSTS)
    cost = dict(zip(grid - 3 * HOUR, curves.cost_s[0], strict=True))
    apart = [a for a in cost if a >= max(1200.0, 0.5 * sd_h * HOUR) and np.isfinite(cost.get(-a, np.inf))]
    assert all(cost[-a] < cost[a] for a in apart)
    assert apart or sd_h < 0.5  # nobody comes twenty minutes early for what is surer than that
    (visit,) = schedule([due], COSTS)
    assert visit.at_s < visit.again_s[0]


def test_a_long_course_far_off_still_fits():
    due = [thing([30.0 + 0.001 * i], carries=i % 2 == 1) for i in range(8)]
    visits = schedule(due, COSTS)
    assert [v.things for v in visits] == [(i,) for i in range(8)]
    assert 30 * HOUR <= visits[0].at_s < visits[-1].at_s < 32 * HOUR


def test_everything_later_is_everything_later():
    due = [spread(2.0, 0.3, item="a"), spread(3.0, 0.2, seed=1, item="b"), spread(5.5, 0.4, seed=2, item="a")]
    later = [replace(d, opens_s=d.opens_s + HOUR, closes_s=d.closes_s + HOUR) for d in due]
    one, two = schedule(due, COSTS), schedule(later, COSTS)
    assert [v.things for v in one] == [v.things for v in two]
    for a, b in zip(one, two, strict=True):
        assert b.at_s - a.at_s == pytest.approx(HOUR, abs=600.0)  # two steps of the grid


def test_the_order_of_members_and_of_items_does_not_matter():
    due = [spread(2.0, 0.3, item="a"), spread(2.2, 0.4, seed=1, item="b"), spread(4.0, 0.4, seed=2, item="a")]
    shuffle = np.random.default_rng(3).permutation(64)
    mixed = [replace(d, opens_s=d.opens_s[shuffle], closes_s=d.closes_s[shuffle]) for d in due]
    plain = schedule(due, COSTS)
    for other, names in ((mixed, (0, 1, 2)), ([due[1], due[0], due[2]], (1, 0, 2))):
        visits = schedule(other, COSTS)
        assert [v.at_s for v in visits] == pytest.approx([v.at_s for v in plain])
        assert [{names[k] for k in v.things} for v in visits] == [set(v.things) for v in plain]


@some
@given(st.integers(0, 2**32 - 1), st.floats(1.5, 20.0))
def test_dearer_lateness_is_an_earlier_trip(seed, factor):
    due = [spread(2.0, 0.5, n=32, seed=seed)]
    (cheap,) = schedule(due, COSTS)
    (dear,) = schedule(due, replace(COSTS, late=COSTS.late * factor, too_late=COSTS.too_late * factor))
    assert dear.at_s <= cheap.at_s


@some
@given(things(carries=True))
def test_what_always_holds(due):
    visits = schedule(due, COSTS)
    assert sorted(k for v in visits for k in v.things) == list(range(len(due)))
    at = {k: v.at_s for v in visits for k in v.things}
    for early, late in pairwise(visits):
        assert early.at_s < late.at_s
        assert late.from_s > early.at_s
    for visit in visits:
        assert 0.0 <= visit.from_s <= visit.at_s <= visit.by_s
        assert len({due[k].item for k in visit.things}) == len(visit.things)
        assert all(chance >= LEAST_OPEN for chance in visit.open)
    for k, j in permutations(range(len(due)), 2):
        if k < j and due[k].item == due[j].item:
            assert at[k] < at[j]
    assert visits == schedule(due, COSTS)


def test_a_late_act_makes_what_lasts_later_and_leaves_what_cooks_alone():
    """The sauce has been due for half an hour; its glaze takes its quarter of an hour from now."""
    sauce, glaze = thing([-0.5]), thing([-0.25], carries=True)
    first, then = schedule([sauce, glaze], COSTS)
    assert (first.at_s, then.at_s) == (0.0, pytest.approx(900.0))
    first, then = schedule([sauce, replace(glaze, carries=False)], COSTS)
    assert (first.at_s, then.at_s) == (0.0, 60.0)  # the next time of the grid


def test_members_that_never_get_there_do_not_count():
    sure = thing([1.0, 1.2, 1.1])
    some_never = thing([1.0, 1.2, 1.1, np.nan, np.nan], [2.0, 2.2, 2.1, np.nan, 9.0])
    then = thing([1.2, 1.5, 1.4], carries=True)
    then_never = thing([1.2, 1.5, 1.4, np.nan, np.nan], carries=True)
    visits = schedule([sure, then], COSTS)
    assert len(visits) == 2
    assert visits == schedule([some_never, then_never], COSTS)


def doing(outlook):
    return [[(task.item, task.act) for task in trip.tasks] for trip in outlook.trips]


@pytest.mark.kernel
def test_trips_of_a_cook_that_is_only_planned():
    """Both items go on together; windows open where the stages end; nothing opens a lid for the hold."""
    held = wings(
        stages=(
            StagePlan("open", Until("core", 85.0)),
            StagePlan("rest", Until("minutes", 300.0)),
            StagePlan("hold", Until("minutes", 1800.0), air_c=65.0),
        )
    )
    outlook = reckon(cook(held, wings(label="more wings")), members=N)
    assert doing(outlook)[0] == [("wings", "put on"), ("more wings", "put on")]
    item = outlook.item("wings")
    assert [window.act for window in item.windows] == ["put on", "take off", "hold"]
    assert [w.opens_s for w in item.windows[1:]] == [stage.ends_s for stage in item.stages[:2]]
    pits = {task.act: task.pit for trip in outlook.trips for task in trip.tasks}
    assert pits == {"put on": "drum", "take off": "drum", "hold": None}
    assert outlook.free_until_utc == outlook.now_utc


@pytest.mark.kernel
def test_what_is_overdue_is_due_now_and_too_late():
    """The core is past its target at three hours, and the ledger is silent."""
    late = reckon(cook(serve_h=6.0), Ledger.of([put_on()]), now=at(180), members=N)
    (window,) = late.item("wings").windows
    assert window.open_now == pytest.approx(1.0)
    assert window.too_late_now > 0.9
    assert window.opens_s.p50 < 150 * 60.0
    assert late.trips[0].at_utc == late.free_until_utc == late.now_utc
    assert late.be_back_utc <= at(182)


@pytest.mark.kernel
def test_trips_go_to_the_pit_that_it_is_on():
    two = cook(pits=(PitPlan("drum", "upright-drum", 120.0), PitPlan("oven", "oven", 200.0)), serve_h=5.0)
    moved = reckon(two, Ledger.of([put_on(), Act(at(20), "wings", "moved", "oven")]), now=at(21), members=N)
    assert [task.pit for trip in moved.trips for task in trip.tasks] == ["oven"]


@pytest.mark.kernel
def test_what_did_not_go_on_is_to_go_on_now():
    waiting = reckon(cook(serve_h=4.0), Ledger.of(air(150.0, 0, 40)), now=at(40), members=N)
    assert doing(waiting)[0] == [("wings", "put on")]
    assert waiting.trips[0].at_utc == at(40)


@pytest.mark.kernel
def test_nothing_is_left_to_do_after_the_last_act():
    off = reckon(cook(), Ledger.of([put_on(), Act(at(47), "wings", "took off")]), now=at(50), members=N)
    assert (off.trips, off.free_until_utc, off.be_back_utc) == ((), None, None)
    assert off.item("wings").windows == ()
