"""Readings find their cook by time and pit; photos lose what a camera wrote into them; an entry's time is put right."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path

import pytest
import pytest_asyncio
from PIL import Image
from PIL.ExifTags import IFD, Base
from tests.web.house import NOW, Door, Town, settings, town

from pitreckon.errors import InputError
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry
from pitreckon.ledger.store.aside import all_aside
from pitreckon.photo.decode import LONGEST_SIDE, decoded
from pitreckon.web.live.photos import Photos
from pitreckon.web.live.whose import LONGEST

pytestmark = pytest.mark.asyncio


def plan(name: str, pit: str, at: str, serve: str) -> str:
    return f"""
[cook]
name = "{name}"
zone = "America/Chicago"
serve = "{serve}"
[[pit]]
name = "{pit}"
kind = "kettle"
set = "325 F"
[[item]]
name = "wings"
cut = "chicken-wing"
pieces = 24
weight = "3 oz"
put_on = "{at}"
"""


TODAY = plan("supper", "barn kettle", "2026-10-17 16:30", "2026-10-17 18:00")
TOMORROW = plan("regatta", "barn kettle", "2026-10-18 16:30", "2026-10-18 18:00")
ELSEWHERE = plan("next door", "gate kettle", "2026-10-17 16:00", "2026-10-17 18:00")


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        yield made


async def box(pit: Town) -> Door:
    owner = await pit.owner()
    page = await owner.post("/setup/device", {"label": "barn box"})
    token = re.findall(r'<p class="copy"><code>([^<]+)</code>', page.text)[0]
    with pit.browser("10.0.0.9") as door:
        door.client.headers["Authorization"] = f"Bearer {token}"
        return door


def reading(on: str = "barn kettle", minute: int = 0) -> dict[str, object]:
    at = (NOW + timedelta(minutes=minute)).isoformat()
    return {"readings": [{"at": at, "on": on, "value": 318, "unit": "F"}]}


def store_of(pit: Town):  # type: ignore[no-untyped-def]
    return pit.app.state.app_state.store


async def test_a_cook_of_tomorrow_takes_no_readings_of_today(pit: Town) -> None:
    store = store_of(pit)
    store.add_cook(TODAY, "supper", cook_id="supper")
    store.add_cook(TOMORROW, "regatta", cook_id="regatta")  # made later, as in an evening's planning
    device = await box(pit)
    answer = await device.client.post("/api/readings", json=reading())
    assert answer.status_code == 200
    assert store.last_seq("supper") == 1
    assert store.last_seq("regatta") == 0


async def test_of_two_that_are_on_the_one_with_that_pit(pit: Town) -> None:
    store = store_of(pit)
    store.add_cook(TODAY, "supper", cook_id="supper")
    store.add_cook(ELSEWHERE, "next door", cook_id="door")
    device = await box(pit)
    for on in ("barn kettle", "gate kettle"):
        assert (await device.client.post("/api/readings", json=reading(on))).status_code == 200
    assert (store.last_seq("supper"), store.last_seq("door")) == (1, 1)


async def test_what_fits_two_is_asked_about_and_nothing_is_lost(pit: Town) -> None:
    store = store_of(pit)
    store.add_cook(TODAY, "supper", cook_id="supper")
    store.add_cook(TODAY.replace("supper", "second supper"), "second supper", cook_id="second")
    device = await box(pit)
    for minute in (-2, -1):
        answer = await device.client.post("/api/readings", json=reading(minute=minute))
        assert answer.status_code == 202
        assert answer.json() == {"receipts": [], "aside": True}
    owner = await pit.owner()
    for cook in ("supper", "second"):
        page = (await owner.get(f"/cook/{cook}/now")).text
        assert "its readings fit several cooks. Whose are they?" in page
    assert (await owner.post("/aside", {"device": "barn box", "cook": "second"})).status_code == 303
    assert store.last_seq("second") == 2
    assert (await device.client.post("/api/readings", json=reading())).status_code == 200
    assert (store.last_seq("supper"), store.last_seq("second")) == (0, 3)
    assert "Whose are they?" not in (await owner.get("/cook/supper/now")).text


async def test_what_fits_none_waits_an_hour_in_sight(pit: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    store = store_of(pit)
    store.add_cook(TOMORROW, "regatta", cook_id="regatta")
    device = await box(pit)
    assert (await device.client.post("/api/readings", json=reading())).status_code == 202
    owner = await pit.owner()
    assert "fit no cook that is going on" in (await owner.get("/cook/regatta/now")).text
    whose = pit.app.state.app_state.whose
    monkeypatch.setattr(whose, "_now", lambda: NOW + LONGEST + timedelta(minutes=1))
    assert whose.waiting() == []


async def test_what_waits_outlives_the_server(tmp_path: Path) -> None:
    made = settings(tmp_path)
    async with town(made) as house:
        store_of(house).add_cook(TODAY, "supper", cook_id="supper")
        store_of(house).add_cook(TODAY.replace("supper", "second supper"), "second supper", cook_id="second")
        device = await box(house)
        for minute in (-61, -2):
            app_state = house.app.state.app_state
            app_state.whose._now = lambda minute=minute: NOW + timedelta(minutes=minute)
            assert (await device.client.post("/api/readings", json=reading(minute=minute))).status_code == 202
        password = house.password
        assert len(all_aside(store_of(house))) == 2
    async with town(made) as again:
        (waits,) = again.app.state.app_state.whose.waiting()
        assert (waits.label, waits.count, len(waits.cooks)) == ("barn box", 1, 2)  # one was over an hour old
        again.password = password
        owner = await again.owner()
        assert (await owner.post("/aside", {"device": "barn box", "cook": "second"})).status_code == 303
        ledger = store_of(again).ledger("second")
        assert [each.at_utc for each in ledger.all_readings] == [NOW - timedelta(minutes=2)]
        assert all_aside(store_of(again)) == []


async def test_a_served_cook_takes_no_more(pit: Town) -> None:
    store = store_of(pit)
    store.add_cook(TODAY, "supper", cook_id="supper")
    store.append("supper", [Entry("s", Act(NOW, "wings", "served"))])
    device = await box(pit)
    assert (await device.client.post("/api/readings", json=reading())).status_code == 202


async def test_what_is_wrong_is_still_said(pit: Town) -> None:
    device = await box(pit)
    assert (await device.client.post("/api/readings", json=reading())).status_code == 422  # no cook at all
    store_of(pit).add_cook(TODAY, "supper", cook_id="supper")
    bad = await device.client.post("/api/readings", json={"readings": [{"value": "hot"}]})
    assert bad.status_code == 422
    assert (await device.client.post("/api/readings", json=reading("no such pit"))).status_code == 202


async def test_a_viewer_decides_nothing(pit: Town) -> None:
    viewer = await pit.somebody("viewer", "aunt")
    assert (await viewer.post("/aside", {"device": "barn box", "cook": ""})).status_code == 403


def camera(width: int = 3000, height: int = 2000) -> bytes:
    """A photo as a phone takes it: with place, camera and time, and held upright."""
    photo = Image.new("RGB", (width, height), (150, 70, 40))
    exif = Image.Exif()
    exif[Base.Make] = "a camera"
    exif[Base.DateTime] = "2026:10:17 16:35:00"
    exif[Base.Orientation] = 6  # EXIF 2.3: turned by a quarter
    exif.get_ifd(IFD.GPSInfo)[2] = (41.0, 52.0, 55.0)
    out = io.BytesIO()
    photo.save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.mark.servers
async def test_a_photo_is_made_anew_without_place_or_camera() -> None:
    given = camera()
    with Image.open(io.BytesIO(given)) as before:
        assert before.getexif()[Base.Make] == "a camera"
        assert before.getexif().get_ifd(IFD.GPSInfo)
    made = decoded(given).jpeg
    with Image.open(io.BytesIO(made)) as after:
        assert dict(after.getexif()) == {}
        assert after.size == (LONGEST_SIDE * 2 // 3, LONGEST_SIDE)  # upright now
        assert set(after.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
    assert b"a camera" not in made
    assert decoded(given).jpeg == made
    for bad in (b"", b"GIF89a", given[:200]):
        with pytest.raises(InputError):
            decoded(bad)


@pytest.mark.servers
async def test_a_photo_goes_with_its_look_and_is_found_out_when_it_is_changed(pit: Town, tmp_path: Path) -> None:
    store_of(pit).add_cook(TODAY, "supper", cook_id="supper")
    owner = await pit.owner()
    sent = await owner.client.post(
        "/cook/supper/photo", files={"photo": ("x.jpg", camera())}, headers={"X-Pitreckon-Form": owner.token}
    )
    name = sent.json()["photo"]
    event = {"id": "l1", "at": NOW.isoformat(), "kind": "look", "on": "wings", "what": "colour", "value": "amber"}
    answer = await owner.send("/api/cooks/supper/events", {"events": [{**event, "note": f"left one [photo {name}]"}]})
    assert answer.status_code == 200, answer.text
    page = (await owner.get("/cook/supper/ledger")).text
    assert f'src="/photo/{name}.jpg"' in page
    assert "(left one)" in page
    assert (await owner.get(f"/photo/{name}.jpg")).headers["content-type"] == "image/jpeg"
    with zipfile.ZipFile(io.BytesIO((await owner.get("/cook/supper/export.zip")).content)) as taken:
        assert set(taken.namelist()) == {"supper.jsonl", f"photos/{name}.jpg"}
        assert name in taken.read("supper.jsonl").decode()
    kept = next(tmp_path.glob("*.photos/*.jpg"))
    kept.write_bytes(kept.read_bytes() + b"x")
    assert Photos(str(tmp_path / "ledger.sqlite")).path(name) is None
    assert (await owner.get(f"/photo/{name}.jpg")).status_code == 404
    viewer = await pit.somebody("viewer", "aunt")
    refused = await viewer.client.post(
        "/cook/supper/photo", files={"photo": ("x.jpg", camera(20, 20))}, headers={"X-Pitreckon-Form": viewer.token}
    )
    assert refused.status_code == 403


async def test_an_entry_s_time_is_put_right_by_a_correction(pit: Town) -> None:
    store = store_of(pit)
    store.add_cook(TODAY, "supper", cook_id="supper")
    put_on = Act(NOW - timedelta(minutes=5), "wings", "put on")
    store.append("supper", [Entry("a1", put_on, "box")])
    owner = await pit.owner()
    form = {"of": "a1", "seq": "1", "at": "2026-10-17T16:10"}
    assert (await owner.post("/cook/supper/retime", form)).status_code == 303
    (act,) = store.ledger("supper").all_acts
    assert act.at_utc == NOW - timedelta(minutes=25)
    assert store.last_seq("supper") == 2  # the entry stays on record
    page = (await owner.get("/cook/supper/ledger")).text
    lines = [re.sub(r"<[^>]*>|\s+", " ", each) for each in page.split("<li class=")[1:]]
    assert "16:10 correction, wings: put on; its time put right" in re.sub(r"\s+", " ", lines[0])
    assert "16:30 act, wings: put on" in re.sub(r"\s+", " ", lines[1])
    assert 'value="correction|a1|taken back"' in page.split("<li class=")[1], "it can still be taken back"
    assert page.split("<li class=")[2].startswith('"gone"')
    recent = (await owner.get("/cook/supper/look/part")).text
    assert "put on; its time put right" in recent
    await owner.post("/cook/supper/record", {"record": "correction|a1|taken back", "key": "b" * 16})
    assert store.ledger("supper").all_acts == ()
    assert "put on" not in (await owner.get("/cook/supper/look/part")).text.split("<template")[0]
    assert (await owner.post("/cook/supper/retime", {**form, "key": "c" * 16})).status_code == 303
    for bad in ({"at": "2026-10-17T19:00"}, {"at": "noon"}, {"of": "a2"}, {"seq": "9"}, {"at": "2026-10-01T10:00"}):
        assert (await owner.post("/cook/supper/retime", {**form, **bad})).status_code == 422, bad
