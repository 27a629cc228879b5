"""The machine's own limits, measured beside everything else: multiply-adds, our exponential, memory.

Each is a plain compiled loop with enough independent work to fill the pipelines; ``vector_code`` says what instructions
came of the first, so that a limit is not taken for one that scalar code set.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numba import njit

from benchmarks.clock import Times, in_turns
from pitreckon.section.compiler import Apart, set_up
from pitreckon.section.laws import exp_near

COMPILED: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}, "pipeline_class": Apart}
set_up()
CHAIN, ROWS = 8, 8
L1_BYTES, L2_BYTES, RAM_BYTES = 12 * 1024, 192 * 1024, 192 * 1024 * 1024
"""What the triad's three arrays take: well inside a first and a second cache, far beyond a last one."""


@njit(**COMPILED)
def multiply_add(x, a, b, times):
    """``CHAIN`` multiply-adds on every number of eight rows, the rows in turns; 2 operations each."""
    for _ in range(times):
        for i in range(x.shape[1]):
            v0, v1, v2, v3 = x[0, i], x[1, i], x[2, i], x[3, i]
            v4, v5, v6, v7 = x[4, i], x[5, i], x[6, i], x[7, i]
            v0, v1, v2, v3 = v0 * a[0] + b[0], v1 * a[0] + b[0], v2 * a[0] + b[0], v3 * a[0] + b[0]
            v4, v5, v6, v7 = v4 * a[0] + b[0], v5 * a[0] + b[0], v6 * a[0] + b[0], v7 * a[0] + b[0]
            v0, v1, v2, v3 = v0 * a[1] + b[1], v1 * a[1] + b[1], v2 * a[1] + b[1], v3 * a[1] + b[1]
            v4, v5, v6, v7 = v4 * a[1] + b[1], v5 * a[1] + b[1], v6 * a[1] + b[1], v7 * a[1] + b[1]
            v0, v1, v2, v3 = v0 * a[0] + b[0], v1 * a[0] + b[0], v2 * a[0] + b[0], v3 * a[0] + b[0]
            v4, v5, v6, v7 = v4 * a[0] + b[0], v5 * a[0] + b[0], v6 * a[0] + b[0], v7 * a[0] + b[0]
            v0, v1, v2, v3 = v0 * a[1] + b[1], v1 * a[1] + b[1], v2 * a[1] + b[1], v3 * a[1] + b[1]
            v4, v5, v6, v7 = v4 * a[1] + b[1], v5 * a[1] + b[1], v6 * a[1] + b[1], v7 * a[1] + b[1]
            v0, v1, v2, v3 = v0 * a[0] + b[0], v1 * a[0] + b[0], v2 * a[0] + b[0], v3 * a[0] + b[0]
            v4, v5, v6, v7 = v4 * a[0] + b[0], v5 * a[0] + b[0], v6 * a[0] + b[0], v7 * a[0] + b[0]
            v0, v1, v2, v3 = v0 * a[1] + b[1], v1 * a[1] + b[1], v2 * a[1] + b[1], v3 * a[1] + b[1]
            v4, v5, v6, v7 = v4 * a[1] + b[1], v5 * a[1] + b[1], v6 * a[1] + b[1], v7 * a[1] + b[1]
            v0, v1, v2, v3 = v0 * a[0] + b[0], v1 * a[0] + b[0], v2 * a[0] + b[0], v3 * a[0] + b[0]
            v4, v5, v6, v7 = v4 * a[0] + b[0], v5 * a[0] + b[0], v6 * a[0] + b[0], v7 * a[0] + b[0]
            v0, v1, v2, v3 = v0 * a[1] + b[1], v1 * a[1] + b[1], v2 * a[1] + b[1], v3 * a[1] + b[1]
            v4, v5, v6, v7 = v4 * a[1] + b[1], v5 * a[1] + b[1], v6 * a[1] + b[1], v7 * a[1] + b[1]
            x[0, i], x[1, i], x[2, i], x[3, i] = v0, v1, v2, v3
            x[4, i], x[5, i], x[6, i], x[7, i] = v4, v5, v6, v7


@njit(**COMPILED)
def exponentials(x, y, times):
    """Our exponential of every number."""
    for _ in range(times):
        for i in range(x.shape[0]):
            y[i] = exp_near(x[i])


