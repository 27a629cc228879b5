"""``python -m benchmarks.run [PART ...] [--write]``: measure, keep the figures, and write the tables of ``README.md``.

Without a part it measures all of them, which takes about half an hour; ``--quick`` is a short round of everything that
keeps nothing. ``--write`` alone only renders what is there.
"""

from __future__ import annotations

import argparse
import os
import platform
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from rich.console import Console

from benchmarks import (
    accuracy,
    arithmetic,
    cases,
    compare,
    costs,
    fields,
    growth,
    machine,
    page,
    phone,
    serverday,
    slots,
    start,
    store,
    tables,
    targets,
    toll,
    updates,
)
from benchmarks.clock import in_turns
from benchmarks.peers import Peers
from pitreckon.section.simulate import simulate_all

Rows = list[dict[str, Any]]


def _targets(quick: bool) -> Rows:
    rounds = 1 if quick else 7
    return [*targets.targets(rounds), targets.outlook(min(rounds, 5))]


def _peers(quick: bool) -> Rows:
    rounds = 1 if quick else 5
    rows: Rows = []
    with Peers() as peers:
        for kind in ("rack",) if quick else tuple(cases.KINDS):
            found = compare.compare(kind, peers, rounds=rounds)
            ours = next(row["ms_median"] for row in found if row["method"] == "Pitreckon, single")
            rows += found
            if not quick and kind != "block":
                rows.append(compare.numpy_twin(kind, ours))
            if kind == "block":
                rows.append(compare.finite_elements(peers, ours))
    return rows


def _agreement(quick: bool) -> Rows:
    with Peers() as peers:
        return compare.agreement(peers, ("rack",), 1) if quick else compare.agreement(peers)


def _accuracy(quick: bool) -> Rows:
    return [row for kind in cases.KINDS for row in accuracy.of_steps(kind, 16 if quick else 128)]


def _cells(quick: bool) -> Rows:
    return [accuracy.of_cells(kind, 2 if quick else 8, finer=2.0 if quick else 4.0) for kind in cases.KINDS]


def _arithmetic(quick: bool) -> Rows:
    """The count, and the share of the multiply-add limit that a run beside it reaches."""
    rows = arithmetic.counts(("rack",) if quick else ("rack", "drum", "block"))
    for row in rows:
        job = cases.job(cases.KINDS[row["case"]], 256)
        fma, amount = machine.limit_work("multiply-add")
        divide, divided = machine.limit_work("division")
        works = {"fma": fma, "divide": divide, "run": lambda job=job: simulate_all([job], threads=1)}
        took = in_turns(works, 3 if quick else 9)
        each, steps = row["each_step"], row["steps"]
        row["ms_member"] = took["run"].best / 256 * 1e3
        row["gflops"] = row["operations_member"] / row["ms_member"] / 1e6
        row["limit_gflops"] = amount / took["fma"].best / 1e9
        row["share"] = row["gflops"] / row["limit_gflops"]
        row["divide_ms"] = steps * (each["div"] + each.get("sqrt", 0.0)) / divided * took["divide"].best * 1e3
        row["other_ms"] = steps * (each["mul"] + each["add"]) / amount * took["fma"].best * 1e3
    return rows


PARTS: dict[str, Callable[[bool], Rows]] = {
    "machine": lambda quick: machine.limits(1 if quick else 7),
    "arithmetic": _arithmetic,
    "slots": lambda quick: slots.account("rack"),
    "targets": _targets,
    "accuracy": _accuracy,
    "cells": _cells,
    "fields": lambda quick: fields.field_rows(1 if quick else 5),
    "growth": lambda quick: growth.growth(1 if quick else 5),
    "memory": lambda quick: growth.memory(),
    "costs": costs.costs_rows,
    "day": serverday.day_rows,
    "start": lambda quick: start.starts(1 if quick else 5),
    "updates": lambda quick: updates.updates(1 if quick else 5),
    "store": store.store_rows,
    "page": page.page_rows,
    "phone": phone.phone_rows,
    "toll": toll.toll_rows,
    "agreement": _agreement,
    "peers": _peers,
}


def about() -> dict[str, Any]:
    """What a figure has to be read with."""
    import numba  # noqa: PLC0415
    import numpy  # noqa: PLC0415

    return {
        "day": datetime.now(UTC).date().isoformat(),
        "processor": _processor(),
        "cores": os.cpu_count(),
        "vectors": machine.vector_width(),
        "Python": platform.python_version(),
        "numba": numba.__version__,
        "numpy": numpy.__version__,
        "load before": round(os.getloadavg()[0], 1),
    }


def _processor() -> str:
    try:
        with open("/proc/cpuinfo") as lines:  # noqa: PTH123
            return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def main() -> None:
    """Run the parts that are asked for."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.run")
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--write", action="store_true", help="render README.md from the figures kept")
    parser.add_argument("--quick", action="store_true", help="one short round; keeps nothing")
    asked = parser.parse_args()
    odd = [part for part in asked.parts if part not in PARTS]
    if odd:
        parser.error(f"no part {', '.join(odd)}; there are {', '.join(PARTS)}")
    console = Console(width=200)
    for part in asked.parts or ([] if asked.write else PARTS):
        console.print(f"{part} ...")
        before = about()
        rows = PARTS[part](asked.quick)
        console.print(tables.of_part(part, rows), markup=False)
        if not asked.quick:
            tables.save(part, rows, before)
            if part == "costs":
                costs.PICTURE.write_bytes(costs.draw(rows))
    if asked.write:
        tables.render()


if __name__ == "__main__":
    main()
