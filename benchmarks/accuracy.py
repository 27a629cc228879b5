"""How far the kernel is from the tight solution on its own cells, and its cells from four times finer ones."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from benchmarks import cases, reference
from pitreckon.section.simulate import Precision, simulate_all
from pitreckon.section.trace import Trace


def of_steps(kind: str, members: int = 128) -> list[dict[str, Any]]:
    """Errors of single and double precision as shipped, against the tight solution."""
    job = replace(cases.job(cases.KINDS[kind], members), record_every=1)
    exact = reference.tight(job)
    precisions: tuple[Precision, ...] = ("single", "double")
    rows = []
    for precision in precisions:
        trace = simulate_all([job], precision=precision)[0]
        row = reference.errors(trace, exact, job).row()
        rows.append({"case": kind, "precision": precision, "members": members, **row, **_books(trace)})
    return rows


def _books(trace: Trace) -> dict[str, Any]:
    return {
        "water_fault": float(np.nanmax(np.abs(trace.balance[0]))),
        "heat_fault": float(np.nanmax(np.abs(trace.balance[1]))),
        "failed": len(trace.failed),
    }


def of_cells(kind: str, members: int = 4, finer: float = 4.0, substeps: int = 4) -> dict[str, Any]:
    """Errors of the cells: the usual ones against ``finer`` times finer, both in double precision with short steps."""
    usual, fine = (replace(cases.job(cases.KINDS[kind], members, finer=f), record_every=1) for f in (1.0, finer))
    exact = simulate_all([replace(fine, substeps=substeps)], precision="double")[0]
    trace = simulate_all([replace(usual, substeps=substeps)], precision="double")[0]
    found = reference.errors(trace, exact, usual)
    return {
        "case": kind,
        "members": members,
        "finer": finer,
        "cells": usual.section.cells,
        "fine_cells": fine.section.cells,
        **found.row(),
    }
