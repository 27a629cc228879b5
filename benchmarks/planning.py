"""``python -m benchmarks.planning``: what planning a day takes, phase by phase, and then a what-if of that day.

Seven items on two pits and fourteen on three, from a warm start: the kernel compiled, the solver loaded, nothing of the
day known. CPU seconds are those of the whole process; on a busy machine they say more than the clock does.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

from rich.console import Console
from rich.table import Table

from pitreckon.plan.read import read_wishes
from pitreckon.plan.schedule.cache import OptionCache
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.variants import variant
from pitreckon.plan.wishes import Wishes
from pitreckon.section.warm import warm

DAYS = Path(__file__).resolve().parent.parent / "validation" / "days"
TARGETS_S = {"15-seven-on-two": 5.0, "17-fourteen-on-three-pits": 12.0}
"""On two idle cores, by the clock [s]."""
WHAT_IFS = ("later", "hand", "less-sure")
"""Changes of which every way of cooking was run for the day itself."""
PHASES = ("reading and sharing out", "scenarios", "choice", "trial on unseen ones")
STARTS = ("cooking each of", "choosing", "trying the choice")
Row = tuple[str, str, float, float]


class Phases:
    """Clock and CPU at the beginning of each phase, as the planner tells what it works on."""

    def __init__(self) -> None:
        self.at: list[tuple[str, float, float]] = []
        self.tell("")

    def tell(self, words: str) -> None:
        """A new phase begins, if these words begin one."""
        now = (time.perf_counter(), time.process_time())
        found = next((n for n, start in enumerate(STARTS, 1) if words.startswith(start)), None)
        if not self.at or found is not None:
            self.at.append((PHASES[found or 0], *now))

    def rows(self, name: str) -> list[Row]:
        """Seconds by the clock and of CPU, of each phase and of all."""
        ends = [*self.at[1:], ("", time.perf_counter(), time.process_time())]
        took: dict[str, list[float]] = {}
        for (phase, wall, cpu), (_, wall_end, cpu_end) in zip(self.at, ends, strict=True):
            so_far = took.setdefault(phase, [0.0, 0.0])
            so_far[0] += wall_end - wall
            so_far[1] += cpu_end - cpu
        every = [(name, phase, *spent) for phase, spent in took.items()]
        return [*every, (name, "all of it", ends[-1][1] - self.at[0][1], ends[-1][2] - self.at[0][2])]


def planned(name: str, wishes: Wishes, cache: OptionCache) -> list[Row]:
    """Plan a day, phase by phase."""
    phases = Phases()
    plan(wishes, explain=False, progress=phases.tell, cache=cache)
    return phases.rows(name)


def rows() -> list[Row]:
    """Both days, and what-ifs of the first."""
    warm()
    plan(read_wishes(DAYS / "02-thighs-for-six.toml"))
    out: list[Row] = []
    for name in TARGETS_S:
        cache, wishes = OptionCache(), read_wishes(DAYS / f"{name}.toml")
        out += planned(name, wishes, cache)
        for key in WHAT_IFS:
            changed = variant(wishes, key)
            if changed is not None and name == next(iter(TARGETS_S)):
                out.append(planned(f"{name}, {changed.words}", changed.wishes, cache)[-1])
    return out


def main() -> None:
    """Measure and print."""
    table = Table("day", "phase", "s", "CPU s", "at most, s, on two idle cores")
    for name, phase, wall, cpu in rows():
        target = TARGETS_S.get(name) if phase == "all of it" else None
        table.add_row(name, phase, f"{wall:.1f}", f"{cpu:.1f}", "" if target is None else f"{target:.0f}")
    console = Console()
    console.print(table)
    console.print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the end")


if __name__ == "__main__":
    main()
