"""The generated pages are what the code would write now."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from types import ModuleType

import pytest

from pitreckon.reckon import MARK_NAMES
from pitreckon.reckon.document import MarksDocument

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_reference", ROOT / "scripts" / "make_reference.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_pages_are_up_to_date(maker: ModuleType) -> None:
    pages = maker.pages()
    assert {path.name for path in pages} == {"command-line.md", "outlook-json.md", "catalog.md", "safety-rules.md"}
    old = [path.name for path, text in pages.items() if not path.exists() or path.read_text("utf-8") != text]
    assert not old, f"{', '.join(old)} no longer follows from the code; run: {maker.COMMAND}"


def test_nothing_is_left_out(maker: ModuleType) -> None:
    json_page, catalog_page = maker.outlook_json(), maker.the_catalog()
    assert set(MarksDocument.model_fields) == set(MARK_NAMES)
    for key in (*MARK_NAMES, "p05", "p50_s", "core_c", "loss_fraction", "seed", "members"):
        assert f"| `{key}` |" in json_page
    data = ROOT / "src" / "pitreckon" / "catalog" / "data"
    for path in data.rglob("*.toml"):
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
