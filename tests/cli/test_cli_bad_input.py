"""Bad input: one message with file, line, field and remedy, exit code 2, nothing printed, nothing written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from conftest import COOK, LOG, Call

SERVE = 'serve = "2026-10-17 18:00"'
COOKS = {
    # what is wrong: (old text, new text, field, a word of the trouble, a word of the remedy)
    "unknown cut": ('cut = "chicken-wing"', 'cut = "chicken-wyng"', "cut", "chicken-wyng", "chicken-wing"),
    "unknown pit": ('kind = "kettle"', 'kind = "kettel"', "kind", "kettel", "kettle"),
    "missing weight": ('weight = "3 oz"\n', "", "weight", "missing", "weight ="),
    "serving before start": (SERVE, 'serve = "2026-10-17 16:00"', "serve", "16:00", "later"),
    "a year off": (SERVE, 'serve = "2027-10-17 18:00"', "serve", "365 days before it is served", "year"),
    "temperature without unit": ('set = "325 F"', 'set = "325"', "set", "no unit", "275 F"),
    "bare number": ('set = "325 F"', "set = 325", "set", "no unit", "275 F"),
    "negative weight": ('weight = "3 oz"', 'weight = "-3 oz"', "weight", "-3 oz", ""),
    "no pieces": ("pieces = 24", "pieces = 0", "pieces", "", ""),
    "unknown key": ("pieces = 24", "peices = 24", "peices", "no key", "pieces"),
    "unknown zone": ('"America/Chicago"', '"America/Chikago"', "zone", "Chikago", "America/Chicago"),
    "not TOML": ('name = "wings"', 'name = "wings', None, "TOML", "key"),
}
LOGS = {
    # what is wrong: (rows after the good ones, field, a word of the trouble, a word of the remedy)
    "probe of 999": ("17:10,reading,wings,1,probe,999 F,\n", "value", "999", "--set-aside"),
    "probe of NaN": ("17:10,reading,wings,1,probe,NaN,\n", "value", "NaN", "--set-aside"),
    "temperature without unit": ("17:10,reading,wings,1,probe,150,\n", "value", "no unit", "275 F"),
    "times run backwards": ("2026-10-17 17:01,reading,barn kettle,,pit air,320 F,\n", "time", "17:01", ""),
    "duplicate rows": ("17:05,reading,barn kettle,,pit air,327 F,\n", "time", "line 6", "Delete"),
    "unknown item": ("17:10,reading,wigns,1,probe,150 F,\n", "on", "wigns", "wings"),
    "unknown what": ("17:10,look,wings,1,color,tan,\n", "what", "color", "colour"),
    "unknown kind": ("17:10,note,wings,,,,\n", "kind", "note", "look"),
}


def _refused(pitreckon: Call, folder: Path, *arguments: object) -> str:
    """The one message of a call that must be refused and leave the folder as it was."""
    before = {path: path.read_bytes() for path in folder.rglob("*")}
    answer = pitreckon("reckon", *arguments)
    assert answer.code == 2
    assert answer.out == ""
    assert {path: path.read_bytes() for path in folder.rglob("*")} == before
    (message,) = answer.err.splitlines()
    assert message.startswith("pitreckon: ")
    assert message.endswith(".")
    assert "Traceback" not in message
    return message


def _line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


@pytest.mark.parametrize("case", COOKS)
def test_cook_file(pitreckon: Call, tmp_path: Path, case: str) -> None:
    old, new, field, trouble, remedy = COOKS[case]
    assert COOK.count(old) == 1
    path = tmp_path / "cook.toml"
    path.write_text(COOK.replace(old, new))
    message = _refused(pitreckon, tmp_path, path)
    assert str(path) in message
    if field is not None:
        assert f"{field}'" in message
    # A key that is left out is placed on the head of its table.
    line = _line_of(COOK, old) if new else _line_of(COOK, "[[item]]")
    assert f"line {line}" in message
    assert trouble in message
    assert remedy in message


@pytest.mark.parametrize("case", LOGS)
def test_log(pitreckon: Call, cook_file: Path, tmp_path: Path, case: str) -> None:
    rows, field, trouble, remedy = LOGS[case]
    path = tmp_path / "log.csv"
    path.write_text(LOG + rows)
    message = _refused(pitreckon, tmp_path, cook_file, "--log", path)
    assert f"{path}, line 7, field '{field}'" in message
    assert trouble in message
    assert remedy in message


def test_empty_log(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.touch()
    message = _refused(pitreckon, tmp_path, cook_file, "--log", path)
    assert str(path) in message
    assert "0 bytes" in message
    assert "time,kind,on" in message


def test_not_utf8(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    first, _, rest = cook_file.read_bytes().partition(b"\n")
    cook_file.write_bytes(first + b"\n# caf\xe9\n" + rest)
    message = _refused(pitreckon, tmp_path, cook_file)
    assert f"{cook_file}, line 2" in message
    assert "UTF-8" in message
    assert "0xe9" in message


def test_no_such_file(pitreckon: Call, cook_file: Path, tmp_path: Path) -> None:
    for arguments in ((tmp_path / "none.toml",), (cook_file, "--log", tmp_path / "none.csv")):
        message = _refused(pitreckon, tmp_path, *arguments)
        assert str(arguments[-1]) in message
        assert "no such file" in message


@pytest.mark.parametrize("at", ["noon", "25:00", "2026-10-32 14:00"])
def test_at(pitreckon: Call, cook_file: Path, tmp_path: Path, at: str) -> None:
    message = _refused(pitreckon, tmp_path, cook_file, "--at", at)
    assert "--at" in message
    assert at in message


@pytest.mark.servers
def test_from_a_shell(tmp_path: Path) -> None:
    """Once through a process of its own: the exit code and the streams are real."""
    (tmp_path / "cook.toml").write_text(COOK.replace("3 oz", "-3 oz"))
    done = subprocess.run(
        [sys.executable, "-m", "pitreckon.cli.main", "reckon", "cook.toml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert f"cook.toml, line {_line_of(COOK, 'weight')}" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["cook.toml"]
