"""The how-to page: its example files are read as they stand, and no field is left unexplained."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from pitreckon import catalog

PAGE = (Path(__file__).parents[2] / "docs" / "how-to" / "add-a-cut-or-pit.md").read_text()
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def test_the_page_s_cut_and_pit_are_read(tmp_path: Path) -> None:
    cut, animal, pit = EXAMPLES
    entries = (("cuts", "goat-shoulder", cut), ("animals", "goat", animal), ("pits", "brick-pit", pit))
    for folder, key, text in entries:
        (tmp_path / folder).mkdir()
        (tmp_path / folder / f"{key}.toml").write_text(text)
    assert catalog.cut("shoulder of goat", tmp_path).shape.mass_kg.value == 2.2
    assert catalog.pit("the brick pit", tmp_path).fuel == "split-hardwood"
    assert set(catalog.cuts(tmp_path)) - set(catalog.cuts()) == {"goat-shoulder"}


@pytest.mark.parametrize(
    "form",
    [
        *(
            catalog.Animal,
            catalog.Cut,
            catalog.Composition,
            catalog.CutLies,
            catalog.CutSurface,
            catalog.Texture,
            catalog.Colour,
        ),
        *(catalog.Slab, catalog.Ball, catalog.Block, catalog.Drum, catalog.Rack, catalog.CourseStage),
        *(catalog.Pit, catalog.PitAir, catalog.PitExchange, catalog.PitSurface),
        *(catalog.PitRoom, catalog.PitPlace, catalog.PitFire),
    ],
)
def test_every_field_is_on_the_page(form: type) -> None:
    assert fields(form)
    for each in fields(form):
        assert each.name in PAGE, each.name


def test_every_animal_is_on_the_page() -> None:
    row = next(line for line in PAGE.splitlines() if line.startswith("| `animal` |"))
    assert set(re.findall(r"`([a-z]+)`", row)) == {"animal", *catalog.animals()}
