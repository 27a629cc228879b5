"""``--sources``: what a run rests on is listed after its answer, and a JSON answer stays one JSON object."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import COOK, LOG, Call

from pitreckon import catalog
from pitreckon.catalog import figures
from pitreckon.catalog.foods import foods
from pitreckon.citations import bibliography, cite
from pitreckon.cli import sources
from pitreckon.cook.read import cook_from_text

INNER = """\
[mix]
name = "pepper"
use = "rub"
[[ingredient]]
food = "paprika"
amount = "10 g"
"""
RUB = """\
[mix]
name = "a rub"
use = "rub"
[[ingredient]]
food = "salt"
amount = "20 g"
[[ingredient]]
mix = "inner.toml"
amount = "5 g"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "supper.toml").write_text(COOK, encoding="utf-8")
    (tmp_path / "day.csv").write_text(LOG, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_law_has_a_source_and_every_figure_of_the_cook_stands_under_its_name() -> None:
    for key in (key for keys in sources.LAWS.values() for key in keys):
        assert key in bibliography()
    groups = {group.what: group.lines for group in sources.of_reckoning(cook_from_text(COOK, "supper.toml"))}
    for what in (*sources.LAWS, *sources.MODEL):
        assert groups[what], what
    wing = catalog.cut("chicken-wing")
    told = " ".join(groups[wing.name])
    assert all(figure.source in told for _, figure in figures(wing))
    assert set(groups) >= {wing.name, catalog.pit("kettle").name, catalog.fuel("briquettes").name}


@pytest.mark.kernel
def test_reckon_lists_them_and_json_stays_whole(pitreckon: Call, folder: Path) -> None:
    files = ("reckon", "supper.toml", "--log", "day.csv", "--members", "16")
    plain, listed = pitreckon(*files), pitreckon(*files, "--sources")
    assert listed.out.startswith(plain.out)
    water = cite("van_der_sman_2007")
    assert f"({water.year}). {water.title}. [{water.status}]" in listed.out
    assert "Sources of this run" not in plain.out
    as_json = pitreckon(*files, "--json", "--sources")
    assert as_json.out == pitreckon(*files, "--json").out
    assert json.loads(as_json.out)
    assert "Sources of this run" in as_json.err


@pytest.mark.kernel
def test_a_record_lists_its_rules_and_the_models_beside_them(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("record", "supper.toml", "--log", "day.csv", "--members", "16", "--sources")
    listed = got.out.partition("Sources of this run")[2]
    assert "FSIS-GD-2021-14" in listed.partition("killing and growth")[0]
    assert "Juneja" in listed.partition("killing and growth")[2]


def test_a_mix_lists_its_foods(pitreckon: Call, folder: Path) -> None:
    (folder / "inner.toml").write_text(INNER, "utf-8")
    (folder / "rub.toml").write_text(RUB, "utf-8")
    got = pitreckon("mix", "rub.toml", "--sources")
    assert got.code == 0, got.err
    listed = got.out.partition("Sources of this run")[2]
    for key in ("salt", "paprika"):
        assert foods()[key].source in listed
