"""``pitreckon explain``: the story of a finished cook on the screen, as JSON, and as a file with pictures."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.conftest import Call

EXAMPLES = Path(__file__).parents[2] / "examples"
RACKS = (EXAMPLES / "sunday-racks" / "sunday-racks.toml", "--log", EXAMPLES / "sunday-racks" / "day.csv")
BUTT = (EXAMPLES / "overnight-butt" / "overnight-butt.toml", "--log", EXAMPLES / "overnight-butt" / "night.csv")


@pytest.mark.kernel
def test_a_page_with_pictures_and_the_numbers_behind_them(pitreckon: Call, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    file = tmp_path / "story.html"
    got = pitreckon("explain", *RACKS, "-o", file, "--degrees", "C", "--json")
    assert got.code == 0
    page = file.read_text(encoding="utf-8")
    assert page.count('<svg class="picture"') == 7
    assert "at about 131 °C." in page.replace('<span class="kept">', "").replace("</span>", "")
    told = json.loads(got.out)
    assert told["written"] == str(file)
    assert [each["do"] for each in told["stages"]] == ["open", "wrapped", "sauced", "rest"]
    assert [each["what"] for each in told["events"]][:2] == ["put on", "colour"]
    assert len(told["moments"]) == 5
    assert {len(line) for band in told["curves"].values() for line in band.values()} == {len(told["minutes"])}


@pytest.mark.kernel
def test_on_the_screen_it_is_words_alone(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name, package=None: None)  # no library is asked for
    got = pitreckon("explain", *RACKS)
    assert got.code == 0
    assert "WHAT IF IT HAD BEEN OTHERWISE" in got.out
    assert "<svg" not in got.out


def test_what_is_not_off_the_pit_is_refused(pitreckon: Call) -> None:
    got = pitreckon("explain", *BUTT)
    assert got.code == 2
    assert "record 'took off' first" in got.err


def test_without_the_library_it_names_its_line(
    pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from importlib.util import find_spec

    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "matplotlib" else find_spec(name))
    got = pitreckon("explain", *RACKS, "-o", tmp_path / "story.html")
    assert got.code == 2
    assert 'pip install "pitreckon[pictures]"' in got.err
    assert not (tmp_path / "story.html").exists()
