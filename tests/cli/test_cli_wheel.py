"""The wheel with the core's packages and nothing else, in an environment of its own: every command, and the tutorial.

The packages are links to those that are installed here (``scripts/installed.py``), so no network is asked; and there is
nothing else to import, so what the core lacks is missed. ``scripts/try_wheel.py --registry`` is the same by pip.
"""

from __future__ import annotations

import json
import re
import shlex
import subprocess
from pathlib import Path

import pytest
import typer
from scripts.commands_tried import CASES, Case, laid_out, tried, tutorial
from scripts.installation_page import PAGE, commands
from scripts.installed import closure, extras
from scripts.try_wheel import BUILD, build, faults, from_here

from pitreckon import __version__
from pitreckon.cli.main import app

pytestmark = [pytest.mark.servers, pytest.mark.kernel, pytest.mark.slow]
SLOW_IN_CORE = {"demo"}
FEW = ("--members", "48")


@pytest.fixture(scope="module")
def core(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of the environment; its folder stays, so that its kernel is compiled once."""
    BUILD.mkdir(parents=True, exist_ok=True)
    return from_here(BUILD / "core", build(tmp_path_factory.mktemp("wheel")))


def said(core: Path, code: str) -> str:
    return subprocess.run([str(core), "-I", "-c", code], capture_output=True, text=True, check=True).stdout


def test_there_is_the_core_and_nothing_else(core: Path) -> None:
    names = said(core, "from importlib.metadata import distributions as d; print(*sorted(x.name.lower() for x in d()))")
    spelled = {re.sub(r"[-_.]+", "-", name) for name in names.split()}
    assert spelled == closure().keys() | {"pitreckon"}
    assert str(core.parents[1]) in said(core, "import pitreckon; print(pitreckon.__file__)")


def test_what_the_wheel_says_of_itself(core: Path) -> None:
    """Core metadata 2.4 (packaging specifications): what an index or pip shows of it."""
    code = "from importlib.metadata import metadata; import json; print(json.dumps(metadata('pitreckon').json))"
    told = json.loads(said(core, code))
    assert told["version"] == __version__
    assert told["license_expression"] == "MIT"
    assert told["requires_python"] == ">=3.11"
    assert set(told["provides_extra"]) == extras().keys() - {""}
    assert len([each for each in told["requires_dist"] if "extra ==" not in each]) == len(extras()[""])
    assert "Programming Language :: Python :: 3.11" in told["classifier"]
    assert told["keywords"]
    assert told["description"].startswith("# Pitreckon")


def test_every_command_ends_as_it_should(core: Path, tmp_path: Path) -> None:
    cases = [case for case in CASES if case.command not in SLOW_IN_CORE]
    assert not list(faults(tried(core, laid_out(tmp_path / "files"), cases), frozenset()))


def test_the_page_has_every_command_and_extra() -> None:
    text = PAGE.read_text(encoding="utf-8")
    for row in commands():
        assert f"| {' | '.join(row)} |" in text, "run: .venv/bin/python -m scripts.try_wheel --write"
    for extra in extras().keys() - {""}:
        assert f"\n| `{extra}` | " in text
    group = typer.main.get_command(app)
    every = {name for name, each in group.commands.items() if not hasattr(each, "commands")}
    every |= {f"ledger {name}" for name in group.commands["ledger"].commands}
    every |= {f"{name} {more}" for name, each in group.commands.items() for more in getattr(each, "more", {})}
    assert {case.command for case in CASES} == every, "scripts/commands_tried.py"


def test_the_tutorial_comes_out_well_as_it_is_written(core: Path, tmp_path: Path) -> None:
    lines = tutorial(tmp_path)
    assert len(lines) >= 12
    assert {path.name for path in tmp_path.iterdir()} == {
        "supper.toml", "day.csv", "supper-metric.toml", "day-metric.csv",
    }  # fmt: skip
    first = subprocess.run(
        [str(core.parent / "pitreckon"), *shlex.split(lines[0]), *FEW],
        capture_output=True, text=True, cwd=tmp_path, check=True,
    )  # fmt: skip
    assert "ready by 18:00" in first.stdout, "by the command that the wheel installs; all of it in one process below"
    out = {}
    cases = [Case((*shlex.split(line), *FEW)) for line in lines]
    for line, done in zip(lines, tried(core, tmp_path, cases), strict=True):
        assert (done.code, done.err) == (0, ""), line
        out[line] = done.out
        unit, other = ("°C", "°F") if "--degrees C" in line else ("°F", "°C")
        assert other not in done.out, line
        assert unit in done.out or not line.startswith("reckon"), line
    for line, text in out.items():
        if line.startswith("reckon") and "18:00" in line:
            assert "served: at 18:00" in text
            assert re.search(r"^  ready +16:55$", text, re.MULTILINE)
            assert "past its best                         unlikely, " in text, "still good when it is served"
        elif line.startswith("reckon"):
            chance = re.search(r"ready by 18:00: [\w ]+, (\d+) %", text)
            assert chance is not None, line
            assert int(chance[1]) >= 95
    assert "Left as it is: all ready" in out["suppose supper.toml --log day.csv --at 14:30"]
