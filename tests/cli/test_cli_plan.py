"""``pitreckon plan`` and ``pitreckon sheet`` on a day that is still to be planned, as the how-to has it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import Call

from pitreckon.cook.read import cook_from_text, read_cook
from pitreckon.cook.write import cook_text
from pitreckon.ledger.log.read import read_log
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.kernel

HOWTO = (Path(__file__).parents[2] / "docs" / "how-to" / "plan-the-day.md").read_text(encoding="utf-8")
DAY, *_ = re.findall(r"```toml\n(.*?)```", HOWTO, re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PITRECKON_LEDGER", str(tmp_path / "no ledger.sqlite"))
    (tmp_path / "supper.toml").write_text(DAY, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_day_is_printed_and_can_be_followed(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("plan", "supper.toml", "-o", "day.toml")
    assert (got.code, got.err) == (0, "")
    assert "All of it ready to serve together" in got.out
    for act in ("big box: light", "racks: put on", "racks: take off", "serve"):
        assert act in got.out
    assert "health department" in got.out
    followed = pitreckon("reckon", "day.toml", "--members", "64")
    assert followed.code == 0
    assert "racks" in followed.out


def test_with_two_pits_the_timetable_says_on_which_one_it_goes(pitreckon: Call, folder: Path) -> None:
    pit = '[[pit]]\nname = "drum"\nkind = "upright-drum"\nset = "275 F"\n\n'
    more = '\n[[item]]\nname = "thighs"\ncut = "chicken-thigh"\npieces = 6\npits = "drum"\n'
    boxed = DAY.replace("[[item]]", pit + '[[item]]\npits = "big box"', 1)
    (folder / "two.toml").write_text(boxed + more, encoding="utf-8")
    got = pitreckon("plan", "two.toml", "-o", "two.cook.toml")
    assert "thighs: put on (drum)" in got.out
    assert "racks: put on (big box)" in got.out
    assert re.search(r"[0-9] (min|h) at 165 °F", " ".join(got.out.split()))  # how warm the warm place is
    sheet = pitreckon("sheet", "two.cook.toml", "--form", "txt", "-o", "-", "--twelve-hour", "--members", "32")
    assert "the warm place at 165 °F" in sheet.out
    assert re.search(r"steady at 275 °F\s+by [0-9]{1,2}:[0-9]{2}\s+[ap]m", sheet.out)


def test_as_json_and_the_same_again(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("plan", "supper.toml", "--json")
    answer = json.loads(got.out)
    assert answer["possible"]
    assert answer["schedule"]["chance"] > 0.6
    assert answer["schedule"]["items"][0]["pieces"] >= 2
    assert pitreckon("plan", "supper.toml", "--json").out == got.out


def test_a_day_that_cannot_be_says_why_and_what_would_help(pitreckon: Call, folder: Path) -> None:
    (folder / "late.toml").write_text(DAY.replace('chance = "70 %"', 'earliest = "2026-10-10 15:30"'), "utf-8")
    got = pitreckon("plan", "late.toml")
    assert got.code == 3
    assert got.out.count("  why ") >= 1
    assert "What helps most: start" in got.out
    assert got.out.index("What helps most") < got.out.index("  why ")
    told = pitreckon("plan", "late.toml", "--json", "-o", "late.cook.toml")
    assert told.code == 3
    answer = json.loads(told.out)
    assert answer["possible"] is False
    assert answer["written"] == ("late.cook.toml" if answer["schedule"] else None)
    assert (folder / "late.cook.toml").exists() is (answer["schedule"] is not None)
    taken = pitreckon("plan", "late.toml", "--take", "1", "-o", "taken.toml")
    assert taken.code == 0
    assert "taken.toml is written" in " ".join(taken.out.split())
    assert pitreckon("plan", "late.toml", "--take", "9").code == 2


def test_what_to_buy_does_not_ask_whether_the_day_can_be(pitreckon: Call, folder: Path) -> None:
    (folder / "late.toml").write_text(DAY.replace('chance = "70 %"', 'earliest = "2026-10-10 17:30"'), "utf-8")
    got = pitreckon("sheet", "late.toml", "--buying")
    assert got.code == 0
    assert "meat in all" in got.out


def test_a_file_that_is_not_written_is_said_to_be_so(pitreckon: Call, folder: Path) -> None:
    (folder / "none.toml").write_text(DAY.replace('chance = "70 %"', 'earliest = "2026-10-10 17:58"'), "utf-8")
    got = pitreckon("plan", "none.toml", "-o", "none.cook.toml")
    assert got.code == 3
    assert ("is not written" in got.out) is not (folder / "none.cook.toml").exists()


def test_a_plan_is_not_written_over_what_it_was_made_of(pitreckon: Call, folder: Path) -> None:
    (folder / "link.toml").symlink_to("supper.toml")
    for output in ("supper.toml", "./supper.toml", "link.toml"):
        got = pitreckon("plan", "supper.toml", "-o", output)
        assert (got.code, got.out) == (2, "")
        assert "would be lost under what is planned. Name another file, such as supper-planned.toml." in got.err
    assert (folder / "supper.toml").read_text(encoding="utf-8") == DAY


def test_the_sheet_of_a_planned_day(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("sheet", "supper.toml", "--members", "64")
    assert got.code == 0
    assert "big box: light" in got.out
    assert "season" in got.out
    assert "pellets" in got.out.lower()
    buying = pitreckon("sheet", "supper.toml", "--buying")
    assert "meat in all" in buying.out
    assert "USD" in buying.out
    assert pitreckon("sheet", "supper.toml", "-o", "day.ics", "--members", "64").code == 0
    assert (folder / "day.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("adults   = 6", "adults   = -6", "adults is -6"),
        ('cut   = "st-louis-ribs"', 'cut   = "st-louis-rib"', "st-louis-rib"),
        ('longest_hold = "5h"', 'longest_hold = "40h"', "longest_hold"),
        ('longest_hold = "5h"', "pieces = 10000", "10000"),
    ],
)
def test_bad_input_gets_one_message(pitreckon: Call, folder: Path, old: str, new: str, says: str) -> None:
    (folder / "bad.toml").write_text(DAY.replace(old, new), encoding="utf-8")
    got = pitreckon("plan", "bad.toml", "-o", "day.toml")
    assert got.code != 0
    assert says in got.err
    assert got.err.count("\n") == 1
    assert not (folder / "day.toml").exists()


def test_what_does_not_go_together_is_refused(pitreckon: Call, folder: Path) -> None:
    assert pitreckon("plan", "supper.toml", "-o", "day.toml").code == 0
    got = pitreckon("sheet", "day.toml", "--buying")
    assert got.code != 0
    assert "no longer says who eats" in got.err


# --- what earlier cooks taught of the fuel

FED = """\
time,kind,on,piece,what,value,note
2026-09-05 09:00,act,big box,,fed the fire,4 kg,
11:00,act,big box,,fed the fire,3 kg,
13:00,act,big box,,fed the fire,3 kg,
15:00,act,big box,,fed the fire,3 kg,
"""


@pytest.fixture
def last_month(folder: Path) -> str:
    """The same day five weeks before, followed, with what was fed written down: twice as much as such a pit burns."""
    earlier = (
        '[cook]\nname = "last month"\nzone = "America/Chicago"\nserve = "2026-09-05 18:00"\n'
        '[[pit]]\nname = "big box"\nkind = "pellet-cooker"\nset = "250 F"\n'
        '[[item]]\nname = "racks"\ncut = "st-louis-ribs"\npieces = 3\nweight = "2.5 lb"\nput_on = "2026-09-05 12:00"\n'
    )
    (folder / "earlier.toml").write_text(cook_text(cook_from_text(earlier, "earlier")), "utf-8")
    (folder / "earlier.csv").write_text(FED, "utf-8")
    return "earlier.toml=earlier.csv"


def fuel_of(text: str) -> float:
    document = json.loads(text)
    return float(document["schedule"]["fuel_kg"])


def test_a_plan_and_a_sheet_learn_from_files_and_from_the_ledger(
    pitreckon: Call, folder: Path, last_month: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = pitreckon("plan", "supper.toml", "--json", "--learn-from", "-")
    taught = pitreckon("plan", "supper.toml", "--json", "--learn-from", last_month)
    assert "burns" not in plain.out
    note = next(note for note in json.loads(taught.out)["notes"] if note.startswith("big box: This pit burns"))
    more = int(re.findall(r"(\d+) % more", note)[0])
    assert more > 30
    assert fuel_of(taught.out) == pytest.approx(fuel_of(plain.out) * (1.0 + more / 100.0), rel=0.02)
    # the sheet says it too, and asks for more fuel
    usual, sheet = (
        pitreckon("sheet", "supper.toml", "--members", "64", "--learn-from", each).out for each in ("-", last_month)
    )
    assert "This pit burns" in " ".join(sheet.split())
    assert "This pit burns" not in usual
    # the usual ledger is looked at without being asked for, and not made where there is none
    usual_place = folder / "kept" / "ledger.sqlite"
    monkeypatch.setenv("PITRECKON_LEDGER", str(usual_place))
    assert pitreckon("plan", "supper.toml", "--json").out == plain.out
    assert not usual_place.exists()
    keep_earlier(usual_place, folder)
    assert pitreckon("plan", "supper.toml", "--json").out == taught.out
    assert pitreckon("plan", "supper.toml", "--json", "--learn-from", str(usual_place)).out == taught.out


def keep_earlier(place: Path, folder: Path) -> None:
    cook = read_cook(folder / "earlier.toml")
    with Store.open(place) as store:
        row = store.add_cook((folder / "earlier.toml").read_text("utf-8"), cook.name)
        acts = read_log(folder / "earlier.csv", cook).all_acts
        store.append(row.id, [Entry(f"e{n}", act) for n, act in enumerate(acts)])


def test_a_ledger_that_is_not_there_is_named(pitreckon: Call, folder: Path) -> None:
    got = pitreckon("plan", "supper.toml", "--learn-from", "nowhere.sqlite")
    assert got.code == 2
    assert "there is no ledger 'nowhere.sqlite'" in got.err
    assert not (folder / "nowhere.sqlite").exists()
