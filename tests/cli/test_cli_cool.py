"""``pitreckon cool`` as a cook calls it."""

from __future__ import annotations

import json
import re

import pytest
from conftest import Call

ASKED = ("cool", "boston-butt", "--weight", "6lb")


@pytest.mark.kernel
def test_the_ways_that_make_it_come_first(pitreckon: Call) -> None:
    got = pitreckon(*ASKED, "--core", "160 F")
    assert (got.code, got.err) == (0, "")
    likely, rest = got.out.split("Not likely to make it")
    assert "ice bath" in likely
    assert "whole, open" in rest
    assert "3-501.14" in got.out
    assert "Follow your local code and your health department." in got.out


@pytest.mark.kernel
def test_on_forty_columns_the_way_is_told_with_its_times(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    """The table had no room for what to do, and left it out."""
    monkeypatch.setenv("COLUMNS", "40")
    lines = pitreckon(*ASKED).out.splitlines()
    assert max(len(line) for line in lines) <= 40
    at = next(n for n, line in enumerate(lines) if line.startswith("pulled, 1 in"))
    assert any(re.fullmatch(r"  41 °F after  \d+:\d\d \(\d+:\d\d to \d+:\d\d\)", line) for line in lines[at : at + 5])
    assert "…" not in "".join(lines)


@pytest.mark.parametrize("command", ["pits", "wraps"])
def test_on_forty_columns_no_word_is_broken(pitreckon: Call, monkeypatch: pytest.MonkeyPatch, command: str) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    out = pitreckon(command).out
    assert "\npellet-cooker\n" in out if command == "pits" else "\ninsulated-box\n" in out
    assert "\n  name  " in out


@pytest.mark.kernel
def test_as_json(pitreckon: Call) -> None:
    got = pitreckon(*ASKED, "--json")
    answer = json.loads(got.out)
    assert answer["limit"]["status"] == "seen"
    ways = answer["ways"]
    assert len(ways) > 8
    assert [way["likely"] for way in ways] == sorted((way["likely"] for way in ways), reverse=True)
    assert all(way["perfringens_log10"]["advice_only"] for way in ways)
    for found in (way["perfringens_log10"] for way in ways):
        assert found["p50"] <= found["p95_worst"] <= found["worst"]
        assert found["known"] == 1.0
    assert any(way["ice_kg"] for way in ways)
    assert pitreckon(*ASKED, "--json").out == got.out


@pytest.mark.kernel
def test_a_fan_helps(pitreckon: Call) -> None:
    def whole_open(*more: str) -> float:
        ways = json.loads(pitreckon(*ASKED, "--json", *more).out)["ways"]
        return float(next(way["to_41_f_s"]["p50"] for way in ways if way["way"].startswith("whole, open")))

    assert whole_open("--fan") < whole_open()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--core", "120 F"), "--ago"),
        (("--core", "lukewarm"), "lukewarm"),
        (("--core", "400 F"), "start_c"),
        (("--weight", "900 lb"), "mass_kg"),
    ],
)
def test_bad_input_gets_one_message(pitreckon: Call, more: tuple[str, ...], says: str) -> None:
    got = pitreckon(*ASKED, *more)
    assert got.code != 0
    assert says in got.err
    assert got.err.count("\n") == 1
    assert got.out == ""
