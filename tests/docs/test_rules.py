"""Rules that hold for every text of the repository."""

from __future__ import annotations

import ast
import os
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SKIPPED = {"__pycache__", "build", "dist", "demo-day", "node_modules", "static"}
NO_TEXT = (".png", ".jpg", ".bin")
LONGEST = 600
# Each is written in two halves, so that this file keeps the rule too.
REGISTRIES = (
    "py" + "pi.org",
    "python" + "hosted.org",
    "index" + "-url",
    "find" + "-links",
    "conda.ana" + "conda.org",
    "registry.npm" + "js.org",
    "static.crates" + ".io",
    "proxy." + "golang.org",
)
MACHINE = re.compile(
    r"(?<![\w.~$}*/-])/(?:" + "|".join(("wo" + "rk", "tm" + "p", "ro" + "ot", "ho" + "me", "Us" + "ers")) + r")/"
)
NO_TEXT = (".jpg", ".png", ".bin")
DOWNLOAD = re.compile(r"https?://\S+\.(?:whl|tar\.gz|zip|tgz|deb|woff2?)\b")


def _files() -> Iterator[Path]:
    for folder, names, files in os.walk(ROOT):
        names[:] = [n for n in names if n not in SKIPPED and (not n.startswith(".") or n == ".ci")]
        names[:] = [n for n in names if not n.endswith(".egg-info")]
        yield from (Path(folder) / name for name in files if name != ".git" and not name.endswith(NO_TEXT))


FILES = sorted(_files())
PYTHON = [path for path in FILES if path.suffix == ".py"]


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@cache
def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def _places(wanted: re.Pattern[str]) -> list[str]:
    """Where it stands, by file and line."""
    found = ((path, _text(path), match.start()) for path in FILES for match in wanted.finditer(_text(path)))
    return [f"{_name(path)}:{text.count(chr(10), 0, at) + 1}" for path, text, at in found]


def test_the_walk_finds_the_repository() -> None:
    names = {_name(path) for path in FILES}
    assert {"README.md", "pyproject.toml", "requirements.lock", ".ci/run", "src/pitreckon/units/clock.py"} <= names


def test_every_file_is_utf8_with_plain_line_ends() -> None:
    for path in FILES:
        assert b"\r" not in path.read_bytes(), _name(path)
        path.read_text(encoding="utf-8")


def test_no_registry_is_named() -> None:
    assert not _places(re.compile("|".join(map(re.escape, REGISTRIES))))


def test_nothing_is_downloaded_by_address() -> None:
    assert not _places(DOWNLOAD)


def test_no_path_of_a_machine() -> None:
    assert not _places(MACHINE)


def test_a_place_is_named_by_its_file_and_line() -> None:
    assert _places(re.compile("^REGISTRIES" + " = ", re.MULTILINE)) == ["tests/docs/test_rules.py:20"]


@pytest.mark.parametrize("text", ["/tm" + "p/x", "see /wo" + "rk/main", "'/ho" + "me/cook/a.toml'"])
def test_the_rule_for_paths_bites(text: str) -> None:
    assert MACHINE.search(text)


def test_the_lock_pins_versions_and_hashes_and_nothing_else() -> None:
    text = (ROOT / "requirements.lock").read_text().replace("\\\n", " ")
    pins = text.splitlines()
    assert len(pins) > 100
    marker = r"(?: ; [a-z_]+ [<>=!]+ '[\w.*]+'(?: (?:and|or) [a-z_]+ [<>=!]+ '[\w.*]+')*)?"
    for pin in pins:
        assert re.fullmatch(
            rf"[A-Za-z0-9._-]+==[0-9][A-Za-z0-9.+!]*{marker}(?: +--hash=sha256:[0-9a-f]{{64}})+", pin
        ), pin[:100]


def test_the_lock_has_whatever_is_asked_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    asked += [each for extra in project["project"]["optional-dependencies"].values() for each in extra]
    assert len(asked) > 40
    pinned = set(re.findall(r"^([\w.-]+)==", (ROOT / "requirements.lock").read_text(), re.MULTILINE))
    names = {re.sub(r"[-_.]+", "-", re.split(r"[\[<>=!;, ]", each)[0]).lower() for each in asked}
    assert names - {"pitreckon"} <= {re.sub(r"[-_.]+", "-", name).lower() for name in pinned}, "sh scripts/make_lock.sh"


@pytest.mark.parametrize("path", PYTHON, ids=_name)
def test_modules_are_short_and_say_what_they_are(path: Path) -> None:
    text = _text(path)
    assert text.count("\n") <= LONGEST
    said = ast.get_docstring(ast.parse(text))
    assert said, "no docstring"
    assert len(said.split()) >= 3, said