@njit(**COMPILED)
def divisions(x, y, a, times):
    """One over every number."""
    for _ in range(times):
        for i in range(x.shape[0]):
            y[i] = a[0] / x[i]


@njit(**COMPILED)
def triad(a, b, c, s, times):
    """a = b + s c, again and again."""
    for _ in range(times):
        for i in range(a.shape[0]):
            a[i] = b[i] + s[0] * c[i]


def vector_code(kind: Any) -> str:
    """Multiply-add instructions of ``multiply_add`` in that precision, by width."""
    multiply_add(np.ones((ROWS, 64), kind), np.ones(2, kind), np.ones(2, kind), 1)
    code = "".join(
        asm for signature, asm in multiply_add.inspect_asm().items() if signature[0].dtype.name == np.dtype(kind).name
    )
    ending = "ps" if kind is np.float32 else "pd"
    wide = {w: len(re.findall(rf"vfmadd\w+{ending}\b.*{w}", code)) for w in ("zmm", "ymm", "xmm")}
    alone = len(re.findall(rf"vfmadd\w+{'ss' if kind is np.float32 else 'sd'}\b", code))
    return ", ".join(f"{many} {width}" for width, many in (wide | {"scalar": alone}).items() if many)


def _arrays(kind: Any, total_bytes: int, many: int) -> list[Any]:
    size = total_bytes // many // np.dtype(kind).itemsize
    return [np.full(size, 0.5, kind) for _ in range(many)]


def _works(kind: Any) -> dict[str, tuple[Callable[[], Callable[[], object]], float]]:
    """Makers of each work with what one call of it does: operations, exponentials or bytes."""
    item = np.dtype(kind).itemsize

    def fma() -> Callable[[], object]:
        x = np.full((ROWS, 128), 0.5, kind)
        a, b = np.array([0.5, 0.9], kind), np.array([0.1, 0.2], kind)
        return lambda: multiply_add(x, a, b, 40_000)

    def exps() -> Callable[[], object]:
        x, y = np.linspace(-20.0, 20.0, 1024).astype(kind), np.zeros(1024, kind)
        return lambda: exponentials(x, y, 20_000)

    def divs() -> Callable[[], object]:
        x, y, a = np.linspace(1.0, 20.0, 1024).astype(kind), np.zeros(1024, kind), np.ones(1, kind)
        return lambda: divisions(x, y, a, 40_000)

    def stream(total: int, times: int) -> Callable[[], Callable[[], object]]:
        def make() -> Callable[[], object]:
            a, b, c = _arrays(kind, total, 3)
            s = np.array([0.5], kind)
            return lambda: triad(a, b, c, s, times)

        return make

    def moved(total: int, times: int) -> float:
        return float(total // 3 // item * 3 * item * times)

    out = {
        "multiply-add": (fma, 128.0 * ROWS * 40_000 * CHAIN * 2),
        "division": (divs, 1024.0 * 40_000),
        "exp": (exps, 1024.0 * 20_000),
    }
    for name, total, times in (("L1", L1_BYTES, 400_000), ("L2", L2_BYTES, 12_000), ("RAM", RAM_BYTES, 3)):
        out[f"triad {name}"] = (stream(total, times), moved(total, times))
    return out


def limits(rounds: int = 5) -> list[dict[str, object]]:
    """Rows: what, precision, threads, best and median of billions a second."""
    rows: list[dict[str, object]] = []
    with ThreadPoolExecutor(2) as pool:
        for kind in (np.float32, np.float64):
            for name, (make, amount) in _works(kind).items():
                both = [make(), make()]

                def two(both: list[Callable[[], object]] = both) -> None:
                    for done in [pool.submit(work) for work in both]:
                        done.result()

                times: dict[str, Times] = in_turns({"1": both[0], "2": two}, rounds)
                for threads, t in times.items():
                    done = amount * int(threads) / 1e9
                    rows.append(
                        {
                            "what": name,
                            "precision": np.dtype(kind).name,
                            "threads": int(threads),
                            "best": done / t.best,
                            "median": done / t.median,
                        }
                    )
    return rows


def limit_work(what: str, kind: Any = np.float32) -> tuple[Callable[[], object], float]:
    """One limit's loop on one thread, and how much a call of it does."""
    make, amount = _works(kind)[what]
    return make(), amount


def vector_width() -> str:
    """What the multiply-adds were compiled to in single precision."""
    return f"multiply-adds in {vector_code(np.float32)}"
