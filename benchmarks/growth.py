"""How cost grows with members, cells, hours and items, and how memory does."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from typing import Any

from benchmarks import cases
from benchmarks.clock import in_turns
from pitreckon.section.simulate import Job, simulate_all


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


def memory() -> list[dict[str, Any]]:
    """What Python and NumPy hold for each member; the kernel's own room a thread is counted by ``arithmetic``."""
    rows = []
    for name, kind in cases.KINDS.items():
        simulate_all([cases.job(kind, 16)], threads=1)  # what only the first run of a process takes
        for snapshot_s in (None, 3600.0):
            held = []
            for n in (128, 512):
                job = replace(cases.job(kind, n), snapshot_s=snapshot_s)
                tracemalloc.start()
                trace = simulate_all([job], threads=1)[0]
                held.append(tracemalloc.get_traced_memory())
                tracemalloc.stop()
                del trace
            result, peak = ((held[1][k] - held[0][k]) / (512 - 128) for k in (0, 1))
            own = 8.0 * (job.members.values.size + job.drive.air_c.size + job.course.table.size) / job.members.size
            rows.append(
                {
                    "case": name,
                    "kept": snapshot_s is not None,
                    "result_kb_member": result / 1024,
                    "peak_kb_member": peak / 1024,
                    "input_kb_member": own / 1024,
                }
            )
    return rows
