"""``pitreckon why`` as a cook calls it: the how-to's file, options, JSON, and one message when it cannot be."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import Call

HOWTO = Path(__file__).parents[2] / "docs" / "how-to" / "find-what-went-wrong.md"
(REPORT,) = re.findall(r"```toml\n(.*?)```", HOWTO.read_text(encoding="utf-8"), re.DOTALL)


@pytest.fixture
def report(tmp_path: Path) -> Path:
    path = tmp_path / "report.toml"
    path.write_text(REPORT, encoding="utf-8")
    return path


@pytest.mark.kernel
def test_it_says_causes_and_one_change(pitreckon: Call, report: Path) -> None:
    got = pitreckon("why", str(report), "--members", "16")
    assert (got.code, got.err) == (0, "")
    assert "Why was it tough and too pale?" in got.out
    odds = [int(each) for each in re.findall(r"(\d+) %  ", got.out)]
    assert odds == sorted(odds, reverse=True)
    assert 60 <= sum(odds) <= 100
    assert got.out.count("One change to try") == 1
    assert "not a promise of safety" in got.out


@pytest.mark.kernel
def test_options_do_without_a_file(pitreckon: Call) -> None:
    raw = ("--cut", "chicken-thigh", "--set", "325 F", "--pit-time", "1h", "--came-out", "raw near the bone")
    got = pitreckon("why", *raw, "--members", "16")
    assert (got.code, got.err) == (0, "")
    assert "Do not eat what is raw" in got.out


@pytest.mark.kernel
def test_options_win_over_the_file(pitreckon: Call, report: Path) -> None:
    got = pitreckon("why", str(report), "--came-out", "salty", "--members", "8", "--json")
    answer = json.loads(got.out)
    assert answer["came_out"] == ["salty"]
    assert sum(each["chance"] for each in answer["causes"]) == pytest.approx(1.0, abs=0.01)
    assert answer["changes"][0]["key"] == "weigh salt"
    assert answer["cautions"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("--cut", "Name a report file")),
        (("no-such.toml",), ("no-such.toml",)),
        (("--cut", "back-ribs"), ("the options", "came_out", "nothing says")),
        (("--cut", "back-ribs", "--came-out", "though"), ("the options", "Write tough")),
        (("--cut", "back-ribz", "--came-out", "tough"), ("the options", "cut", "back-ribs")),
        (("--cut", "back-ribs", "--came-out", "tough", "--pit-time", "soon"), ("the options", "did: on")),
    ],
)
def test_bad_input_is_one_message(pitreckon: Call, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    got = pitreckon("why", *arguments)
    assert got.code == 2
    assert got.out == ""
    assert len(got.err.strip().splitlines()) == 1
    assert all(word in got.err for word in words), got.err
    assert "line" not in got.err or "toml" in got.err
