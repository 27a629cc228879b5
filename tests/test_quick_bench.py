"""What ``make quick-bench`` tells, on works that take what a clock of their own says."""

from __future__ import annotations

import json

import numpy as np
import pytest
from benchmarks import quick


class Machine:
    """A clock that only works move, on a machine that is now quick and now slow."""

    def __init__(self, noise: float = 0.0) -> None:
        self.now_s, self.rng, self.noise, self.pace = 0.0, np.random.default_rng(3), noise, 1.0

    def work(self, took_s: float, yardstick_s: float = 1.0) -> quick.Work:
        def call(each_s: float) -> None:
            self.pace = max(0.2, self.pace + self.rng.normal(0.0, self.noise))
            self.now_s += each_s * self.pace

        return quick.Work(lambda: call(took_s), lambda: call(yardstick_s), lambda: self.now_s)


def test_a_machine_that_is_slow_for_all_of_it_changes_no_ratio():
    for pace in (0.5, 1.0, 7.0):
        machine = Machine()
        machine.pace = pace
        assert quick.ratio(machine.work(3.0)) == pytest.approx(3.0)


@pytest.mark.parametrize(("times", "told"), [(1.0, []), (1.1, []), (1.25, ["a"]), (3.0, ["a"]), (0.5, [])])
def test_what_has_become_more_than_fifteen_percent_slower_is_told(times, told):
    machine = Machine(noise=0.05)
    some = {"a": machine.work(2.0 * times), "b": machine.work(4.0)}
    kept = {"a": 2.0, "b": 4.0}
    assert quick.slower(quick.compared(some, kept), kept) == told


def test_a_few_bad_rounds_are_not_told():
    machine = Machine()
    work, calls = machine.work(2.0), []

    def often_late():
        calls.append(None)
        work.call()
        machine.now_s += 2.0 if len(calls) <= quick.ROUNDS or len(calls) % 3 == 0 else 0.0

    some = {"a": quick.Work(often_late, work.yardstick, work.clock)}
    assert quick.slower(quick.measured(some, quick.ROUNDS), {"a": 2.0}) == ["a"]
    assert quick.slower(quick.compared(some, {"a": 2.0}), {"a": 2.0}) == []


def test_what_nothing_is_kept_of_is_not_told():
    assert quick.slower({"new": 9.0}, {}) == []


def test_what_is_kept_are_ratios_by_machine():
    for machine, kept in json.loads(quick.KEPT.read_text(encoding="utf-8")).items():
        assert "numpy" in machine
        assert all(ratio > 0.0 for ratio in kept.values())
