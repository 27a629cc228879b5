"""A process that loads no more than it needs is the same to whoever asks for the rest."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

pytestmark = pytest.mark.servers
ASKS = """
import json, sys
from pitreckon.work.lean import UNUSED, load_lean
load_lean()
import scipy.special
left = [part for part in UNUSED if type(sys.modules[f"numpy.{part}"]).__name__ == "_LazyModule"]
import numpy as np
import numpy.testing
from numpy import ctypeslib
np.testing.assert_allclose(scipy.special.ndtri(0.975), 1.959963984540054)  # of any table of the normal law
pointer = ctypeslib.ndpointer(dtype=np.float64).__name__
kinds = {part: type(sys.modules[f"numpy.{part}"]).__name__ for part in ("testing", "ctypeslib")}
print(json.dumps([left, pointer, kinds, np.f2py.__name__, callable(np.f2py.get_include)]))
"""
THREADS = """
import os
from pitreckon.work.lean import BLAS_THREADS, one_thread_for_matrices
os.environ[BLAS_THREADS[0]] = "3"
one_thread_for_matrices()
print([os.environ[name] for name in BLAS_THREADS])
"""


def told(code: str) -> str:
    clean = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    return subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True, env=clean).stdout


def test_what_is_left_out_is_there_when_it_is_asked_for() -> None:
    left, pointer, kinds, name, callable_ = json.loads(told(ASKS))
    assert left == ["f2py", "testing", "ctypeslib"]  # SciPy alone has loaded none of them
    assert pointer.startswith("ndpointer")
    assert kinds == {"testing": "module", "ctypeslib": "module"}
    assert (name, callable_) == ("numpy.f2py", True)


def test_threads_for_matrices_that_somebody_has_set_stay() -> None:
    assert told(THREADS).strip() == "['3', '1', '1']"
