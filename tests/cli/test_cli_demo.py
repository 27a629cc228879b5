"""The demo: it walks through the day, and its files are a cook and a log like any other."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import Call, outlook_of

from pitreckon.cli import demo

pytestmark = pytest.mark.kernel


@pytest.mark.slow
def test_demo_writes_two_files_that_can_be_reckoned(
    pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "EXPLAIN_MEMBERS", 8)
    monkeypatch.setattr(demo, "MOMENTS", (demo.MOMENTS[0], demo.MOMENTS[-1]))  # the ends of the day: half the time
    folder = tmp_path / "day"
    answer = pitreckon("demo", folder, "--members", "8", "--no-page")
    assert (answer.code, answer.err) == (0, "")
    for clock, _ in demo.MOMENTS:
        assert clock in answer.out
    assert answer.out.count("8 members") == len(demo.MOMENTS)
    assert answer.out.count("What changed") == len(demo.MOMENTS) - 1
    assert "of what was said; " in answer.out

    cook, log = sorted(folder.iterdir(), reverse=True)
    assert (cook.suffix, log.suffix) == (".toml", ".csv")
    kinds = {row.split(",")[1] for row in log.read_text().splitlines()[1:]}
    assert kinds == {"reading", "look", "act"}
    again = pitreckon("reckon", cook, "--log", log, "--at", "17:40", "--members", "8", "--json")
    assert (again.code, again.err) == (0, "")
    outlook = outlook_of(again)
    assert len(outlook.items) >= 3
    assert not any(item.put_on_planned for item in outlook.items)
    for item in outlook.items:
        assert item.marks.ready.p50_s is not None
        assert item.stages[0].done


def test_a_day_of_the_cook_s_own_is_not_written_over(
    pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """``pitreckon demo .`` beside one's own ``day.csv``, as the tutorial names it."""
    monkeypatch.setattr(demo, "MOMENTS", ())
    (tmp_path / "day.csv").write_text("my own day\n")
    for _ in range(2):
        assert pitreckon("demo", tmp_path, "--members", "8", "--no-page").code == 0
    assert (tmp_path / "day.csv.before").read_text() == "my own day\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day.csv", "day.csv.before", "harvest-table.toml"]
