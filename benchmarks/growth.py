"""How cost grows with members, cells, hours and items, and how memory does."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from benchmarks import cases
from benchmarks.clock import in_turns
from pitreckon.section.simulate import Job, simulate_all

ROOT = Path(__file__).resolve().parents[1]


def _rows(what: str, jobs: dict[str, list[Job]], threads: int, rounds: int) -> list[dict[str, Any]]:
    works = {name: (lambda some=some: simulate_all(some, threads=threads)) for name, some in jobs.items()}
    took = in_turns(works, rounds)
    rows = []
    for name, times in took.items():
        members = sum(job.members.size for job in jobs[name])
        cells = jobs[name][0].section.cells
        hours = jobs[name][0].horizon_s / 3600.0
        each = times.best / members / cells / hours * 1e9
        rows.append({"along": what, "at": name, "cells": cells, **times.as_dict(members), "ns_cell_member_hour": each})
    return rows


def growth(rounds: int = 3) -> list[dict[str, Any]]:
    """Rows: each axis by itself, on the rack, one thread (items: two)."""
    rack = cases.RACK
    rows = _rows("members", {str(n): [cases.job(rack, n)] for n in (16, 64, 256, 1024)}, 1, rounds)
    rows += _rows("cells", {f"x{f:g}": [cases.job(rack, 64, finer=f)] for f in (0.75, 1.0, 1.5, 2.0, 3.0)}, 1, rounds)
    rows += _rows("hours", {f"{h:g}": [cases.job(rack, 128, hours=h)] for h in (1.0, 2.0, 4.0, 6.0)}, 1, rounds)
    items = {str(k): [cases.job(rack, 128, seed=s) for s in range(k)] for k in (1, 2, 4, 8)}
    return rows + _rows("items", items, 2, rounds)


FEW, MANY = 512, 2560
ONE_RUN = """
import gc, json
from dataclasses import replace
from pathlib import Path
from benchmarks import cases
from pitreckon.section.simulate import simulate_all
job = replace(cases.job(cases.KINDS[{case!r}], {members}), snapshot_s={snapshot_s})
trace = simulate_all([job], threads=1)[0]
own = job.members.values.nbytes + job.drive.air_c.nbytes + job.course.table.nbytes
del job
gc.collect()
said = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
print(json.dumps([*(int(said[name].split()[0]) * 1024 for name in ("VmHWM", "VmRSS")), own]))
"""


def memory() -> list[dict[str, Any]]:
    """What the system counts of fresh processes, at the peak and with the result kept: mapped records are in it.

    A member's share is the difference of ``MANY`` and ``FEW`` members. The peak is of making the input, too. (It is
    ``VmHWM``: what ``getrusage`` calls the largest is that of the process that started this one, where it was larger.)
    """
    rows = []
    for name in cases.KINDS:
        for snapshot_s in (None, 3600.0):
            few, many = (_taken(name, members, snapshot_s) for members in (FEW, MANY))
            peak, held, own = ((b - a) / (MANY - FEW) / 1024 for a, b in zip(few, many, strict=True))
            rows.append(
                {
                    "case": name,
                    "kept": snapshot_s is not None,
                    "result_kb_member": held,
                    "peak_kb_member": peak,
                    "input_kb_member": own,
                    "peak_mb": few[0] / 1024**2,
                }
            )
    return rows


def _taken(case: str, members: int, snapshot_s: float | None) -> tuple[float, float, float]:
    """Of a fresh process that runs so many members: peak, what is held with the result, the input's arrays [bytes]."""
    code = ONE_RUN.format(case=case, members=members, snapshot_s=snapshot_s)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    peak, held, own = json.loads(done.stdout)
    return peak, held, own
