"""Who is served next, and how long a look waits where many cooks share few workers: on paper and in virtual time."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.queueing import Work, on_paper, queue_length, simulated
from scipy import stats

from pitreckon.work.queue import Line, Waiter

TOOK_S = tuple(np.random.default_rng(20261130).gamma(20.0, 1.5 / 20.0, 60))
WORK = Work(60.0, 60.0, TOOK_S, 0.15)


def served(line: Line[Waiter]) -> Waiter:
    found = line.in_order()[0]
    line.serve(found)
    return found


def test_the_urgent_first_and_nobody_twice_before_another() -> None:
    line: Line[Waiter] = Line()
    many = [Waiter("supper", 1) for _ in range(3)]
    late, urgent, guest = Waiter("wings", 1), Waiter("lunch", 0), Waiter("lunch", 1, rank=1)
    for each in (*many, late, urgent, guest):
        line.join(each)
    assert [served(line) for _ in range(4)] == [urgent, many[0], late, many[1]]
    assert line.before(guest) == 1
    line.leave(many[2])
    line.leave(many[2])  # it has gone
    assert (line.before(guest), len(line), guest in line) == (0, 1, True)


def test_a_turn_counts_until_nobody_waits() -> None:
    line: Line[Waiter] = Line()
    for name in ("supper", "wings"):
        line.join(Waiter(name))
    assert served(line).name == "supper"
    line.join(Waiter("supper"))
    assert served(line).name == "wings"
    assert served(line).name == "supper"
    line.forget_turns()
    for name in ("supper", "wings"):
        line.join(Waiter(name))
    assert served(line).name == "supper"


def test_the_paper_s_line_is_that_of_the_textbooks() -> None:
    """A worker for each cook: each is asked about by itself (binomial). Many cooks: A. K. Erlang's delay, 1917."""
    load = 0.3
    alone = queue_length(7, 7, load)
    assert alone == pytest.approx(stats.binom.pmf(np.arange(8), 7, load / (1.0 + load)), rel=1e-9)
    # Erlang C with two servers and an offered load of one: (1/2) / (1/2 + (1 - 1/2)(1 + 1)) = 1/3
    many = queue_length(40_000, 2, 1.0 / 40_000)
    assert float(many[2:].sum()) == pytest.approx(1.0 / 3.0, rel=1e-3)


@pytest.mark.parametrize(("cooks", "workers"), [(24, 2), (24, 4), (100, 8), (200, 16)])
def test_the_paper_agrees_with_virtual_time_while_there_is_room(cooks: int, workers: int) -> None:
    paper, tried = on_paper(cooks, workers, WORK), simulated(cooks, workers, WORK, 1, 2000)
    assert tried.busy < 0.6
    assert paper.p50_s == pytest.approx(tried.p50_s, rel=0.1)
    assert paper.p95_s == pytest.approx(tried.p95_s, rel=0.15)


def test_too_few_workers_are_too_few_in_virtual_time_too() -> None:
    """The measure can fail: what two workers hold for 24 cooks, one does not for a hundred."""
    assert simulated(100, 1, WORK, 1, 500).p95_s > 20.0 * simulated(24, 2, WORK, 1, 500).p95_s
