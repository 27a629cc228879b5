"""The files of ``examples/``: each is read, each is run, and the demo's own are what the demo writes."""

from __future__ import annotations

import re
import shlex
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from conftest import Call

from pitreckon.cli import demo
from pitreckon.cook.read import cook_from_text
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.weigh.batch import batch_of
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.diagnosis.report import report_from_text
from pitreckon.plan.read import asks_for_a_plan, wishes_from_text
from pitreckon.study.file import study_from_text

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
FILES = sorted(path for path in EXAMPLES.rglob("*") if path.suffix in {".toml", ".csv"})
PAGE = (EXAMPLES / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^\$ (pitreckon .+)$", PAGE, re.MULTILINE)
FEW = {
    "reckon": ("--members", "32"), "suppose": ("--members", "32"), "record": ("--members", "32"),
    "card": ("--readers", "200"), "card take-in": (), "explain": (),
    "why": (), "look": (), "against": (), "mix": (), "plan": (), "sheet": (), "study": (),
}  # fmt: skip
"""So that an example takes seconds here; a plan has its own number."""


def name(path: Path) -> str:
    return path.relative_to(EXAMPLES).as_posix()


def kind(text: str) -> str:
    if "[cook]" in text:
        return "wishes" if asks_for_a_plan(text, "it") else "cook"
    heads = (("mix", "[mix]"), ("report", "[did]"), ("study", "[study]"))
    return next(word for word, head in heads if head in text)


@pytest.mark.parametrize("path", FILES, ids=name)
def test_each_is_read(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".csv":
        (plan,) = [each for each in path.parent.glob("*.toml") if "[cook]" in each.read_text(encoding="utf-8")]
        cook = cook_from_text(plan.read_text(encoding="utf-8"), plan.name)
        ledger = log_from_text(text, path.name, cook)
        assert len(ledger) == len(text.strip().splitlines()) - 1
        rejected = [each for each in (*ledger.all_readings, *ledger.all_looks) if each.rejected]
        assert not rejected, "nothing is set aside"
        return
    match kind(text):
        case "wishes":
            assert wishes_from_text(text, path.name).items
        case "cook":
            assert cook_from_text(text, path.name).items
        case "mix":
            assert batch_of(mix_from_text(text, path.name, path.parent)).mass_kg > 0.0
        case "report":
            assert report_from_text(text, path.name).faults
        case "study":
            assert study_from_text(text, path.name, path.parent).cases > 1


def test_there_are_seven_and_what_belongs_to_them() -> None:
    kinds = [kind(path.read_text(encoding="utf-8")) for path in FILES if path.suffix == ".toml"]
    assert len({path.parent for path in FILES}) == 7
    assert {each: kinds.count(each) for each in set(kinds)} == {
        "cook": 4,
        "wishes": 2,
        "mix": 3,
        "report": 1,
        "study": 1,
    }
    assert len([path for path in FILES if path.suffix == ".csv"]) == 4


def test_every_file_is_run_by_the_page() -> None:
    said = {part for line in COMMANDS for word in shlex.split(line) for part in word.split("=")}
    assert {path.relative_to(ROOT).as_posix() for path in FILES} <= said


def _cases() -> list[object]:
    marks = {"mix": (), "look": pytest.mark.servers}  # a picture is taken apart by a program of its own
    return [
        pytest.param(line, marks=marks.get(line.split()[1], pytest.mark.kernel), id=f"{n} {line.split()[1]}")
        for n, line in enumerate(COMMANDS, start=1)
    ]


@pytest.mark.parametrize("line", _cases())
def test_each_command_of_the_page_runs(
    line: str, pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(EXAMPLES, tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    _, command, *arguments = shlex.split(line)
    answer = pitreckon(command, *arguments, *FEW.get(f"{command} {arguments[0]}", FEW[command]))
    written = [arguments[n + 1] for n, word in enumerate(arguments) if word == "-o"]
    assert (answer.code, answer.err) == (0, "".join(f"{each} is written\n" for each in written)), line
    assert all((tmp_path / each).stat().st_size > 1000 for each in written)
    assert written or len(answer.out.splitlines()) > 5
    assert "Not as asked" not in answer.out, "an example's day can be done"


def test_the_demo_has_the_same_cook() -> None:
    assert (EXAMPLES / "harvest-table" / "harvest-table.toml").read_text(encoding="utf-8") == demo.COOK_FILE


@pytest.mark.kernel
def test_the_demo_records_the_same_day() -> None:
    """The example's log is what ``pitreckon demo`` writes; another processor may round a reading otherwise."""
    cook = cook_from_text(demo.COOK_FILE, "harvest-table.toml")
    here = log_from_text((EXAMPLES / "harvest-table" / "day.csv").read_text(encoding="utf-8"), "day.csv", cook)
    there = demo.recorded_day(cook, seed=1)
    assert len(here.all_readings) == len(there.all_readings) > 100
    assert [(each.on, each.act) for each in here.all_acts] == [(each.on, each.act) for each in there.all_acts]
    assert [(each.on, each.kind) for each in here.all_looks] == [(each.on, each.kind) for each in there.all_looks]
    for kind_of in ("all_readings", "all_looks", "all_acts"):
        for ours, theirs in zip(getattr(here, kind_of), getattr(there, kind_of), strict=True):
            assert abs(ours.at_utc - theirs.at_utc) <= timedelta(minutes=2)
    for ours, theirs in zip(here.all_readings, there.all_readings, strict=True):
        assert ours.value_c == pytest.approx(theirs.value_c, abs=0.5)
