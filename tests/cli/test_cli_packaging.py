"""Manual pages, completion, the container file, the systemd unit: by their own tools where there are, else as text."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest
import typer
from packaging.requirements import Requirement

from pitreckon.cli.main import app

ROOT = Path(__file__).parents[2]
PACKAGING = ROOT / "packaging"
UNIT = PACKAGING / "pitreckon.service"
CONTAINER = PACKAGING / "Containerfile"
GROUP = typer.main.get_command(app)


@cache
def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_man", ROOT / "scripts" / "make_man.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_manual_pages_are_up_to_date() -> None:
    pages = maker().pages()
    assert set((PACKAGING / "man").iterdir()) == pages.keys(), "run: .venv/bin/python scripts/make_man.py"
    for path, text in pages.items():
        assert path.read_text(encoding="utf-8") == text, f"{path.name}: .venv/bin/python scripts/make_man.py"


def test_every_command_and_option_has_its_place_in_them() -> None:
    for name, command in GROUP.commands.items():
        for inner, called in getattr(command, "commands", {"": command}).items():
            page = (PACKAGING / "man" / f"{'-'.join(filter(None, ('pitreckon', name, inner)))}.1").read_text("utf-8")
            for option in (each for parameter in called.params for each in parameter.opts if each.startswith("-")):
                assert option.lstrip("-").replace("-", "\\-").lower() in page.lower(), f"{name} {inner}: {option}"
            assert "health department" in page


@pytest.mark.servers
def test_groff_has_nothing_to_say_of_them() -> None:
    """Without groff (Debian: apt-get install groff) that their requests are few and known."""
    pages = sorted((PACKAGING / "man").iterdir())
    if shutil.which("groff") is None:
        lines = [line for path in pages for line in path.read_text("utf-8").splitlines()]
        requests = {line.split()[0] for line in lines if line[:1] == "."}
        assert requests <= {'.\\"', ".TH", ".SH", ".PP", ".TP", ".B", ".BR"}
        return
    done = subprocess.run(
        ["groff", "-man", "-ww", "-z", "-Tutf8", *map(str, pages)], capture_output=True, text=True, check=True
    )
    assert not done.stderr


@pytest.mark.servers
@pytest.mark.parametrize(
    ("words", "offers"),
    [
        ("pitreckon rec", {"reckon", "record"}),
        ("pitreckon reckon --mem", {"--members"}),
        ("pitreckon ledger k", {"key"}),
    ],
)
def test_a_shell_completes_commands_and_options(words: str, offers: set[str]) -> None:
    """As bash asks for it, by the script that ``pitreckon --show-completion`` prints."""
    asked = {"_PITRECKON_COMPLETE": "complete_bash", "COMP_WORDS": words, "COMP_CWORD": str(len(words.split()) - 1)}
    code = "import sys; sys.argv = ['pitreckon']; from pitreckon.cli.main import app; app(prog_name='pitreckon')"
    done = subprocess.run(
        [sys.executable, "-c", code], env=os.environ | asked, capture_output=True, text=True, check=False
    )
    assert set(done.stdout.split()) == offers


# --- systemd


def unit() -> Iterator[tuple[str, str]]:
    for line in UNIT.read_text(encoding="utf-8").splitlines():
        if "=" in line and not line.startswith("#"):
            key, _, value = line.partition("=")
            yield key, value


def test_the_unit_starts_a_call_that_there_is() -> None:
    (start,) = [value for key, value in unit() if key == "ExecStart"]
    program, command, *options = shlex.split(start)
    assert Path(program).name == "pitreckon"
    GROUP.commands[command].make_context(command, options)


def test_the_unit_is_hardened() -> None:
    """Against what systemd.exec(5) calls sandboxing; the two folders it writes are the ones that its settings name."""
    said = list(unit())
    for key in ("NoNewPrivileges", "PrivateTmp", "PrivateDevices", "ProtectHome", "RestrictNamespaces", "DynamicUser"):
        assert (key, "yes") in said, key
    assert ("CapabilityBoundingSet", "") in said
    assert ("ProtectSystem", "strict") in said
    folders = [value.split()[0] for key, value in said if key in {"StateDirectory", "CacheDirectory"}]
    assert folders == ["pitreckon", "pitreckon"]
    places = dict(value.split("=") for key, value in said if key == "Environment")
    assert places["PITRECKON_LEDGER"].startswith("/var/lib/pitreckon/")
    assert places["XDG_CACHE_HOME"] == "/var/cache/pitreckon"


@pytest.mark.servers
def test_systemd_takes_the_unit(tmp_path: Path) -> None:
    """``systemd-analyze verify`` finds nothing, ``security`` little; a program stands in for the installed one."""
    if shutil.which("systemd-analyze") is None:
        pytest.skip("no systemd here: the unit was only read, by the tests above")
    (start,) = [value for key, value in unit() if key == "ExecStart"]
    text = UNIT.read_text(encoding="utf-8").replace(shlex.split(start)[0], sys.executable)
    here = tmp_path / UNIT.name
    here.write_text(re.sub(r"^Documentation=.*\n", "", text, flags=re.MULTILINE), encoding="utf-8")
    verified = subprocess.run(["systemd-analyze", "verify", str(here)], capture_output=True, text=True, check=False)
    assert (verified.returncode, verified.stderr) == (0, "")
    command = ["systemd-analyze", "security", "--offline=yes", "--threshold=20", "--no-pager", str(here)]
    exposed = subprocess.run(command, capture_output=True, text=True, check=False)
    assert exposed.returncode == 0, exposed.stdout[-300:]


# --- the container


def instructions() -> list[tuple[str, str]]:
    text = re.sub(r"^#.*\n", "", CONTAINER.read_text(encoding="utf-8"), flags=re.MULTILINE)
    lines = text.replace("\\\n", " ").splitlines()
    return [(line.split(maxsplit=1)[0], line.split(maxsplit=1)[1].strip()) for line in lines if line.strip()]


def test_the_container_runs_a_call_that_there_is_as_a_user_of_its_own() -> None:
    said = instructions()
    words = {name for name, _ in said}
    known = "ARG FROM WORKDIR COPY RUN ENV USER VOLUME EXPOSE HEALTHCHECK ENTRYPOINT CMD"
    assert words <= set(known.split())
    assert [value for name, value in said if name == "USER"] == ["pitreckon"]
    after = [name for name, _ in said[[name for name, _ in said].index("USER") :]]
    assert after[-2:] == ["ENTRYPOINT", "CMD"]
    last = dict(said)
    assert last["ENTRYPOINT"] == '["pitreckon"]'
    command, *options = json.loads(last["CMD"])
    GROUP.commands[command].make_context(command, options)
    assert "/data/ledger.sqlite" in last["ENV"]
    assert last["VOLUME"] == "/data"
    assert re.fullmatch(r"python:\$\{PYTHON\}-slim", last["FROM"]), "no registry is named"
    assert "8025" in last["EXPOSE"]


@pytest.mark.servers
def test_each_step_of_it_is_shell() -> None:
    for name, value in instructions():
        if name == "RUN":
            step = re.sub(r"^--\S+\s+", "", value)
            subprocess.run(["sh", "-n", "-c", step], check=True)


@pytest.mark.servers
def test_its_pins_are_the_lock_s() -> None:
    """The one step that can be tried without a container: pip takes what it makes as constraints."""
    (step,) = [value for name, value in instructions() if name == "RUN" and value.startswith("sed")]
    done = subprocess.run(
        ["sh", "-c", step.split(">")[0]], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    assert len(done) == len(re.findall(r"^[\w.-]+==", lock, re.MULTILINE)) > 100
    assert all(len(Requirement(each).specifier) == 1 for each in done)


def test_what_is_left_out_of_its_context_is_not_needed() -> None:
    kept = re.findall(r"^!(.+)$", (PACKAGING / "Containerfile.dockerignore").read_text("utf-8"), re.MULTILINE)
    assert all((ROOT / name).exists() for name in kept)
    needed = {"src", "web-src", "scripts/build_web.sh", "packaging/man", "hatch_build.py", "pyproject.toml"}
    assert needed <= set(kept)


@pytest.mark.servers
@pytest.mark.slow
def test_it_is_built_and_started_where_there_is_an_engine() -> None:
    """Minutes, and a network: only where PITRECKON_CONTAINER names the program that builds (podman, docker)."""
    engine = os.environ.get("PITRECKON_CONTAINER")
    if not engine:
        pytest.skip("not built: set PITRECKON_CONTAINER=podman (or docker) to have it built and started")
    subprocess.run([engine, "build", "-f", str(CONTAINER), "-t", "pitreckon-test", str(ROOT)], check=True)
    said = subprocess.run(
        [engine, "run", "--rm", "pitreckon-test", "--version"], capture_output=True, text=True, check=True
    ).stdout
    assert said.startswith("pitreckon ")
    made = subprocess.run(
        [engine, "run", "--rm", "pitreckon-test", "cool", "boston-butt", "--weight", "6lb"], check=False
    )
    assert made.returncode == 0
