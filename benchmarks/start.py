"""Start-up and memory in fresh processes: cold (nothing ready yet), warm, and what each holds at its peak."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent

FIRST_RUN = """
import time; began = time.perf_counter()
from pitreckon.section.simulate import simulate_all
imported = time.perf_counter()
from benchmarks import cases
job = cases.job(cases.RACK, {members})
made = time.perf_counter()
{ready}
simulate_all([job])
first = time.perf_counter()
simulate_all([job])
again = time.perf_counter()
import json
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))  # getrusage knows the parent's, too
print(json.dumps(dict(import_s=imported - began, case_s=made - imported, first_s=first - made, again_s=again - first,
                      peak_mb=int(peak.split()[1]) / 1024)))
"""
BROUGHT = "from pitreckon.reckon.readied import make_ready; make_ready()"


def fresh(cache: str | None, members: int = 16, ready: str = BROUGHT) -> dict[str, float]:
    """One process: seconds of its import, first and second run, and peak memory.

    ready: what makes the kernel ready, as a part of the first run; "": it is compiled
    """
    own = {} if cache is None else {"NUMBA_CACHE_DIR": cache}
    done = subprocess.run(
        [sys.executable, "-c", FIRST_RUN.format(members=members, ready=ready)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env=os.environ | own,
    )
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def starts(rounds: int = 5) -> list[dict[str, Any]]:
    """Rows: cold once, with and without what the package brings, warm the median, and peak memory by ensemble size."""
    with tempfile.TemporaryDirectory() as cache:
        cold = fresh(cache)
        with tempfile.TemporaryDirectory() as another:
            compiled = fresh(another, ready="")
        warm = [fresh(cache) for _ in range(rounds)]
        large = {n: fresh(cache, n)["peak_mb"] for n in (256, 1024)}
    median = {name: statistics.median(w[name] for w in warm) for name in cold}
    rows: list[dict[str, Any]] = [
        {"start": "cold", "rounds": 1, **cold},
        {"start": "cold, compiled by numba", "rounds": 1, **compiled},
        {"start": "warm", "rounds": rounds, **median},
    ]
    for row in rows:
        row["to_first_result_s"] = row["import_s"] + row["first_s"]
    rss = (large[1024] - large[256]) * 1024 / (1024 - 256)
    return [
        *rows,
        {"start": "memory", "peak_mb_16": median["peak_mb"], "peak_mb_1024": large[1024], "rss_kb_member": rss},
    ]
