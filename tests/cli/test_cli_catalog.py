"""``cuts`` and ``pits`` list everything, the cook's own files included."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import COOK, Call

from pitreckon import catalog

DATA = Path(catalog.__file__).parent / "data"


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch, pitreckon: Call) -> None:
    """Wide enough that no key is folded."""
    monkeypatch.setenv("COLUMNS", "200")


@pytest.mark.parametrize("command", ["cuts", "pits"])
def test_every_key_is_listed(pitreckon: Call, command: str) -> None:
    answer = pitreckon(command)
    assert (answer.code, answer.err) == (0, "")
    keys = sorted(path.stem for path in (DATA / command).glob("*.toml"))
    assert len(keys) >= 8
    for key in keys:
        assert re.search(rf"(?<!\S){re.escape(key)}(?!\S)", answer.out), key


@pytest.mark.parametrize("command", ["cuts", "pits"])
def test_degrees_celsius(pitreckon: Call, command: str) -> None:
    assert "°F" in pitreckon(command).out
    assert "°C" in pitreckon(command, "--degrees", "C").out


@pytest.mark.kernel
def test_a_cut_of_the_cook_s_own(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = (DATA / "cuts" / "chicken-wing.toml").read_text()
    own = re.sub(r"^key = .*\nname = .*\n", 'key = "quail"\nname = "Quail, whole"\n', text)
    own = re.sub(r"^also = .*\n", "", own, flags=re.MULTILINE)
    (tmp_path / "own" / "cuts").mkdir(parents=True)
    (tmp_path / "own" / "cuts" / "quail.toml").write_text(own)
    cook = tmp_path / "cook.toml"
    cook.write_text(COOK.replace('"chicken-wing"', '"quail"'))
    assert pitreckon("reckon", cook).code == 2  # nobody has told it where that file is
    monkeypatch.setenv("PITRECKON_CATALOG", str(tmp_path / "own"))
    listed = pitreckon("cuts")
    assert listed.err == ""
    assert "quail" in listed.out
    assert "Quail, whole" in listed.out
    answer = pitreckon("reckon", cook, "--members", "8")
    assert (answer.code, answer.err) == (0, "")
    assert "Quail, whole" in answer.out


def test_a_fault_in_a_file_of_the_cook_s_own(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "pits").mkdir()
    (tmp_path / "pits" / "trench.toml").write_text('key = "trench"\nname = "Trench"\n')
    monkeypatch.setenv("PITRECKON_CATALOG", str(tmp_path))
    answer = pitreckon("pits")
    assert (answer.code, answer.out) == (2, "")
    assert "trench.toml" in answer.err
