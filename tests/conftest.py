"""What all tests share: how hypothesis searches, the moist-air library, ``pitreckon`` as a cook calls it, a browser.

This is the only ``conftest.py``: pytest reads doctests from it too, and takes but one module of a name.
"""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings
from tests.sparing import FEW, QUICK

if TYPE_CHECKING:
    from playwright.sync_api import Browser
    from tests.ledger.postgres_server import Server
    from tests.web.pit_server import Server as PitServer

    from pitreckon.reckon.document import OutlookDocument

# A busy machine is slow without anything being wrong, so no example has a deadline, and none is too slow to be made.
# Where CI is set the search is the same each time, so that a red run can be repeated. ``make quick`` searches less.
settings.register_profile(
    "pitreckon",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=bool(os.environ.get("CI")),
)
settings.register_profile("quick", settings.get_profile("pitreckon"), max_examples=FEW)
settings.load_profile("quick" if QUICK else "pitreckon")


def pytest_configure(config: pytest.Config) -> None:
    """Let the markers be watched everywhere, in doctests of the package and the pages too."""
    from tests.watch import Watch

    config.pluginmanager.register(Watch(), "watch")


def pytest_collection_finish() -> None:
    """What has been loaded by now stays: the collector need not go through it again and again."""
    for name, limit in CLOCKS:
        module = sys.modules.get(name)
        if module is not None:
            assert hasattr(module, limit), name
            setattr(module, limit, 3600.0)
    gc.collect()
    gc.freeze()


CLOCKS = (("pitreckon.plan.schedule.cpsat", "LAST_RESORT"), ("pitreckon.plan.schedule.solve", "EXPLAIN_S"))
"""Where planning goes by the clock after all: how much longer than by its own count of work a solver may take before
it is stopped, and how long changes are tried [s]. A machine that does much else would get another answer."""
COOK = """\
[cook]
name = "harvest table"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[[pit]]
name = "barn kettle"
kind = "kettle"
set = "325 F"

[[item]]
name = "wings"
cut = "chicken-wing"
pieces = 24
weight = "3 oz"
put_on = "2026-10-17 16:30"
"""
"""One thin cut: quick to reckon, and its only unusual line is the name of the pit."""

LOG = """\
time,kind,on,piece,what,value,note
2026-10-17 16:30,act,wings,,put on,,
16:35,reading,barn kettle,,pit air,318 F,
16:45,reading,barn kettle,,pit air,331 F,
17:00,look,wings,3,spot temperature,128 F,
17:05,reading,barn kettle,,pit air,327 F,
"""


@dataclass(frozen=True)
class Answer:
    """What a command gave back."""

    code: int
    out: str
    err: str


Call = Callable[..., Answer]


def outlook_of(answer: Answer) -> OutlookDocument:
    """The outlook that ``reckon --json`` printed, out of its envelope; unknown or missing keys are refused."""
    from pitreckon.reckon.document import OutlookDocument

    found = json.loads(answer.out)
    for key in ("pitreckon", "schema", "command", "warnings"):
        del found[key]
    return OutlookDocument.model_validate(found)


@pytest.fixture
def pitreckon(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Call:
    """Call the entry point with these arguments; whatever else it does, it must end by itself."""
    from pitreckon.cli import main

    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("XDG_CONFIG_HOME", "/nobody")  # the defaults of whoever runs the tests
    monkeypatch.setenv("PITRECKON_TRACEBACK", "1")  # what the program did not foresee fails the test

    def call(*arguments: object) -> Answer:
        monkeypatch.setattr(sys, "argv", ["pitreckon", *map(str, arguments)])
        capsys.readouterr()
        code = 0
        try:
            main.run()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
        out, err = capsys.readouterr()
        return Answer(code, out, err)

    return call


@pytest.fixture
def cook_file(tmp_path: Path) -> Path:
    """The cook file of the wings."""
    path = tmp_path / "wings.toml"
    path.write_text(COOK, encoding="utf-8")
    return path


@pytest.fixture
def log_file(tmp_path: Path) -> Path:
    """A log of the first half hour of them."""
    path = tmp_path / "log.csv"
    path.write_text(LOG, encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def psychro() -> ModuleType:
    """Psychrolib 2.5 in SI units, set once: each setting makes it compile anew."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Server]:
    """A PostgreSQL server of our own. Where CI is set one has to be installed; elsewhere its tests are skipped."""
    from tests.ledger import postgres_server as server

    binaries = server.programs()
    if binaries is None:
        missing = f"no PostgreSQL server is installed (Debian: apt-get install {server.PACKAGE})"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    with server.running(binaries) as running:
        yield running


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A real browser, one a module; a run that needs none does not load it."""
    from tests.web.phones import chromium

    with chromium() as made:
        yield made


@pytest.fixture
def server(tmp_path: Path) -> Iterator[PitServer]:
    """The live page as a process of its own, with racks that have been on for fifty minutes; one a test."""
    from tests.web.pit_server import Server as PitServer
    from tests.web.pit_server import fill

    fill(tmp_path / "ledger.sqlite")
    made = PitServer(tmp_path / "ledger.sqlite").start()
    yield made
    made.close()
