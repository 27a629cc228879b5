"""One option, one meaning, whatever the command; what an option was called before still works, with a notice."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.test_cli_schema import every_command

from pitreckon.cli.renamed import RENAMED, current


def test_an_option_means_the_same_everywhere() -> None:
    """The first sentence of its help, what stands behind it, and its short form; more sentences may say more."""
    meanings: dict[str, dict[tuple[str, ...], list[str]]] = defaultdict(lambda: defaultdict(list))
    for name, command in every_command().items():
        for each in command.params:
            for option in (each for each in each.opts if each.startswith("--")):
                means = ((each.help or "").split(". ")[0].rstrip("."), each.metavar or "", *sorted(each.opts))
                meanings[option][means].append(name)
    assert len(meanings) > 50
    two = {option: dict(several) for option, several in meanings.items() if len(several) > 1}
    assert not two


def test_an_old_name_is_another_s_name_and_leads_to_one_that_is() -> None:
    commands = every_command()
    for name, renamed in RENAMED.items():
        has = {option for each in commands[name].params for option in each.opts}
        for old, new in renamed.items():
            assert new in has, (name, new)
            assert old not in has, (name, old)


@pytest.mark.parametrize(
    ("command", "given", "becomes"),
    [
        ("reckon", ["a.toml", "--ledger", "a.csv"], ["a.toml", "--log", "a.csv"]),
        ("reckon", ["--ledger=a.csv", "--ledgers"], ["--log=a.csv", "--ledgers"]),
        ("cool", ["--at", "150 F"], ["--core", "150 F"]),
        ("why", ["--on", "5h", "--", "--on"], ["--pit-time", "5h", "--", "--on"]),
        ("cooks", ["--ledger", "x"], ["--ledger", "x"]),
        ("reckon", ["--at", "2pm"], ["--at", "2pm"]),
    ],
)
def test_old_names(capsys: pytest.CaptureFixture[str], command: str, given: list[str], becomes: list[str]) -> None:
    assert current(command, given) == becomes
    assert len(capsys.readouterr().err.splitlines()) == (given != becomes)


@pytest.mark.kernel
def test_the_old_name_answers_the_same(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    old = pitreckon("reckon", cook_file, "--ledger", log_file, "--members", "8")
    new = pitreckon("reckon", cook_file, "--log", log_file, "--members", "8")
    assert (old.code, old.out) == (0, new.out)
    assert old.err == "pitreckon: --ledger of 'reckon' is --log now; write that\n"
    assert new.err == ""
