"""The page of statistical words and the code say the same: every word lives where the page says, none is left out."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import re
from pathlib import Path

import pytest

PAGE = (Path(__file__).parents[2] / "docs" / "nomenclature-statistics.md").read_text("utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| word |")
]
NAMED = sorted({name for row in ROWS for name in re.findall(r"`([\w.]+)`", row[3])})
STATISTICAL = ("reckon.update", "reckon.posterior", "reckon.evidence", "reckon.quantiles")
"""Rooms whose every public class and function carries a statistical meaning."""
FIELDS = {  # classes whose every field does
    "reckon.update": ("LinearObs", "Information", "Proposal"),
    "reckon.evidence": ("Evidence",),
}


def found(path: str) -> bool:
    """Is there such a module, and in it such a name, and in that such a field, method or property?"""
    parts = path.split(".")
    for cut in range(len(parts) - 1, 0, -1):
        try:
            thing: object = importlib.import_module("pitreckon." + ".".join(parts[:cut]))
        except ModuleNotFoundError:
            continue
        for name in parts[cut:]:
            if dataclasses.is_dataclass(thing) and name in {field.name for field in dataclasses.fields(thing)}:
                return name == parts[-1]
            if not hasattr(thing, name):
                return False
            thing = getattr(thing, name)
        return True
    return False


@pytest.mark.parametrize("name", NAMED)
def test_every_word_lives_where_the_page_says(name: str) -> None:
    assert found(name), f"docs/nomenclature-statistics.md names {name}, which is not in the code"


@pytest.mark.parametrize("name", ["reckon.update.Aim", "reckon.update.LinearObs.over", "reckon.nowhere.ess"])
def test_a_word_that_is_gone_is_noticed(name: str) -> None:
    assert not found(name)


def test_every_row_is_whole() -> None:
    assert len(ROWS) > 30
    assert len({row[0] for row in ROWS}) == len(ROWS), "one word, one row"
    for row in ROWS:
        assert len(row) == 5, row
        word, meaning, _, where, source = row
        assert word, row
        assert meaning, row
        assert re.search(r"`[\w.]+`", where), row
        assert source.endswith(("from memory", "ours", "common practice, no source")), row


@pytest.mark.parametrize("room", STATISTICAL)
def test_no_statistical_name_is_left_out(room: str) -> None:
    module = importlib.import_module(f"pitreckon.{room}")
    public = {
        f"{room}.{name}"
        for name, thing in vars(module).items()
        if not name.startswith("_")
        and (inspect.isclass(thing) or inspect.isfunction(thing))
        and thing.__module__ == module.__name__
    }
    assert public
    assert public <= set(NAMED), sorted(public - set(NAMED))


@pytest.mark.parametrize(("room", "name"), [(room, name) for room, names in FIELDS.items() for name in names])
def test_no_field_is_left_out(room: str, name: str) -> None:
    record = getattr(importlib.import_module(f"pitreckon.{room}"), name)
    fields = {f"{room}.{name}.{field.name}" for field in dataclasses.fields(record)}
    assert fields
    assert fields <= set(NAMED), sorted(fields - set(NAMED))


def test_the_nomenclature_leads_here() -> None:
    page = Path(__file__).parents[2] / "docs" / "nomenclature.md"
    assert "(nomenclature-statistics.md)" in page.read_text("utf-8")
