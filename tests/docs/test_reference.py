"""The generated pages are what the code would write now."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

from pitreckon.reckon import MARK_NAMES
from pitreckon.reckon.document import MarksDocument

ROOT = Path(__file__).parents[2]


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # where dataclasses look for the names in their annotations
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    return script("make_reference")


@pytest.fixture(scope="module")
def layout() -> ModuleType:
    return script("make_modules")


def test_pages_are_up_to_date(maker: ModuleType) -> None:
    pages = maker.pages()
    whole = {"command-line.md", "outlook-json.md", "json-answers.md", "catalog.md", "library.md", "safety-rules.md"}
    assert {path.name for path in pages} == {*whole, "ledger-file.md", "settings-file.md"}
    old = [path.name for path, text in pages.items() if not path.exists() or path.read_text("utf-8") != text]
    assert not old, f"{', '.join(old)} no longer follows from the code; run: {maker.COMMAND}"


def test_the_rooms_and_modules_are_up_to_date(layout: ModuleType) -> None:
    old = [path.name for path, text in layout.pages().items() if not path.exists() or path.read_text("utf-8") != text]
    assert not old, f"{', '.join(old)} no longer follows from the code; run: {layout.COMMAND}"


def test_every_module_has_its_row(layout: ModuleType) -> None:
    every = layout.modules()
    assert len(every) > 300
    page = layout.module_page()
    for module in every:
        assert module.says, f"{module.path} does not say what it is"
        assert not module.name or module.says in page.replace("\\|", "|"), module.name
    rooms = layout.rooms()
    for room in {module.room for module in every if module.room}:
        assert f"\n| `{room}` | " in rooms, f"{room} is on no floor of the contract in pyproject.toml"


def test_what_the_architecture_page_names_is_there(layout: ModuleType) -> None:
    """A dotted name in code marks is a module or a folder of the package."""
    names = {module.name for module in layout.modules()}
    text = layout.ARCHITECTURE.read_text("utf-8")
    named = set(re.findall(r"`([a-z_]+(?:\.[a-z_]+)+)`", text))
    assert len(named) > 60
    assert not sorted(named - names)


def test_nothing_is_left_out(maker: ModuleType) -> None:
    json_page, catalog_page = maker.outlook_json(), maker.the_catalog()
    assert set(MarksDocument.model_fields) == set(MARK_NAMES)
    for key in (*MARK_NAMES, "p05", "p50_s", "core_c", "loss_fraction", "seed", "members"):
        assert f"| `{key}` |" in json_page
    data = ROOT / "src" / "pitreckon" / "catalog" / "data"
    calibrated = data / "constants" / "calibration.toml"  # laid beside the constants, whose values are on the page
    entries = [path for path in data.rglob("*.toml") if path != calibrated]
    assert calibrated.exists()
    assert len(entries) > 40
    for path in entries:
        assert re.search(rf"^### {re.escape(path.stem)}$", catalog_page, re.MULTILINE), path.name


def test_the_cook_s_own_catalog_stays_out(maker: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "fuels").mkdir()
    text = (ROOT / "src/pitreckon/catalog/data/fuels/pellets.toml").read_text("utf-8")
    text = re.sub(r"^also = .*\n", "", text, flags=re.MULTILINE)
    (tmp_path / "fuels" / "peat.toml").write_text(
        text.replace('key = "pellets"', 'key = "peat"').replace("Wood pellets", "Peat")
    )
    monkeypatch.setenv("PITRECKON_CATALOG", str(tmp_path))
    assert "### peat" in maker.the_catalog()
    assert "### peat" not in maker.pages()[maker.REFERENCE / "catalog.md"]
