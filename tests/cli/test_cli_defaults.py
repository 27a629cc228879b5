"""Defaults of a person's own: an option goes before the environment, and that before the file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.test_cli_schema import PLAN, held

from pitreckon.cli.plan import fed
from pitreckon.cli.renamed import defaults_file
from pitreckon.forms.defaults import place
from pitreckon.plan.read import wishes_from_text


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, pitreckon: Call) -> Path:
    """Where the file of defaults is to be; the environment says nothing."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    for name in ("UNITS", "LEDGER", "PEOPLE"):
        monkeypatch.delenv(f"PITRECKON_{name}", raising=False)
    path = tmp_path / "settings" / "pitreckon" / "defaults.toml"
    path.parent.mkdir(parents=True)
    return path


def test_the_place_is_that_of_the_base_directory_specification(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """$XDG_CONFIG_HOME, else ~/.config (freedesktop.org, XDG Base Directory Specification; from memory)."""
    assert place() == Path(defaults_file()) == file
    monkeypatch.delenv("XDG_CONFIG_HOME")
    monkeypatch.setenv("HOME", "/srv/cook")
    assert place() == Path(defaults_file()) == Path("/srv/cook/.config/pitreckon/defaults.toml")


def test_an_option_beats_the_environment_beats_the_file(
    pitreckon: Call, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    us = pitreckon("pits").out
    assert "°F" in us
    file.write_text('units = "metric"\n')
    metric = pitreckon("pits").out
    assert "°C" in metric
    assert "°F" not in metric
    monkeypatch.setenv("PITRECKON_UNITS", "us")
    assert pitreckon("pits").out == us
    assert pitreckon("pits", "--degrees", "C").out == metric


def test_the_ledger(pitreckon: Call, file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file.write_text(f'ledger = "{tmp_path}/from-file.sqlite"\n')
    for name, more in (("from-file", ()), ("from-environment", ()), ("from-option", ("--ledger",))):
        if name == "from-environment":
            monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / f"{name}.sqlite"))
        option = [more[0], tmp_path / f"{name}.sqlite"] if more else []
        assert held("cooks", pitreckon("cooks", *option, "--json").out)["ledger"] == str(tmp_path / f"{name}.sqlite")


def test_people_eat_where_nobody_is_said_to(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    silent = PLAN.replace("[guests]\nadults = 4\n", "")
    file.write_text("people = 9\n")
    wishes = wishes_from_text(fed(silent, "day.toml"), "day.toml")
    assert wishes.guests is not None
    assert wishes.guests.adults == 9
    assert f"day.toml does not say who eats: 9 people, as {file} has it" in capsys.readouterr().err
    for said in (PLAN, silent + "pieces = 20\n"):
        assert fed(said, "day.toml") == said
    assert capsys.readouterr().err == ""


def test_it_is_said_which_file_is_read_and_what_holds(
    pitreckon: Call, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "'pitreckon defaults' says which" in " ".join(pitreckon("--help").out.split())
    assert pitreckon("defaults").out.startswith(f"{file} (there is none)\n")
    file.write_text('units = "metric"\npeople = 8\n')
    monkeypatch.setenv("PITRECKON_PEOPLE", "12")
    answer = held("defaults", pitreckon("defaults", "--json").out)
    assert (answer["file"], answer["there"]) == (str(file), True)
    assert answer["units"] == {"value": "metric", "whence": str(file)}
    assert answer["people"] == {"value": 12, "whence": "$PITRECKON_PEOPLE"}
    assert answer["ledger"]["whence"] is None
    assert json.dumps(answer["units"]["value"]) in pitreckon("defaults", "--json").out
    assert f"metric   (from {file})" in pitreckon("defaults").out


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('units = "imperial"\n', 1, "Write one of: us, metric"),
        ('\nunit = "us"\n', 2, "units"),
        ("people = 0\n", 1, "1 to 5000"),
        ('people = "8"\n', 1, "without quotes"),
        ('ledger = " "\n', 1, "Give the path"),
        ("units = us\n", 1, "not TOML"),
    ],
)
def test_a_fault_is_named_with_its_line_and_remedy(
    pitreckon: Call, file: Path, text: str, line: int, words: str
) -> None:
    file.write_text(text)
    told = pitreckon("defaults")
    assert (told.code, told.out) == (2, "")
    assert f"{file}, line {line}" in told.err
    assert words in told.err


@pytest.mark.parametrize(("name", "value"), [("UNITS", "F"), ("PEOPLE", "many"), ("PEOPLE", "0")])
def test_a_fault_in_the_environment_names_the_variable(
    pitreckon: Call, file: Path, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    monkeypatch.setenv(f"PITRECKON_{name}", value)
    told = pitreckon("defaults")
    assert told.code == 2
    assert f"$PITRECKON_{name}: " in told.err
