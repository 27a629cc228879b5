"""Wall times on a machine that others use, too: works are run in turns, so that a slow minute falls on all of them."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Times:
    """Wall times of one work [s], in the order of the rounds."""

    s: tuple[float, ...]

    @property
    def best(self) -> float:
        """The least [s]."""
        return min(self.s)

    @property
    def median(self) -> float:
        """The median [s]."""
        return statistics.median(self.s)

    @property
    def most(self) -> float:
        """The most [s]."""
        return max(self.s)

    def over(self, other: Times) -> float:
        """Median of the ratios to another work's, round by round."""
        return statistics.median(mine / its for mine, its in zip(self.s, other.s, strict=True))

    def as_dict(self, members: int | None = None) -> dict[str, object]:
        """For a results file; with ``members`` in milliseconds a member as well."""
        out: dict[str, object] = {
            "best_s": self.best,
            "median_s": self.median,
            "most_s": self.most,
            "rounds": len(self.s),
        }
        if members:
            out |= {"members": members, "best_ms_member": self.best / members * 1e3}
            out |= {"median_ms_member": self.median / members * 1e3}
        return out


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call [s]."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def in_turns(works: Mapping[str, Callable[[], object]], rounds: int, *, warm: bool = True) -> dict[str, Times]:
    """Run all works, one after the other, ``rounds`` times; once more before that where ``warm``."""
    if warm:
        for work in works.values():
            work()
    took: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            took[name].append(seconds(work))
    return {name: Times(tuple(s)) for name, s in took.items()}
