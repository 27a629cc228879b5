"""A cook from one ledger to another by its export, and what is said when something is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import COOK, LOG, Call

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.store import Correction, Entry, Store


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """The wings, half an hour in; one entry taken back."""
    path = tmp_path / "ledger.sqlite"
    cook = cook_from_text(COOK, "wings.toml")
    events = log_from_text(LOG, "log.csv", cook).events
    with Store.open(path) as store:
        store.add_cook(COOK, cook.name, cook_id="wings")
        store.append("wings", [Entry(f"row-{n}", event) for n, event in enumerate(events)])
        slip = Act(events[-1].at_utc, "wings", "took off", note="not\u2028yet")
        store.append("wings", [Entry("slip", slip), Entry("undo", Correction("slip", None, "wrong button"))])
    return path


def test_out_of_one_ledger_and_into_another(pitreckon: Call, ledger: Path, tmp_path: Path) -> None:
    listed = pitreckon("cooks", "--ledger", ledger)
    assert listed.out.split() == ["wings", "7", "entries", "harvest", "table"]
    out = pitreckon("export", "wings", "--ledger", ledger)
    assert out.code == 0
    assert json.loads(out.out.splitlines()[0])["plan"] == COOK
    file, other = tmp_path / "wings.jsonl", tmp_path / "other.sqlite"
    file.write_text(out.out, encoding="utf-8")
    for _ in range(2):
        taken = pitreckon("import", file, "--ledger", other)
        assert (taken.code, taken.out) == (0, f"wings is in {other}, with 7 entries\n")
    assert pitreckon("export", "wings", "--ledger", other).out == out.out


def test_a_log_for_reckon(pitreckon: Call, ledger: Path) -> None:
    out = pitreckon("export", "wings", "--csv", "--ledger", ledger).out
    again = log_from_text(out, "log.csv", cook_from_text(COOK, "wings.toml"))
    assert len(again) == 5
    assert [act.act for act in again.all_acts] == ["put on"], "what was taken back is gone"


def test_an_empty_ledger(pitreckon: Call, tmp_path: Path) -> None:
    answer = pitreckon("cooks", "--ledger", tmp_path / "new.sqlite")
    assert (answer.code, answer.out) == (0, "")
    assert "has no cook yet" in answer.err


def test_what_is_wrong_is_said(pitreckon: Call, ledger: Path, tmp_path: Path) -> None:
    missing = pitreckon("export", "nobody", "--ledger", ledger)
    assert missing.code == 2
    assert "there is no cook 'nobody'" in missing.err
    file = tmp_path / "cut.jsonl"
    file.write_text("".join(pitreckon("export", "wings", "--ledger", ledger).out.splitlines(keepends=True)[:3]))
    cut = pitreckon("import", file, "--ledger", tmp_path / "other.sqlite")
    assert cut.code == 2
    assert (
        cut.err
        == f"pitreckon: {file}, line 3: the file breaks off. Give a file that 'pitreckon export' wrote, whole.\n"
    )
    closed = pitreckon("cooks", "--ledger", file)
    assert closed.code == 2
    assert f"pitreckon: {file}: it holds something else than a ledger" in closed.err
