"""Many cooks at few workers, on paper and in virtual time: how long a look waits for its answer.

On paper it is the finite-source queue (Palm's machine repair problem, M/M/c//N; Erlang's delay formula is its limit for
many cooks): N cooks, each with a look some while after its last answer, c workers, answers that take a measured time.
What a cook says while it waits is in the answer that it waits for, so nobody is in the line twice. A cook without a
look is reckoned by the hour besides, a minute after its last answer; a look goes before that, but does not stop it.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from pitreckon.work.queue import Line, Waiter

LOOK, HOUR = 1, 2


@dataclass(frozen=True)
class Answers:
    """How long an answer to a look takes, waiting included [s]. busy: share of the workers' time"""

    p50_s: float
    p95_s: float
    busy: float


@dataclass(frozen=True)
class Work:
    """What is asked, and how long it takes.

    between_s: from a look's answer to the next look, mean; hour_s: from an answer to the next one by the hour
    took_s: measured answers; before_s: what comes before the answer to a look, the first answer and what tells of it
    """

    between_s: float
    hour_s: float
    took_s: Sequence[float]
    before_s: float = 0.0

    @property
    def asked_every_s(self) -> float:
        """From an answer to the next question of the same cook, look or hour, mean: looks come by chance."""
        return self.between_s * (1.0 - math.exp(-self.hour_s / self.between_s))


def queue_length(cooks: int, workers: int, load: float) -> np.ndarray:
    """How likely 0, 1, ... of ``cooks`` are asked about at a moment. load: answer's time over the time between looks.

    With N cooks, c workers and a = load: p(n) ~ N! / (N - n)! / n! a^n up to c, and / c! / c^(n - c) in place of / n!
    beyond it (Palm 1947; in every textbook of queues as M/M/c//N).
    """
    logs = [
        math.lgamma(cooks + 1)
        - math.lgamma(cooks - n + 1)
        + n * math.log(load)
        - (math.lgamma(n + 1) if n <= workers else math.lgamma(workers + 1) + (n - workers) * math.log(workers))
        for n in range(cooks + 1)
    ]
    shares = np.exp(np.array(logs) - max(logs))
    return np.asarray(shares / shares.sum())


def on_paper(cooks: int, workers: int, work: Work) -> Answers:
    """Median and 95 % of the answer to a look.

    A look that comes finds the others as they are without it (N - 1 of them, the arrival theorem). With k - 1 looks in
    line before it, it waits for k answers of c workers at work. The line is that of exponential times, the wait that of
    the measured ones: their squared coefficient of variation stands for the spread of each, (1 + cv^2) / 2 for what is
    left of the one at work. Where all workers are at it, but not with looks alone, it waits for the first to be free.
    """
    took = np.asarray(work.took_s)
    mean, cv2 = float(np.mean(took)), float(np.var(took) / np.mean(took) ** 2)
    others = queue_length(cooks - 1, workers, (mean + work.before_s) / work.between_s)
    all_asked = queue_length(cooks - 1, workers, (mean + work.before_s) / work.asked_every_s)
    at_s = np.linspace(0.0, mean * (cooks + 4), 4000)
    full_of_looks, full = float(others[workers:].sum()), float(all_asked[workers:].sum())
    first_free = 1.0 - (1.0 - np.minimum(at_s / mean, 1.0)) ** workers
    waits = (1.0 - full) + max(full - full_of_looks, 0.0) * first_free
    for n in range(workers, cooks):
        k = n - workers + 1
        wait_s = (k - 1 + (1.0 + cv2) / 2.0) * mean / workers
        spread2 = ((k - 1) * cv2 + (1.0 + cv2) ** 2 / 12.0) * (mean / workers) ** 2
        waits = waits + others[n] * stats.gamma.cdf(at_s, wait_s**2 / spread2, scale=spread2 / wait_s)
    answered = np.mean([np.interp(at_s - each - work.before_s, at_s, waits, left=0.0) for each in took], axis=0)
    busy = float(np.dot(np.minimum(np.arange(cooks), workers), all_asked)) / workers
    return Answers(float(np.interp(0.5, answered, at_s)), float(np.interp(0.95, answered, at_s)), busy)


class _Cook:
    """asked: the question that waits or is at work, None: none; at_work: it is; turn: which of its questions that is"""

    def __init__(self) -> None:
        self.asked: Waiter | None = None
        self.at_work = False
        self.turn = 0


class _House:
    """All cooks, the page's own line, and a clock that jumps to what is next."""

    def __init__(self, cooks: int, workers: int, work: Work, dice: np.random.Generator) -> None:
        self.work, self.dice = work, dice
        self.cooks, self.free = [_Cook() for _ in range(cooks)], workers
        self.line: Line[Waiter] = Line()
        self.clock = self.busy_s = 0.0
        self.answers: list[float] = []
        self._events: list[tuple[float, int, str, int, int]] = []
        self._n = 0
        for n in range(cooks):
            self._later(dice.exponential(work.between_s), "look", n)
            self._later(dice.uniform(0.0, work.hour_s), "hour", n)

    def _later(self, after_s: float, what: str, n: int) -> None:
        self._n += 1
        heapq.heappush(self._events, (self.clock + after_s, self._n, what, n, self.cooks[n].turn))

    def step(self) -> None:
        """What happens next, and who is served then."""
        self.clock, _, what, n, turn = heapq.heappop(self._events)
        cook = self.cooks[n]
        if what == "look":
            self._look(n, cook)
        elif turn == cook.turn and what == "hour" and cook.asked is None:
            self._ask(n, cook, HOUR)
        elif turn == cook.turn and what == "done":
            self._done(n, cook)
        while self.free and len(self.line):
            self._serve(self.line.in_order()[0])

    def _ask(self, n: int, cook: _Cook, urgency: int) -> None:
        cook.asked = Waiter(str(n), urgency, since_s=self.clock)
        self.line.join(cook.asked)

    def _look(self, n: int, cook: _Cook) -> None:
        if cook.asked is not None and not cook.at_work:
            cook.asked.urgency, cook.asked.since_s = LOOK, self.clock
            return
        if cook.at_work:  # by the hour, without the look: it is left
            cook.at_work = False
            cook.turn += 1
            self.free += 1
        self._ask(n, cook, LOOK)

    def _serve(self, waiter: Waiter) -> None:
        self.line.serve(waiter)
        cook = self.cooks[int(waiter.name)]
        cook.at_work = True
        self.free -= 1
        took_s = float(self.dice.choice(self.work.took_s)) + (self.work.before_s if waiter.urgency == LOOK else 0.0)
        self.busy_s += took_s
        self._later(took_s, "done", int(waiter.name))

    def _done(self, n: int, cook: _Cook) -> None:
        assert cook.asked is not None
        if cook.asked.urgency == LOOK:
            self.answers.append(self.clock - cook.asked.since_s)
            self._later(float(self.dice.exponential(self.work.between_s)), "look", n)
        cook.asked, cook.at_work = None, False
        cook.turn += 1
        self.free += 1
        self._later(self.work.hour_s, "hour", n)


def simulated(cooks: int, workers: int, work: Work, seed: int, looks: int = 10_000) -> Answers:
    """The same by the page's own line in virtual time: cooks look by chance, and the longest without a turn is next."""
    house = _House(cooks, workers, work, np.random.default_rng([seed, cooks, workers]))
    while len(house.answers) < looks:
        house.step()
    p50, p95 = np.quantile(house.answers[looks // 10 :], (0.5, 0.95))
    return Answers(float(p50), float(p95), house.busy_s / house.clock / workers)
