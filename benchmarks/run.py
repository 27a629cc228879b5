"""``python -m benchmarks.run``: the kernel by itself, its readable twin, and a whole outlook.

Medians of several runs and ratios within this one run; the machine's own noise is in the spread shown.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from rich.console import Console
from rich.table import Table

from pitreckon import catalog
from pitreckon.cli.demo import COOK_FILE
from pitreckon.intake.cookfile import cook_from_text
from pitreckon.reckon import reckon
from pitreckon.section import material
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import surround

SEA_LEVEL_PA = 101325.0
CASES = {"racks, 4 h at 135 C": ("st-louis-ribs", 135.0, 4.0), "butt, 10 h at 121 C": ("boston-butt", 121.0, 10.0)}


def timed(work: Callable[[], object], times: int) -> tuple[float, float, float]:
    """Least, median and most of the wall times of some runs after a warm one [s]."""
    work()
    took = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        took.append(time.perf_counter() - begin)
    return min(took), statistics.median(took), max(took)


def kernel_case(cut_key: str, air_c: float, hours: float, n: int, **how: object) -> Callable[[], object]:
    """One bare stage of a cut, members spread in their water transport."""
    cut = catalog.cut(cut_key)
    section = material.section_of(cut)
    middle = material.parameters_of(cut, SEA_LEVEL_PA)
    members = Members.of(n, middle).changed(transport=middle["transport"] * np.geomspace(0.6, 1.6, n))
    stage = surround(
        air_c=air_c,
        pressure_pa=SEA_LEVEL_PA,
        convection_w_m2k=13.0,
        emissivity=0.9,
        open_fraction=cut.surface.open_fraction.value,
        mirrored=section.mirrored,
    )
    course = Course.of(n, [stage | {"vapour_pa": 2400.0, "until": Until.NEVER}])
    drive = Drive(np.full((2, n), air_c))
    mass = np.full(n, material.raw_mass_of(cut, section))
    return lambda: simulate(section, members, drive, course, horizon_s=hours * 3600.0, mass=mass, **how)  # type: ignore[arg-type]


def main() -> None:
    """Run and print."""
    table = Table("work", "members", "least", "median", "most", "ms a member", "over one thread")
    for name, (cut, air_c, hours) in CASES.items():
        one = None
        for engine, threads, n, times in (
            ("compiled", 1, 256, 5),
            ("compiled", None, 256, 5),
            ("readable", None, 32, 1),
        ):
            low, mid, high = timed(kernel_case(cut, air_c, hours, n, engine=engine, threads=threads), times)
            each = mid / n * 1e3
            one = one or each
            words = (
                engine
                if engine == "readable"
                else f"{engine}, {threads or 'all'} thread{'s' if threads is None else ''}"
            )
            table.add_row(
                f"{name}: {words}",
                str(n),
                f"{low:.2f} s",
                f"{mid:.2f} s",
                f"{high:.2f} s",
                f"{each:.2f}",
                f"{each / one:.2f}",
            )
    cook = cook_from_text(COOK_FILE, "demo")
    low, mid, high = timed(lambda: reckon(cook, members=512), 3)
    table.add_row("outlook of the demo's three items", "512", f"{low:.2f} s", f"{mid:.2f} s", f"{high:.2f} s", "", "")
    Console().print(table)


if __name__ == "__main__":
    main()
