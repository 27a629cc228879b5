"""``pitreckon mix`` as a cook calls it: the how-to's own files and answers, JSON, and one message when it cannot be."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from conftest import COOK, Call

HOWTO = Path(__file__).parents[2] / "docs" / "how-to" / "mix-by-weight.md"
TEXT = HOWTO.read_text(encoding="utf-8")
SHOWN = re.findall(r"```console\n\$ pitreckon (.*?)\n(.*?)\n```", TEXT, re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The mix files of the how-to, each under the name on its first line."""
    for text in re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL):
        (tmp_path / text.splitlines()[0].removeprefix("# ")).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _plain(text: str) -> str:
    return "\n".join(line.rstrip() for line in text.rstrip().splitlines())


@pytest.mark.parametrize(("command", "answer"), SHOWN, ids=[command for command, _ in SHOWN])
def test_the_how_to_shows_what_comes(pitreckon: Call, folder: Path, command: str, answer: str) -> None:
    got = pitreckon(*shlex.split(command))
    assert (got.code, got.err) == (0, "")
    assert _plain(got.out) == _plain(answer)


def test_there_is_something_shown() -> None:
    assert len(SHOWN) == 3


def test_every_mix_of_the_how_to_works(pitreckon: Call, folder: Path) -> None:
    files = sorted(folder.glob("*.toml"))
    assert len(files) == 7
    for path in files:
        got = pitreckon("mix", path, "--label")
        assert got.code == 0, got.err
        assert "not a regulated label" in got.out


def test_json(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("mix", "orchard-rub.toml", "--for", "7 racks", "--want", "sugar half", "--label", "--json")
    document = json.loads(got.out)
    before = document["before"]
    assert document["batches"] == 3.5
    assert document["contents"]["sugars_g"]["low"] == pytest.approx(
        0.5 * before["contents"]["sugars_g"]["low"], rel=0.05
    )
    assert {each["name"] for each in document["tastes"]} == {"sweet", "salt", "hot", "sour"}
    assert document["label"]["standing"].startswith("An estimate")
    assert sum(each["mass_g"] for each in document["ingredients"]) == pytest.approx(document["mass_g"])


def test_a_label_per_serving_does_not_depend_on_how_much_is_made(pitreckon: Call, folder: Path) -> None:
    for name in ("orchard-rub.toml", "plum-glaze.toml"):
        one, many = (
            json.loads(pitreckon("mix", name, *how, "--label", "--json").out)["label"]["lines"]
            for how in ((), ("--for", "9 racks"))
        )
        assert one == many


def test_pieces_of_a_cut_go_by_their_surface(pitreckon: Call, folder: Path) -> None:
    got = json.loads(pitreckon("mix", "orchard-rub.toml", "--for", "4 boston-butt", "--json").out)
    half = json.loads(pitreckon("mix", "orchard-rub.toml", "--for", "2 boston-butt", "--json").out)
    assert got["mass_g"] == pytest.approx(2 * half["mass_g"])


def test_two_side_by_side(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("mix", "porch-sauce.toml", "--against", "plum-glaze.toml")
    assert got.code == 0
    assert "Side by side" in got.out
    assert "smoked plum glaze" in got.out


@pytest.mark.kernel
def test_on_the_meat(pitreckon: Call, folder: Path) -> None:
    cook = COOK.replace('cut = "chicken-wing"', 'cut = "st-louis-ribs"').replace('"3 oz"', '"2 lb 12 oz"')
    (folder / "supper.toml").write_text(cook.replace("pieces = 24", "pieces = 4").replace('"325 F"', '"275 F"'))
    glaze = json.loads(pitreckon("mix", "plum-glaze.toml", "--heat", "supper.toml", "--json").out)["on_the_meat"]
    assert 3.0 <= glaze["sets_in_minutes"]["p50"] <= 15.0
    assert 0.0 <= glaze["drips"]["low"] <= glaze["drips"]["high"] <= 1.0
    assert 0.0 <= glaze["scorched"] <= glaze["browned"] <= 1.0
    wrap = pitreckon("mix", "cellar-wrap.toml", "--heat", "supper.toml", "--item", "wings")
    assert "of water in the wrap" in wrap.out
    refused = pitreckon("mix", "cellar-wrap.toml", "--heat", "supper.toml", "--item", "ham")
    assert refused.code == 2
    assert "wings" in refused.err


def test_the_foods_are_listed(pitreckon: Call) -> None:
    got = pitreckon("mix", "--foods")
    assert got.code == 0
    for food in ("brown-sugar", "flake-salt", "ground-guajillo", "water"):
        assert food in got.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("orchard-rub.toml", "--for", "2 hams"), ("--for", "ham", "2 racks")),
        (("orchard-rub.toml", "--for", "lots"), ("--for", "lots")),
        (("orchard-rub.toml", "--want", "smoke half"), ("smoke", "sugar")),
        (("orchard-rub.toml", "--want", "salt at most 2 %; salt at least 3 %"), ("together",)),
        (("hedge-spritz.toml", "--want", "salt at most 1 %"), ("how much meat", "covers")),
        (("gone.toml",), ("no such file",)),
        ((), ("--foods",)),
    ],
    ids=["hams", "lots", "smoke", "together", "no meat", "gone", "nothing"],
)
def test_one_message_when_it_cannot_be(
    pitreckon: Call, folder: Path, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    got = pitreckon("mix", *arguments)
    assert (got.code, got.out) == (2, "")
    assert "Traceback" not in got.err
    for word in words:
        assert word in got.err
