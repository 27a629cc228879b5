"""``pitreckon card take-in`` as a cook calls it, and the card's own code and page."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.cards import made_once
from tests.cli.test_cli_schema import held
from validation.readers.cards import HERE

from pitreckon.lessons.answers.code import parse_code
from pitreckon.lessons.answers.kept import card_from

EXAMPLE = Path(__file__).parents[2] / "examples" / "sunday-racks" / "answers"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(EXAMPLE, tmp_path / "answers")
    monkeypatch.chdir(tmp_path)
    made_once(monkeypatch)
    return tmp_path


@pytest.mark.kernel
def test_a_card_carries_its_code_and_its_page(pitreckon: Call, folder: Path) -> None:
    files = (HERE / "orchard-supper.toml", "--log", HERE / "orchard-supper.csv", "--item", "thighs", "--readers", "100")
    got = pitreckon("card", *files, "-o", "card.json", "--answers", "page.html", "--language", "es", "--degrees", "C")
    assert got.code == 0, got.err
    kept = card_from(json.loads((folder / "card.json").read_text("utf-8"))["card"], "card.json")
    page = (folder / "page.html").read_text("utf-8")
    assert kept.code in page
    assert '<html lang="es"' in page
    assert "Cinco preguntas" in page
    assert "default-src 'none'" in page
    assert not [word for word in ("http://", "https://", "<link", "<img", "@import", "fetch(") if word in page]
    shown = pitreckon("card", *files)
    assert parse_code(kept.code) in shown.out


@pytest.mark.kernel
def test_answers_are_taken_in(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("card", "take-in", "answers", "--changed", "new.json", "--answers", "new.html", "--json")
    assert got.code == 0, got.err
    told = held("card take-in", got.out)
    assert (told["files"], told["answers"], len(told["refused"])) == (13, 12, 1)
    assert told["got"]["middle"] == 0.5
    assert told["share"]["low"] < told["share"]["middle"] < told["share"]["high"]
    changed = card_from(json.loads((folder / "new.json").read_text("utf-8")), "new.json")
    assert changed.code == told["card"]["code"] != told["code"]
    assert changed.code in (folder / "new.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("nowhere",), "no such folder"),
        (("empty",), "no answers in the folder"),
        (("bare",), "no card is in the folder"),
        (("two",), "more than one card"),
        (("answers", "--card", "answers/answer-01.txt"), "no JSON"),
        (("answers", "--card", "other.json"), "holds no card"),
        (("answers", "--card", "changed.json"), "not what its code"),
        (("answers", "--changed", "new.txt"), ".json"),
        (("answers", "--answers", "page.txt"), ".html"),
        (("answers", "-o", "x.docx"), "no kind of sheet"),
        (("few",), "only 2 answers can be counted"),
    ],
)
def test_one_clear_error(pitreckon: Call, folder: Path, given: tuple[str, ...], words: str) -> None:
    for name in ("empty", "bare", "two", "few"):
        (folder / name).mkdir()
    shutil.copy(EXAMPLE / "answer-01.txt", folder / "bare")
    for name in ("a.json", "b.json"):
        shutil.copy(EXAMPLE / "card.json", folder / "two" / name)
    for name in ("answer-01.txt", "answer-02.txt", "card.json"):
        shutil.copy(EXAMPLE / name, folder / "few")
    shutil.copy(EXAMPLE / "answer-01.txt", folder / "two")
    (folder / "other.json").write_text('{"cook": "x"}')
    document = json.loads((EXAMPLE / "card.json").read_text("utf-8"))
    (folder / "changed.json").write_text(json.dumps({**document, "set_c": 121.0}))
    got = pitreckon("card", "take-in", *given)
    assert got.code == 2
    assert words in " ".join(got.err.split())
    assert not got.out


def test_help_says_what_stands_behind_the_card(pitreckon: Call) -> None:
    assert "take-in FOLDER" in pitreckon("card", "--help").out
    told = pitreckon("card", "take-in", "--help").out
    assert "FOLDER" in told
    assert "--changed" in told
