"""``python -m benchmarks.arithmetic rack``: how much arithmetic a member's cook takes, counted by running the kernel.

The kernel's own source runs here as plain Python, one lane wide, for one member; now and then a step is repeated with
numbers that count what is done to them. So the count follows the source, whatever it becomes. An addition, a
multiplication, a division and a square root count one each; comparisons, limits and signs count nothing.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any, ClassVar

ROOT = Path(__file__).resolve().parent.parent
EVERY = 37
"""Steps between two that are counted: no divisor of what a knot or a stage takes."""


class Counted:
    """A number that counts the arithmetic done to it."""

    __slots__ = ("v",)
    done: ClassVar[Counter[str]] = Counter()

    def __init__(self, v: Any) -> None:
        self.v = v.v if isinstance(v, Counted) else float(v)

    def __float__(self) -> float:
        return self.v

    def __neg__(self) -> Counted:
        return Counted(-self.v)

    def __abs__(self) -> Counted:
        return Counted(abs(self.v))

    def sqrt(self) -> Counted:
        """What ``np.sqrt`` of an object calls."""
        Counted.done["sqrt"] += 1
        return Counted(self.v**0.5)

    def __pow__(self, power: float) -> Counted:
        if power == 0.5:
            return self.sqrt()
        Counted.done["mul"] += int(power) - 1
        return Counted(self.v ** int(power))


def _counting(kind: str, reckon: Any) -> Any:
    def operate(a: Counted, b: Any) -> Counted:
        Counted.done[kind] += 1
        return Counted(reckon(a.v, float(b)))

    return operate


def _comparing(reckon: Any) -> Any:
    return lambda a, b: reckon(a.v, float(b))


for _name, _kind, _reckon in (
    ("__add__", "add", lambda a, b: a + b),
    ("__radd__", "add", lambda a, b: a + b),
    ("__sub__", "add", lambda a, b: a - b),
    ("__rsub__", "add", lambda a, b: b - a),
    ("__mul__", "mul", lambda a, b: a * b),
    ("__rmul__", "mul", lambda a, b: a * b),
    ("__truediv__", "div", lambda a, b: a / b),
    ("__rtruediv__", "div", lambda a, b: b / a),
):
    setattr(Counted, _name, _counting(_kind, _reckon))
for _name, _reckon in (
    ("__lt__", lambda a, b: a < b),
    ("__le__", lambda a, b: a <= b),
    ("__gt__", lambda a, b: a > b),
    ("__ge__", lambda a, b: a >= b),
    ("__eq__", lambda a, b: a == b),
    ("__ne__", lambda a, b: a != b),
):
    setattr(Counted, _name, _comparing(_reckon))


def counted(part: Any) -> Any:
    """A copy of the kernel's arrays, tuples of them included, whose numbers count."""
    import numpy as np  # noqa: PLC0415

    if isinstance(part, np.ndarray) and part.dtype.kind == "f":
        out = np.empty(part.shape, object)
        out.ravel()[:] = [Counted(v) for v in part.ravel()]
        return out
    if isinstance(part, tuple):
        inner = [counted(p) for p in part]
        return type(part)(*inner) if hasattr(part, "_fields") else tuple(inner)
    return part


def count(kind: str) -> dict[str, Any]:
    """Of one member: steps, operations a step by sort, bytes that the kernel takes for a lane."""
    import numpy as np  # noqa: PLC0415

    from pitreckon.section import laws, tally  # noqa: PLC0415

    tally.LANES = 1
    laws.limited = lambda x, low, high: min(max(x, low), high)
    from benchmarks import cases  # noqa: PLC0415  (after the lanes are set)
    from pitreckon.section.compiled import kernel as compiled  # noqa: PLC0415
    from pitreckon.section.simulate import simulate_all  # noqa: PLC0415

    if compiled.LANES != 1:
        raise RuntimeError("the kernel's lanes were set before they could be narrowed to one")
    steps, room = 0, 0
    sampled: list[Counter[str]] = []
    attempt, settle, rows = compiled.attempt, compiled.settle, compiled.rows
    wanted = False

    def trying(*args: Any) -> None:
        nonlocal steps, wanted
        wanted = steps % EVERY == EVERY // 2
        steps += 1
        if wanted:
            Counted.done = Counter()
            attempt(*counted(args))
        attempt(*args)

    def settling(*args: Any) -> None:
        nonlocal wanted
        if wanted:
            settle(*counted(args))
            sampled.append(Counted.done)
            wanted = False
        settle(*args)

    def rowing(many: int, like: Any) -> Any:
        nonlocal room
        room += many * 4
        return rows(many, like)

    compiled.attempt, compiled.settle, compiled.rows = trying, settling, rowing
    whole = cases.job(cases.KINDS[kind], 16)
    job = cases.part(whole, np.array([1]))
    simulate_all([job], precision="double", threads=1)
    total: Counter[str] = sum(sampled, Counter())
    each = {sort: many / len(sampled) for sort, many in total.items()}
    return {
        "case": kind,
        "cells": job.section.cells,
        "steps": steps,
        "sampled": len(sampled),
        "each_step": each,
        "operations_step": sum(each.values()),
        "operations_cell_step": sum(each.values()) / job.section.cells,
        "operations_member": steps * sum(each.values()),
        "room_bytes_lane_single": room,
    }


def counts(kinds: tuple[str, ...] = ("rack", "drum")) -> list[dict[str, Any]]:
    """``count`` in processes of their own, where nothing is compiled."""
    rows = []
    for kind in kinds:
        done = subprocess.run(
            [sys.executable, "-W", "ignore", "-m", "benchmarks.arithmetic", kind],
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env=os.environ | {"NUMBA_DISABLE_JIT": "1"},
        )
        rows.append(json.loads(done.stdout.splitlines()[-1]))
    return rows


if __name__ == "__main__":
    sys.stdout.write(json.dumps(count(sys.argv[1])) + "\n")
