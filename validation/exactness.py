"""The section against exact solutions: the figures behind ``tests/section``, measured, not only held to a limit.

The cases are those of the tests, which are imported from there so that nothing stands twice.
"""

from __future__ import annotations

import importlib
import sys
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

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
    test = _test_module("test_section_order")
    rows = []
    for shape in test.RAMPED:
        observed = test.order(1.0 / test.PARTS, test.time_faults(shape, "compiled"))
        rows.append(Figure(f"order in time, {NAMES[shape]}", f"{observed:.2f}", "1.9 at least"))
    return rows


def _cells() -> list[Figure]:
    test = _test_module("test_section_accuracy")
    rows = []
    for name, case in (("ribs", test.RIBS), ("butt", test.BUTT)):
        centre, marks, loss, _ = test.compared(test.cooked(*case, 1.0, 1), test.cooked(*case, 2.0, 4))
        rows.append(
            Figure(
                f"{name}, cells and steps in use against twice as fine",
                f"centre {centre:.2f} K, marks {marks:.1f} min, loss {100 * loss:.2f} points",
                "1 K, 4 min, 0.2 points",
            )
        )
    return rows
