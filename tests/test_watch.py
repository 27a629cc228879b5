"""The two markers are held: a test that needs more than it says fails, by name."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
import pytest
from tests.section import trial
from tests.watch import ADVICE, Watch

from pitreckon.section.simulate import simulate


def unmarked(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the watch take the running test for one without marks."""
    watch = request.config.pluginmanager.getplugin("watch")
    assert isinstance(watch, Watch)
    stranger = SimpleNamespace(nodeid="a test", get_closest_marker=lambda name: None)
    monkeypatch.setattr(watch, "_running", stranger)


def run_members() -> None:
    simulate(trial.SMALL["slab"](), trial.members(1), trial.steady(120.0, 1), trial.course(1, {}), horizon_s=60.0)


def start_a_program() -> None:
    subprocess.run([sys.executable, "-c", ""], check=True)


@pytest.mark.kernel
@pytest.mark.servers
@pytest.mark.parametrize(("marker", "what"), [("kernel", run_members), ("servers", start_a_program)])
def test_what_is_not_said_fails(
    marker: str, what: Callable[[], None], request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    what()  # marked, it may
    unmarked(request, monkeypatch)
    with pytest.raises(pytest.fail.Exception, match="a test " + ADVICE[marker].split(";")[0]):
        what()


@pytest.mark.kernel
def test_a_function_of_the_kernel_is_seen_too(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    from numba import njit

    def ours(x):  # type: ignore[no-untyped-def]
        return x + 1.0

    theirs = njit(lambda x: x + 1.0)
    ours.__module__ = "pitreckon.section.compiled.step"
    made = njit(ours)
    unmarked(request, monkeypatch)
    assert theirs(np.float64(1.0)) == 2.0
    with pytest.raises(pytest.fail.Exception, match="runs the compiled kernel"):
        made(np.float64(1.0))
