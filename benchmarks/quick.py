"""``python -m benchmarks.quick [--keep]``: has a change made something slower? Told by ratios within this one run.

Each work is run in turns with a yardstick of a fixed size, and what counts is the processor's time of the work over
that of the yardsticks right before and after it: a slow minute, another program or another clock rate falls on both.
The median of the rounds is held against the ratio kept for this kind of machine in ``results/quick.json``. A work that
comes out more than 15 % above it is tried again, in rounds of its own; only if the least of all its medians is still
above, it is told. Nothing here is a test: the tests do not look at the clock.

--keep: what is measured now is what later runs are held against. A machine of which nothing is kept keeps it anyway.
"""

from __future__ import annotations

import argparse
import json
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

MOST = 1.15
"""Times what was kept, above which a work is told."""
ROUNDS, TRIES = 7, 4
KEPT = Path(__file__).resolve().parent / "results" / "quick.json"


@dataclass(frozen=True)
class Work:
    """What is run, and how its processor time is taken [s]; yardstick: of the same sort of work."""

    call: Callable[[], object]
    yardstick: Callable[[], object]
    clock: Callable[[], float] = time.thread_time


def numbers() -> None:
    """A yardstick of arithmetic in single precision on what a first cache holds."""
    x = np.full(2048, 0.5, np.float32)
    for _ in range(6000):
        x *= np.float32(0.9)
        x += np.float32(0.1)
        np.divide(x, np.float32(1.1), out=x)
        np.sqrt(x, out=x)


def words() -> None:
    """A yardstick of what the interpreter does: lists, dictionaries, strings, calls."""
    for turn in range(12):
        rows = [{"at": i, "name": str(i * turn)} for i in range(1500)]
        rows.sort(key=lambda row: row["name"])
        json.loads(json.dumps({str(row["at"]): row for row in rows}))


def both() -> None:
    """Half of each."""
    numbers()
    words()


def a_process(code: str) -> Callable[[], object]:
    """A fresh interpreter that runs this."""
    return lambda: subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def of_children() -> float:
    """Processor time of all programs that were started and are over [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


NOTHING = a_process("import json, decimal, email.message, numpy")


def works() -> dict[str, Work]:
    """All of them, by name; each takes some tenths of a second, on this thread alone."""
    from benchmarks import cases, updates  # noqa: PLC0415
    from pitreckon.ledger import Ledger, Look  # noqa: PLC0415
    from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415
    from pitreckon.reckon.onward import onward  # noqa: PLC0415
    from pitreckon.reckon.whatif import what_ifs  # noqa: PLC0415
    from pitreckon.section.simulate import simulate_all  # noqa: PLC0415

    found = {}
    for name, kind in cases.KINDS.items():
        job = cases.job(kind, 64)
        found[f"kernel: {name}"] = Work(lambda job=job: simulate_all([job], threads=1), numbers)
    cook, ledger = updates.cook_of("racks")
    before = reckoning(cook, ledger, now=updates.NOW, members=256, threads=1)
    more = Ledger.of([*ledger.events, Look(updates.NOW, "racks", None, "colour", 0.9)])
    found["update: a rack"] = Work(lambda: reckoning(cook, ledger, now=updates.NOW, members=128, threads=1), both)
    found["update: going on"] = Work(lambda: [onward(before, more, updates.NOW) for _ in range(3)], both)
    found["what-ifs"] = Work(lambda: what_ifs(before, members=64), both, time.process_time)
    for name, code in (
        ("start: --help", "import sys; sys.argv = ['pitreckon', '--help']; from pitreckon.cli.main import run; run()"),
        ("start: a reckoning's imports", "import pitreckon.cli.main, pitreckon.cli.run"),
        ("start: kernel", "from pitreckon.section.warm import warm; warm()"),
    ):
        found[name] = Work(a_process(code), NOTHING, of_children)
    return found


def ratio(work: Work) -> float:
    """Processor time of a work over that of its yardstick before and after it."""
    took = []
    for call in (work.yardstick, work.call, work.yardstick):
        begin = work.clock()
        call()
        took.append(work.clock() - begin)
    before, of_work, after = took
    return 2.0 * of_work / (before + after)


def measured(some: Mapping[str, Work], rounds: int) -> dict[str, float]:
    """Median ratio of each, the works in turns."""
    took: dict[str, list[float]] = {name: [] for name in some}
    for _ in range(rounds):
        for name, work in some.items():
            took[name].append(ratio(work))
    return {name: statistics.median(each) for name, each in took.items()}


def compared(some: Mapping[str, Work], kept: Mapping[str, float], rounds: int = ROUNDS) -> dict[str, float]:
    """Ratios now; those above what is kept are measured again, and the least of their medians counts."""
    found = measured(some, rounds)
    for _ in range(TRIES - 1):
        slow = {name: some[name] for name in slower(found, kept)}
        if not slow:
            break
        for name, again in measured(slow, rounds).items():
            found[name] = min(found[name], again)
    return found


def slower(found: Mapping[str, float], kept: Mapping[str, float]) -> list[str]:
    """What costs more than it may."""
    return [name for name, now in found.items() if name in kept and now > MOST * kept[name]]


def machine() -> str:
    """What kept ratios are good for: this kind of processor, this interpreter, these libraries."""
    from llvmlite import binding as llvm  # noqa: PLC0415

    major = [".".join(version.split(".")[:2]) for version in (platform.python_version(), np.__version__)]
    return f"{llvm.get_host_cpu_name()}, Python {major[0]}, numpy {major[1]}"


def main() -> int:
    """Measure, compare, say; 1 where something has become slower."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.quick")
    parser.add_argument("--keep", action="store_true", help="hold later runs against what is measured now")
    parser.add_argument("--only", default="", metavar="TEXT", help="works whose name has this in it")
    asked = parser.parse_args()
    every: dict[str, Any] = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    here = machine()
    kept: dict[str, float] = every.get(here, {})
    some = {name: work for name, work in works().items() if asked.only in name}
    for work in some.values():
        work.call()  # what only the first run takes
    found = measured(some, ROUNDS) if asked.keep else compared(some, kept)
    told = [] if asked.keep else slower(found, kept)
    print(f"Processor time over that of a yardstick, on {here}:")
    for name, now in found.items():
        was = kept.get(name)
        beside = "nothing kept" if was is None else f"kept {was:.3f}, {100.0 * (now / was - 1.0):+.0f} %"
        print(f"  {name:30} {now:7.3f}  {beside}{'   slower' if name in told else ''}")
    fresh = found if asked.keep else {name: now for name, now in found.items() if name not in kept}
    if fresh:
        every[here] = kept | fresh
        KEPT.write_text(json.dumps(every, indent=1) + "\n", encoding="utf-8")
        print(f"Kept from now on: {', '.join(fresh)}.")
    if told:
        print(f"More than {100.0 * (MOST - 1.0):.0f} % slower: {', '.join(told)}.")
        print("If that is what the change is worth, keep it: python -m benchmarks.quick --keep")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
