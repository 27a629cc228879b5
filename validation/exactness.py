"""The section against exact solutions: the figures behind ``tests/section``, measured, not only held to a limit.

The cases are those of the tests, which are imported from there so that nothing stands twice.
"""

from __future__ import annotations

import importlib
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import numpy as np

from pitreckon.section import shapes
from pitreckon.section.simulate import simulate

TESTS = Path(__file__).resolve().parents[1] / "tests" / "section"
NAMES = {
    "slab": "slab",
    "ball": "sphere",
    "block": "bar of two sides",
    "drum": "finite cylinder",
    "rack": "rack, bone as meat",
}


@dataclass(frozen=True)
class Figure:
    """One line of the table."""

    says: str
    measured: str
    limit: str


def _test_module(name: str) -> ModuleType:
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return importlib.import_module(name)


def figures() -> list[Figure]:
    """Every figure, compiled kernel. Takes about half a minute."""
    return [*_exact(), *_space(), *_time(), *_cells()]


def _exact() -> list[Figure]:
    test = _test_module("test_section_exact")
    rows = []
    for shape, section in test.PIECES.items():
        core = test.conducted(section, test.BIOT, "compiled")["core_c"]
        fault = max(
            abs(core[round(10 * fo), m] - test.exact_core(shape, section, float(bi), fo))
            for m, bi in enumerate(test.BIOT)
            for fo in test.FOURIER
        )
        rows.append(Figure(f"core, {NAMES[shape]}, Bi 0.5-10, Fo 0.1-1", f"{100 * fault:.3f} % of the step", "0.2 %"))
    return rows


def _space() -> list[Figure]:
    test = _test_module("test_section_order")
    return [
        Figure(f"order in space, {NAMES[shape]}", f"{test.space_order(shape, 'compiled', sizes):.2f}", "2 ± 0.15")
        for shape, sizes in test.SIZES.items()
    ]


def _time() -> list[Figure]:
    test, trial = _test_module("test_section_order"), _test_module("trial")
    rows, knots, knot = [], 6, 600.0
    for shape, section in (
        ("slab", shapes.slab(0.06, n=21)),
        ("block", shapes.block(0.06, 0.08, nx=6, ny=6)),
    ):
        true = test.ramp_solution(section, 20.0, 1.0 / (knots * knot), knots * knot)
        parts, faults = np.array([8, 16, 32, 64]), []
        for substeps in parts:
            trace = simulate(
                section,
                trial.members(1, trial.INERT, start_c=0.0),
                trial.Drive(np.linspace(0.0, 1.0, knots + 1)[:, None], knot_s=knot),
                trial.course(1, trial.stage(convection=20.0, emissivity=0.0, vapour=0.0)),
                horizon_s=knots * knot,
                record_every=knots,
                substeps=int(substeps),
            )
            places = zip(("core_c", "place1_c", "place2_c"), section.places, strict=False)
            faults.append(max(abs(trace[name][-1, 0] - true[cell]) for name, cell in places))
        observed = test.order(1.0 / parts, faults)
        rows.append(Figure(f"order in time, {NAMES[shape]}", f"{observed:.2f}", "2 ± 0.15"))
    return rows


def _cells() -> list[Figure]:
    test = _test_module("test_section_accuracy")
    rows = []
    for name, case in (("ribs", test.RIBS), ("butt", test.BUTT)):
        centre, marks, loss, _ = test.compared(test.cooked(*case, 1.0, 1), test.cooked(*case, 2.0, 2))
        rows.append(
            Figure(
                f"{name}, cells and steps in use against twice as fine",
                f"centre {centre:.2f} K, marks {marks:.1f} min, loss {100 * loss:.2f} points",
                "1 K, 4 min, 0.2 points",
            )
        )
    return rows
