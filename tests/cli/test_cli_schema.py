"""``--json`` of every command: one envelope, and the form that the reference page says (JSON Schema 2020-12)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
import typer
from conftest import Call
from tests.cli.cards import made_once
from validation.readers.cards import HERE

from pitreckon import __version__
from pitreckon.cli.envelope import SCHEMA
from pitreckon.cli.main import app
from pitreckon.cli.schema.every import ANSWERS, HEAD, schema_of

WITHOUT = {
    "export": "JSON Lines already",
    "watch": "goes on until it is interrupted",
    "demo": "a show",
    "serve": "has its own API",
    "schema": "prints a JSON Schema",
}
"""Commands that print nothing for a program, or a form of their own, and why."""
PLAN = """\
[cook]
name = "wings at six"
zone = "America/Chicago"
serve = "2026-10-17 18:00"
earliest = "2026-10-17 12:00"

[guests]
adults = 4

[[pit]]
name = "barn kettle"
kind = "kettle"
set = "325 F"

[[item]]
name = "wings"
cut = "chicken-wing"
"""
MIX = """\
[mix]
name = "plain rub"
use = "rub"
covers = ["2 kg"]

[[ingredient]]
food = "salt"
amount = "18 g"

[[ingredient]]
food = "brown-sugar"
amount = "60 g"
"""
LOGGER = "time,barn kettle F,wings F\n2026-10-17 16:40,325,60\n2026-10-17 16:50,326,90\n"


def every_command() -> dict[str, Any]:
    """Each command by its words."""
    group = typer.main.get_command(app)
    found = {}
    for name, command in group.commands.items():
        inner = getattr(command, "commands", None)
        found |= {f"{name} {sub}": each for sub, each in inner.items()} if inner else {name: command}
        found |= {f"{name} {sub}": each for sub, each in getattr(command, "more", {}).items()}
    return found


def held(command: str, out: str) -> dict[str, Any]:
    """The answer, held against its schema."""
    answer = json.loads(out)
    validator = jsonschema_rs.Draft202012Validator(schema_of(command), validate_formats=True)
    faults = [f"{'/'.join(map(str, e.instance_path))}: {e.message[:200]}" for e in validator.iter_errors(answer)]
    assert not faults
    assert list(answer)[:4] == ["pitreckon", "schema", "command", "warnings"]
    assert (answer["pitreckon"], answer["schema"], answer["command"]) == (__version__, SCHEMA, command)
    return answer


def test_every_command_answers_in_json_or_says_why_not() -> None:
    have = {name for name, command in every_command().items() if any("--json" in each.opts for each in command.params)}
    assert have == set(ANSWERS)
    assert set(every_command()) - have == set(WITHOUT)


def test_the_head_is_nobody_s_key() -> None:
    for command, forms in ANSWERS.items():
        for form in forms:
            assert not set(form.model_fields) & set(HEAD), command
        assert jsonschema_rs.meta.is_valid(schema_of(command)), command


def test_a_wrong_answer_is_found() -> None:
    """The check itself: a key too many, one too few, another command's."""
    good = {"pitreckon": "0", "schema": SCHEMA, "command": "warm", "warnings": [], "compiled": True, "seconds": 1.0}
    assert jsonschema_rs.is_valid(schema_of("warm"), good)
    for bad in ({**good, "more": 1}, {**good, "command": "cool"}, {**good, "schema": 0}, {**good, "seconds": "1"}):
        assert not jsonschema_rs.is_valid(schema_of("warm"), bad)
    assert not jsonschema_rs.is_valid(schema_of("warm"), {key: good[key] for key in list(good)[:-1]})


def test_the_schema_is_printed(pitreckon: Call) -> None:
    assert json.loads(pitreckon("schema", "ledger", "check").out) == schema_of("ledger check")
    wrong = pitreckon("schema", "legder", "check")
    assert wrong.code == 2
    assert "ledger check" in wrong.err


@pytest.mark.parametrize("command", ["cuts", "pits", "wraps"])
def test_the_catalog(pitreckon: Call, command: str) -> None:
    answer = held(command, pitreckon(command, "--json").out)
    assert len(answer[command]) >= 4


