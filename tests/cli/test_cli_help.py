"""Help answers at once, because nothing heavy is loaded for it, and no command is left without it."""

from __future__ import annotations

import os
import re
import resource
import subprocess
import sys

import pytest
import typer
from conftest import Call

from pitreckon import __version__
from pitreckon.cli.brief import BRIEF
from pitreckon.cli.main import app

HEAVY = (
    *("numba", "llvmlite", "scipy", "numpy", "pydantic_core", "pandas", "xarray", "matplotlib", "pyarrow"),
    *("pitreckon.reckon", "pitreckon.section", "pitreckon.library"),
)
COMMAND = (sys.executable, "-c", "from pitreckon.cli.main import run; run()", "--help")
COMMANDS = (
    "reckon",
    "suppose",
    "take-in",
    "watch",
    "cooks",
    "export",
    "import",
    "alerts",
    "sheet",
    "plan",
    "record",
    "cool",
    "why",
    "study",
    "card",
    "against",
    "explain",
    "look",
    "mix",
    "batch",
    "cuts",
    "pits",
    "wraps",
    "schema",
    "new",
    "defaults",
    "demo",
    "warm",
    "serve",
    "ledger",
    "lessons",
)


def _loaded(code: str) -> set[str]:
    ask = f"import sys, atexit; atexit.register(lambda: sys.stderr.write(' '.join(sys.modules))); {code}"
    done = subprocess.run([sys.executable, "-c", ask, "--help"], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


@pytest.mark.servers
@pytest.mark.parametrize(
    "code", ["import pitreckon.cli.main", "from pitreckon.cli.main import run; run()"], ids=["import", "help"]
)
def test_nothing_heavy_is_loaded(code: str) -> None:
    loaded = _loaded(code)
    assert "pitreckon.cli.main" in loaded
    assert not [name for name in HEAVY if name in loaded]


@pytest.mark.servers
def test_help_takes_little_of_a_processor() -> None:
    """No more than four times what the library of commands alone takes to load; it is less than twice.

    That is 0.3 s of a machine that loads it in 75 ms. The best of five of each, one after the other.
    """

    def took_s(*command: str) -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    both = [(took_s(*COMMAND), took_s(sys.executable, "-c", "import typer")) for _ in range(5)]
    helped_s, loaded_s = (min(each) for each in zip(*both, strict=True))
    assert helped_s < 4.0 * loaded_s, both


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(pitreckon: Call, command: str) -> None:
    answer = pitreckon(command, "--help")
    assert answer.code == 0
    assert "Usage" in answer.out
    assert command in pitreckon("--help").out


def test_every_argument_and_option_is_explained() -> None:
    group = typer.main.get_command(app)
    assert set(group.commands) == set(COMMANDS)
    every = list(group.commands.values())
    inner = ("commands", "more")
    every += [each for command in every for name in inner for each in getattr(command, name, {}).values()]
    assert len(every) == len(COMMANDS) + 6
    for command in every:
        assert command.help, command.name
        for each in command.params:
            assert each.name == "help" or each.help, f"{command.name} {each.name}"


def test_help_makes_no_promise_of_safety(pitreckon: Call) -> None:
    words = " ".join(pitreckon("--help").out.split())
    assert "no promise of safety" in words
    assert "local food code" in words


def test_version(pitreckon: Call) -> None:
    assert pitreckon("--version").out.split() == ["pitreckon", __version__]


@pytest.mark.kernel
def test_warm_says_what_it_took(pitreckon: Call) -> None:
    answer = pitreckon("warm")
    assert (answer.code, answer.err) == (0, "")
    assert re.fullmatch(r"The kernel (compiled|was made ready|was ready): \d+\.\d s\.\n", answer.out)


@pytest.mark.parametrize(
    "arguments",
    [("roast",), ("reckon",), ("reckon", "cook.toml", "--members", "7"), ("cuts", "--degrees", "K")],
    ids=["command", "no file", "members", "degrees"],
)
def test_a_slip_on_the_command_line_is_exit_code_2(pitreckon: Call, arguments: tuple[str, ...]) -> None:
    answer = pitreckon(*arguments)
    assert answer.code == 2
    assert answer.out == ""
    assert "Error" in answer.err


@pytest.mark.servers
def test_the_list_of_commands_says_each_in_a_whole_phrase() -> None:
    """On 80 columns: one line each, and none is cut off in the middle."""
    asked = {**os.environ, "COLUMNS": "80"}
    said = subprocess.run(COMMAND, capture_output=True, text=True, check=True, env=asked).stdout
    lines = said.partition("Commands:\n")[2].partition("\n\n")[0].splitlines()
    assert [line.split()[0] for line in lines] == list(BRIEF)
    assert set(BRIEF) == set(COMMANDS)
    assert [line for line in lines if not line.endswith(".") or line.endswith("...")] == []
