"""``pitreckon look`` as a cook calls it, and a photo in ``pitreckon why``."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from conftest import COOK, Call
from tests.photo.pictures import MEAT, WHITE, plain

from pitreckon.ledger import Act, Look
from pitreckon.ledger.events import PHOTO
from pitreckon.ledger.keeping.photos import photo_faults
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers
ROOT = Path(__file__).parents[2]
PLACES = [word for x, y in MEAT for word in ("--meat", f"{x},{y}")] + ["--white", f"{WHITE[0]},{WHITE[1]}"]
PUT_ON = datetime(2026, 10, 17, 21, 30, tzinfo=UTC)


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "wings.jpg"
    path.write_bytes(plain())
    return path


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    path = tmp_path / "ledger.sqlite"
    with Store.open(path) as store:
        store.add_cook(COOK, "supper", cook_id="supper")
        store.append("supper", [Entry("on", Act(PUT_ON, "wings", "put on"))])
    return path


def test_it_says_step_error_and_chances(pitreckon: Call, photo: Path) -> None:
    got = pitreckon("look", str(photo), *PLACES)
    assert (got.code, got.err) == (0, "")
    assert got.out.startswith("Measured: red-brown (0.8")
    assert "Chance that the colour is set: " in got.out
    assert "In a log: look,ITEM,colour in a photo,0.8" in got.out
    told = json.loads(pitreckon("look", str(photo), *PLACES, "--json").out)
    assert told["step"] == "red-brown"
    assert 0.0 <= told["dark_chance"] <= told["set_chance"] <= 1.0


def test_the_picture_of_the_examples_is_between_red_brown_and_mahogany(pitreckon: Call) -> None:
    picture = str(ROOT / "examples" / "sunday-racks" / "rack.jpg")
    told = json.loads(pitreckon("look", picture, *PLACES, "--json").out)
    assert told["lab"] == pytest.approx([31.0, 15.0, 15.0], abs=5.0)  # as it was drawn
    assert 0.8 < told["level"] < 1.0


@pytest.mark.kernel
def test_it_is_recorded_once_with_its_photo_and_moves_the_forecast(
    pitreckon: Call, photo: Path, ledger: Path, tmp_path: Path
) -> None:
    to = ("--cook", "supper", "--ledger", str(ledger), "--taken", "2026-10-17 16:50", "--members", "32", "--by", "Ann")
    tried = pitreckon("look", str(photo), *PLACES, *to, "--dry-run")
    assert (tried.code, tried.err) == (0, "")
    assert "wings\n  " in tried.out
    assert "ready: " in tried.out
    assert "Not recorded" in tried.out
    assert not list(tmp_path.glob("*.photos/*"))
    with Store.open(ledger) as store:
        assert store.last_seq("supper") == 1
    # what is ahead of now is not recorded, but may be tried: this day lies in the past of whoever runs it
    past = (*to[:4], "--taken", "2026-10-17 16:50", "--members", "32")
    if datetime.now(UTC) < PUT_ON + timedelta(hours=1):
        assert "ahead of now" in pitreckon("look", str(photo), *PLACES, *past).err
        return
    assert "Recorded at" in pitreckon("look", str(photo), *PLACES, *past).out
    assert "It was recorded before." in pitreckon("look", str(photo), *PLACES, *past).out
    with Store.open(ledger) as store:
        (look,) = [each.event for each in store.entries("supper", kinds=("look",))]
    assert isinstance(look, Look)
    (kept,) = tmp_path.glob("*.photos/*.jpg")
    assert PHOTO.findall(look.note) == [hashlib.sha256(kept.read_bytes()).hexdigest()]
    assert look.note.startswith("meat 0.25,0.45 ")
    assert photo_faults(ledger) == ()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--meat", "left"), "field '--meat': 'left' is no place in a picture"),
        (
            ("--meat", "0.1,0.1", "--meat", "0.2,0.1", "--meat", "0.3,0.1"),
            "wings.jpg, field '--meat': there are not one",
        ),
        (("--cook", "lunch"), "lunch"),
        (
            ("--cook", "supper", "--item", "ducks"),
            "field '--item': 'ducks' is no item of this cook. Write one of: wings",
        ),
        (("--cook", "supper", "--piece", "99"), "field '--piece': there is no piece 99 of wings"),
    ],
)
def test_bad_input_is_one_message(
    pitreckon: Call, photo: Path, ledger: Path, more: tuple[str, ...], words: str
) -> None:
    place = ("--ledger", str(ledger)) if "--cook" in more else ()
    got = pitreckon("look", str(photo), *PLACES, *more, *place)
    assert got.code == 2
    assert words in got.err
    assert got.err.count("\n") == 1


def test_without_the_extra_it_names_its_line(pitreckon: Call, photo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pitreckon.photo.decode.can_decode", lambda: False)
    got = pitreckon("look", str(photo), *PLACES)
    assert got.code == 2
    assert 'pip install "pitreckon[photo]"' in got.err


@pytest.mark.kernel
def test_a_reader_s_photo_stands_beside_the_words(pitreckon: Call, photo: Path) -> None:
    report = ("why", "--cut", "st-louis-ribs", "--came-out", "tough", "--members", "16")
    got = pitreckon(*report, "--photo", str(photo), *PLACES)
    assert (got.code, got.err) == (0, "")
    assert "With the photo, red-brown (0.8" in got.out
    told = json.loads(pitreckon(*report, "--colour", "0.45 ± 0.1", "--json").out)["causes"]
    assert sum(each["chance"] for each in told) == pytest.approx(1.0, abs=0.01)
    assert sum(each["without_photo"] for each in told) == pytest.approx(1.0, abs=0.01)
    pale = {each["key"]: each["chance"] - each["without_photo"] for each in told}
    assert pale["pit cool"] > 0.0 > pale["nothing odd"]
    plainly = json.loads(pitreckon(*report, "--json").out)["causes"]
    assert all("without_photo" not in each for each in plainly)
    assert "--meat X,Y and --white" in pitreckon(*report, "--photo", str(photo)).err