def test_a_ledger_and_what_is_done_with_it(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    store, copy = tmp_path / "ledger.sqlite", tmp_path / "copy.sqlite"
    (tmp_path / "logger.csv").write_text(LOGGER)
    where = ("--ledger", store, "--json")
    taken = held("take-in", pitreckon("take-in", tmp_path / "logger.csv", "--plan", cook_file, *where).out)
    assert (taken["readings"], taken["recorded"]) == (4, 4)
    (row,) = held("cooks", pitreckon("cooks", *where).out)["cooks"]
    assert row["entries"] == 4
    (tmp_path / "x.jsonl").write_text(pitreckon("export", row["id"], "--ledger", store).out)
    again = pitreckon("import", tmp_path / "x.jsonl", "--ledger", tmp_path / "two.sqlite", "--json")
    assert held("import", again.out)["entries"] == 4
    assert held("ledger check", pitreckon("ledger", "check", *where).out)["whole"] is True
    held("ledger backup", pitreckon("ledger", "backup", copy, *where).out)
    held("ledger restore", pitreckon("ledger", "restore", copy, "--ledger", tmp_path / "new.sqlite", "--json").out)
    saved = pitreckon("ledger", "salvage", copy, tmp_path / "saved.sqlite", "--json")
    assert held("ledger salvage", saved.out)["whole"] is True
    held("ledger key", pitreckon("ledger", "key", *where).out)


def test_what_needs_no_kernel(pitreckon: Call, tmp_path: Path) -> None:
    (tmp_path / "rub.toml").write_text(MIX)
    mix = held("mix", pitreckon("mix", tmp_path / "rub.toml", "--label", "--want", "sugar half", "--json").out)
    assert mix["before"]["mass_g"] > mix["mass_g"]
    assert held("mix", pitreckon("mix", "--foods", "--json").out)["foods"]
    assert held("lessons", pitreckon("lessons", tmp_path / "none.json", "--json").out)["lessons"] == []


@pytest.mark.kernel
def test_what_is_reckoned(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    asked = (cook_file, "--log", log_file, "--members", "8", "--json")
    held("reckon", pitreckon("reckon", *asked).out)
    supposed = held("suppose", pitreckon("suppose", *asked).out)
    assert len(supposed["options"]) > 1
    held("alerts", pitreckon("alerts", *asked, "--dry-run").out)
    sheet = held("sheet", pitreckon("sheet", *asked).out)
    assert {"timetable", "caution"} <= {block["block"] for block in sheet["blocks"]}
    record = held("record", pitreckon("record", *asked).out)
    saved = cook_file.with_name("record.json")
    saved.write_text(json.dumps(record["record"]))
    check = pitreckon("record", cook_file, "--log", log_file, "--check", saved, "--json")
    assert (check.code, held("record", check.out)["holds"]) == (0, True)
    held("warm", pitreckon("warm", "--json").out)


@pytest.mark.kernel
def test_a_card(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    made_once(monkeypatch)
    files = (HERE / "orchard-supper.toml", "--log", HERE / "orchard-supper.csv")
    card = held("card", pitreckon("card", *files, "--item", "thighs", "--readers", "100", "--json").out)
    assert card["jsonld"]["@type"] == "Recipe"


@pytest.mark.kernel
def test_a_study(pitreckon: Call, cook_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(cook_file.parent)
    asked = f'[study]\nname = "two"\ncook = "{cook_file.name}"\nmembers = 8\n[grid]\nset = ["250 F", "300 F"]\n'
    Path("two.toml").write_text(asked)
    answer = held("study", pitreckon("study", "two.toml", "--workers", "1", "--json").out)
    assert (answer["settings"], answer["made"], answer["went_on"]) == (2, 1, 0)
    assert [group["setting"] for group in answer["groups"]] == [None, "set_c", "set_c"]
    assert all(Path(name).stat().st_size for name in (answer["results"], answer["of_settings"], *answer["pictures"]))


@pytest.mark.kernel
@pytest.mark.slow
def test_what_is_planned_and_asked(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "none.sqlite"))
    (tmp_path / "day.toml").write_text(PLAN)
    planned = pitreckon("plan", tmp_path / "day.toml", "--json", "-o", tmp_path / "cook.toml", "--limit", "2")
    assert held("plan", planned.out)["written"] == str(tmp_path / "cook.toml")
    held("cool", pitreckon("cool", "chicken-wing", "--weight", "3 oz", "--json").out)
    why = pitreckon("why", "--cut", "chicken-wing", "--came-out", "dry", "--members", "8", "--json")
    assert held("why", why.out)["causes"]
