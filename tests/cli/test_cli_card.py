"""``pitreckon card`` as a cook calls it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.cards import made_once
from validation.readers.cards import HERE

FILES = ("orchard-supper.toml", "--log", "orchard-supper.csv")
QUICK = ("--readers", "100")
RUB = '[mix]\nname="plain rub"\nuse="rub"\ncovers=["2 kg"]\n[[ingredient]]\nfood="salt"\namount="18 g"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("orchard-supper.toml", "orchard-supper.csv"):
        shutil.copy(HERE / name, tmp_path / name)
    (tmp_path / "rub.toml").write_text(RUB, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    made_once(monkeypatch)
    return tmp_path


@pytest.mark.kernel
def test_on_the_screen(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("card", *FILES, "--item", "thighs", "--mix", "rub.toml", "--pieces", "20", *QUICK)
    assert got.code == 0, got.err
    text = " ".join(got.out.split())
    assert "Recipe card for 20 × Chicken thigh" in text
    assert "31 g" in text  # 20 thighs of 6 oz are 3.40 kg; 18 g for 2 kg makes 30.6 g
    assert "of 100 simulated readers get this plate" in text


@pytest.mark.kernel
def test_into_files(pitreckon: Call, folder: Path) -> None:
    for name in ("c.pdf", "c.html", "c.md", "c.txt", "c.json", "c.jsonld"):
        got = pitreckon("card", *FILES, "--item", "thighs", "--degrees", "C", *QUICK, "-o", name)
        assert got.code == 0, got.err
        assert (folder / name).stat().st_size > 500
    assert json.loads((folder / "c.jsonld").read_text("utf-8"))["@type"] == "Recipe"
    assert 'type="application/ld+json"' in (folder / "c.html").read_text("utf-8")
    assert "°C" in (folder / "c.md").read_text("utf-8")


@pytest.mark.kernel
def test_as_json_for_one_kind_of_pit(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("card", *FILES, "--item", "thighs", "--pit", "kettle", *QUICK, "--json")
    assert got.code == 0, got.err
    document = json.loads(got.out)
    assert list(document["by_pit"]) == ["kettle"]
    assert document["readers"] == 100


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ((), "more than one item"),
        (("--item", "goose"), "no item of this cook"),
        (("--item", "racks", "-o", "card.docx"), "no kind of card"),
        (("--item", "racks", "--pit", "campfire"), "kind of pit"),
        (("--item", "racks", "--readers", "9"), "too few"),
        pytest.param(("--item", "thighs", "--pieces", "0", *QUICK), "a card for 0 pieces", marks=pytest.mark.kernel),
        (("--item", "racks", "--mix", "gone.toml"), "gone.toml"),
    ],
)
def test_one_clear_error(pitreckon: Call, folder: Path, given: tuple[str, ...], words: str) -> None:
    got = pitreckon("card", *FILES, *given)
    assert got.code == 2
    assert words in " ".join(got.err.split())
    assert not got.out
