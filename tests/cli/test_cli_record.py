"""``pitreckon record`` as a cook calls it: made, checked, and tampered with."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf
import pytest
from conftest import COOK, Call

LOG = """time,kind,on,piece,what,value
2026-10-17 16:30,act,wings,,put on,
2026-10-17 16:50,reading,wings,1,probe,80 F
2026-10-17 17:00,reading,wings,1,probe,120 F
2026-10-17 17:10,reading,wings,1,probe,150 F
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "supper.toml").write_text(COOK, encoding="utf-8")
    (tmp_path / "day.csv").write_text(LOG, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


FILES = ("supper.toml", "--log", "day.csv")
QUICK = ("--members", "32")


@pytest.mark.kernel
def test_made_and_checked(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("record", *FILES, *QUICK, "--signed", "A. Cook", "--handled", "wings: intact", "-o", "r.json")
    assert got.code == 0, got.err
    assert json.loads((folder / "r.json").read_text("utf-8"))["signed_by"] == "A. Cook"
    good = pitreckon("record", *FILES, "--check", "r.json")
    assert good.code == 0
    assert "The record holds" in good.out
    (folder / "day.csv").write_text(LOG.replace("150 F", "170 F"), encoding="utf-8")
    bad = pitreckon("record", *FILES, "--check", "r.json")
    assert bad.code == 1
    assert "entry 4 was changed" in bad.out
    (folder / "day.csv").write_text(LOG, encoding="utf-8")
    (folder / "supper.toml").write_text(COOK + "# changed\n", encoding="utf-8")
    assert "plan is another" in pitreckon("record", *FILES, "--check", "r.json").out


@pytest.mark.kernel
def test_the_rules_of_another_country_in_the_readers_unit(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("record", *FILES, *QUICK, "--rules", "Canada", "--degrees", "C", "-o", "r.json")
    assert got.code == 0, got.err
    made = json.loads((folder / "r.json").read_text("utf-8"))
    assert (made["version"], made["rules"], made["degrees"]) == (3, "canada", "C")
    lines = [line for piece in made["pieces"] for line in piece["lines"]]
    assert lines
    assert not any(line["rule"].startswith("fsis") for line in lines)
    assert "°F" not in json.dumps([made["pieces"], made["advice"]], ensure_ascii=False)
    # The rules are chosen by the record, so the plan is as it was.
    assert pitreckon("record", *FILES, "--check", "r.json").code == 0


@pytest.mark.kernel
def test_on_the_screen_and_as_pdf(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("record", *FILES, *QUICK)
    assert got.code == 0
    assert "Safety record of" in got.out
    assert "Poultry, time and" in got.out
    assert pitreckon("record", *FILES, *QUICK, "-o", "r.pdf").code == 0
    text = "".join(page.extract_text() for page in pypdf.PdfReader(folder / "r.pdf").pages)
    assert "Safety record" in text
    assert "health department" in text
    for word in ("validated", "certified", "guaranteed safe"):
        assert word not in text.lower()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--handled", "ham: intact"), "does not begin with an item"),
        (("--handled", "wings: kissed"), "nothing that is done to meat"),
        (("--handled", "wings: intact, injected"), "nothing that is done to meat"),
        (("-o", "r.ics"), "no kind of record"),
        (("--check", "day.csv"), "no JSON"),
        (("--check", "deep.json"), "no JSON"),
        pytest.param(("--signed", "x" * 90), "90 characters", marks=pytest.mark.kernel),
    ],
)
def test_bad_input_gets_one_message(pitreckon: Call, folder: Path, more: tuple[str, ...], says: str) -> None:
    (folder / "deep.json").write_text("[" * 100_000, encoding="utf-8")
    got = pitreckon("record", *FILES, *QUICK, *more)
    assert got.code != 0
    assert says in got.err
    assert got.err.count("\n") == 1
