"""What this house has learned, on the page: told in a reader's words, argued with, forgotten."""

from __future__ import annotations

import html
import json
import re
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
import pytest_asyncio
from tests.web.house import NOW, Door, Town, settings, town
from tests.web.taught import FIRST, KIND, PIT, fill_house, plan_of, teach

from pitreckon.cook.read import cook_from_text
from pitreckon.ledger import Act
from pitreckon.ledger.store import Entry, LearnedCook
from pitreckon.ledger.store.house import house_rows, keep_learned, leave_out
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.reckon.hands import THERMOMETER, HandTold
from pitreckon.reckon.learned import MADE_WITH, Lessons
from pitreckon.text.said import said
from pitreckon.web.live.house import lessons_in
from pitreckon.web.live.learner import Learner

pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        fill_house(made.app.state.app_state.store)
        yield made


async def words(door: Door, path: str = "/house") -> str:
    """What a page says, without its tags."""
    answer = await door.get(path)
    assert answer.status_code == 200, answer.text[:500]
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", answer.text))).replace(" ,", ",")


def belief(text: str, of: str = "the grate runs") -> tuple[str, ...]:
    found = re.search(rf"{of} (\d+) °[FC] (over|under) its gauge, give or take (\d+) °[FC], (.*?cooks?)\b", text)
    assert found, text
    return found.groups()


async def test_beliefs_are_told_with_what_they_rest_on(pit: Town) -> None:
    owner = await pit.owner()
    text = await words(owner)
    far, side, give, rests = belief(text)
    assert (side, rests) == ("under", "from 5 cooks")
    assert 5 <= int(far) <= 16
    assert 2 <= int(give) <= 9
    assert "% less long here than is foretold elsewhere" in text
    assert "Doubted: the odd one says otherwise than the rest" in text
    assert "a grate temperature, would tell more of this than many cooks" not in text, "it is known well enough"
    assert "looks in 5 cooks feels meat 0.7 of a word more tender than most, give or take 0.6" in text
    assert "2026-09-05 supper 0 35 entries, looks by owner" in text
    page = (await owner.get("/house")).text
    pictures = re.findall(r'<svg class="moved"[^>]*aria-label="([^"]+)"', page)
    assert len(pictures) >= 2
    assert "before anything was learned" in pictures[0]
    assert pictures[0].count("supper") == 4
    for page in ("/setup", "/suppers"):
        assert 'href="/house"' in (await owner.get(page)).text


async def test_each_reads_it_in_their_own_degrees_and_language(pit: Town) -> None:
    owner = await pit.owner()
    in_f = belief(await words(owner))
    await owner.post("/setup/me", {"degrees": "C"})
    in_c = belief(await words(owner))
    assert abs(int(in_f[0]) / 1.8 - int(in_c[0])) <= 1.0  # ITS-90's degree Celsius and 1.8 of Fahrenheit's
    await owner.post("/setup/me", {"language": "es"})
    text = await words(owner)
    assert "Lo que esta casa ha aprendido" in text
    assert "por debajo de su termómetro" in text
    assert "En duda: the odd one" in text


async def test_taps_beside_photos_are_told_and_leave_with_their_cook(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    told = (HandTold("Ana", "colour", 0.2, 0.12, 3), HandTold("Ben", "colour", -0.2, 0.12, 1))
    teach(store, "both", "two hands", FIRST + timedelta(days=40), offset_k=-8.0, hands=told)
    text = await words(owner)
    assert "Ana looks in one cook beside 3 photos sees colour 0.3 of a swatch darker, give or take 0.8" in text
    assert "Ben looks in one cook beside one photo sees colour 0.3 of a swatch paler, give or take 0.8" in text
    assert "looks by Ana, Ben" in text
    await owner.post("/setup/me", {"language": "es"})
    assert "junto a 3 fotos ve el color 0.3 de muestra más oscuro, 0.8 más o menos" in (await words(owner)).replace(
        "0,", "0."
    )
    await owner.post("/house/cooks/both/out")
    assert "junto a" not in await words(owner)


async def test_a_cook_is_left_out_and_taken_in_again(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    before = await words(owner)
    answer = await owner.post("/house/cooks/odd/out")
    assert (answer.status_code, answer.headers["location"]) == (303, "/house#cooks")
    text = await words(owner)
    assert belief(text)[3] == "from 4 cooks"
    assert "Doubted" not in text
    assert "left out by owner" in text
    assert int(belief(text)[0]) >= int(belief(before)[0])
    assert {each.cook for each in lessons_in(house_rows(store)).lessons} == {"c0", "c1", "c2", "c3"}
    await owner.post("/house/cooks/odd/in")
    assert await words(owner) == before
    assert (await owner.post("/house/cooks/nobody/out")).status_code == 404


async def test_a_pit_is_started_anew_and_is_the_same_after_all(pit: Town) -> None:
    owner = await pit.owner()
    before = await words(owner)
    assert (await owner.post("/house/pits/anew", {"pit": PIT, "since": "2026-09-20"})).status_code == 303
    text = await words(owner)
    of_the_pit = text.split("Another pit since")[0]
    assert "from 2 cooks" in of_the_pit  # of the 26th of September, and the odd one
    assert "from 5 cooks" not in of_the_pit
    assert "Another pit since 2026-09-20, as owner said" in text
    await owner.post("/house/pits/as-before", {"pit": PIT})
    assert await words(owner) == before


async def test_another_pit_that_nobody_told_of_is_said_and_answered_by_one_tap(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as made:
        store, owner = made.app.state.app_state.store, await made.owner()
        for n, offset_k in enumerate((-9.0, -8.0, -9.0, -8.5, -9.5, 13.0, 14.0, 13.5)):
            teach(store, f"c{n}", f"supper {n}", FIRST + timedelta(days=5 * n), offset_k=offset_k)
        before = await words(owner)
        assert re.search(r"It seems another pit since 2026-09-30, supper 5: (\d in 10|nearly) sure", before), before
        assert "from 3 cooks" in before.split("new gasket, or moved")[0]
        day = re.search(r'name="since" value="([^"]+)"><button class="tap small"', (await owner.get("/house")).text)
        assert day
        assert day[1] == "2026-09-30"
        assert (await owner.post("/house/pits/same", {"pit": PIT, "kind": KIND})).status_code == 303
        text = await words(owner)
        assert "It seems another pit" not in text
        assert "owner says: up to 2026-10-17 it is the same pit" in text
        assert lessons_in(house_rows(store)).changes == ()
        await owner.post(f"/house/said/{house_rows(store).said[0].id}/drop")
        assert await words(owner) == before
        assert (await owner.post("/house/pits/anew", {"pit": PIT, "since": day[1]})).status_code == 303
        text = await words(owner)
        assert "It seems another pit" not in text
        assert "Another pit since 2026-09-30, as owner said" in text
        await owner.post("/setup/me", {"language": "es"})
        await owner.post("/house/pits/as-before", {"pit": PIT})
        assert "Parece otro asador desde" in await words(owner)


async def test_what_is_said_outright_is_a_lesson_of_whoever_says_it(pit: Town) -> None:
    hand, store = await pit.somebody("cook", "Ana of the gate"), pit.app.state.app_state.store
    said = {"pit": PIT, "kind": KIND, "far": "15", "give": "5", "side": "under", "since": "2026-10-17"}
    assert (await hand.post("/house/pits/say", said)).status_code == 303
    (mine,) = [each for each in lessons_in(house_rows(store)).lessons if each.was_said]
    assert mine.hand == "Ana of the gate"
    assert mine.at_utc.isoformat() == "2026-10-17T05:00:00+00:00"  # midnight in Chicago, which is at UTC-5 in October
    assert mine.sd[0] == pytest.approx(5.0 / 1.8 / 1.645)
    text = await words(hand)
    assert "Ana of the gate says, since 2026-10-17: the grate runs 15 °F under its gauge, give or take 5 °F" in text
    assert "from 5 cooks and as Ana of the gate said" in text
    (row,) = house_rows(store).said
    await hand.post(f"/house/said/{row.id}/drop")
    assert house_rows(store).said == ()


async def test_a_thermometer_is_spoken_of_and_forgotten(pit: Town) -> None:
    hand, store = await pit.somebody("cook", "Ana"), pit.app.state.app_state.store
    ice = (HandTold("Ana", THERMOMETER, 2.0, 0.7, 1),)
    teach(store, "ice", "in ice", FIRST + timedelta(days=35), offset_k=-8.0, hands=ice)
    text = await words(hand)
    assert re.search(r"Ana looks in one cook the thermometer reads \d °F high, give or take \d °F, after a check", text)
    tell = {"whose": "Ana", "far": "5", "give": "1", "side": "low", "since": "2026-10-17"}
    answer = await hand.post("/house/thermometers/say", tell)
    assert (answer.status_code, answer.headers["location"]) == (303, "/house#whose-hand")
    text = await words(hand)
    assert "Ana says, since 2026-10-17: the thermometer reads 5 °F low, give or take 1 °F" in text
    (known,) = [each for each in lessons_in(house_rows(store)).hands(NOW).items() if each[0][1] == THERMOMETER]
    assert known[1].mean < 0.0
    (row,) = house_rows(store).said
    assert (await hand.post(f"/house/said/{row.id}/drop")).headers["location"] == "/house#whose-hand"
    assert (await hand.post("/house/thermometers/another", {"whose": "Ana", "since": "2026-10-12"})).status_code == 303
    text = await words(hand)
    assert "Ana says: another thermometer since 2026-10-12" in text
    assert not re.search(r"thermometer reads \d", text)
    assert THERMOMETER not in {kind for _, kind in lessons_in(house_rows(store)).hands(NOW)}
    answer = await hand.post("/house/thermometers/say", {**tell, "far": "much"})
    assert answer.status_code == 422
    assert 'name="far" value="much"' in answer.text


async def test_what_a_lesson_did_not_believe_stands_beside_its_cook(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    at = FIRST + timedelta(days=36)
    (whole,) = lessons_of_text(next(each.content for each in house_rows(store).learned), "c0").lessons
    note = "{item}: all {n} readings of '{channel}' lie {span} or more after all that was done: a wrong clock"
    line = said(note, item="racks", n=9, channel=said("probe"), span="21 h")
    text = text_of_lessons(Lessons((replace(whole, not_believed=(line,)),)))
    assert keep_learned(store, LearnedCook("c3", 2, 1, MADE_WITH, at, at, text))
    assert f"not believed: {line}" in await words(owner)
    await owner.post("/setup/me", {"language": "es"})
    assert "no se cree: racks: las 9 lecturas" in await words(owner)


async def test_what_later_cooks_contradict_is_doubted(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as made:
        store = made.app.state.app_state.store
        store.add_cook(plan_of("first", FIRST), "first", cook_id="first")
        owner = await made.owner()
        said = {"pit": PIT, "kind": KIND, "far": "8", "give": "4", "side": "over", "since": "2026-09-01"}
        assert (await owner.post("/house/pits/say", said)).status_code == 303
        assert "Doubted" not in await words(owner)
        assert "as owner said" in await words(owner)
        for n in range(4):
            teach(store, f"c{n}", f"supper {n}", FIRST + timedelta(days=n), offset_k=-8.0)
        assert "give or take 4 °F.Doubted: it is far from what cooks and pits of its kind tell" in await words(owner)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"far": "much"}, "much"),
        ({"far": "400"}, "far is 222 K"),
        ({"give": "0"}, "give is 0 K"),
        ({"since": "soon"}, "that is no day"),
        ({"since": "2027-01-01"}, "ahead of now"),
        ({"kind": "no-such-pit"}, "no-such-pit"),
    ],
)
async def test_what_cannot_be_is_refused_and_what_was_typed_stays(pit: Town, wrong: dict[str, str], says: str) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    said = {"pit": PIT, "kind": KIND, "far": "12", "give": "5", "side": "over", "since": "2026-10-01", **wrong}
    answer = await owner.post("/house/pits/say", said)
    assert answer.status_code == 422
    assert says in answer.text
    assert f'name="far" value="{said["far"]}"' in answer.text
    assert house_rows(store).said == ()


async def test_whoever_only_looks_changes_nothing(pit: Town) -> None:
    guest, store = await pit.somebody("viewer", "guest"), pit.app.state.app_state.store
    before = house_rows(store)
    page = (await guest.get("/house")).text
    assert "/house/pits/say" not in page
    assert "leave out" not in page
    for path, form in (
        ("cooks/odd/out", {}),
        ("pits/anew", {"pit": PIT, "since": "2026-09-20"}),
        ("pits/same", {"pit": PIT, "kind": KIND}),
        ("pits/say", {"pit": PIT, "kind": KIND, "far": "1", "give": "1", "side": "over"}),
        ("thermometers/say", {"whose": "guest", "far": "1", "give": "1", "side": "high"}),
        ("thermometers/another", {"whose": "guest", "since": "2026-09-20"}),
    ):
        assert (await guest.post(f"/house/{path}", form)).status_code == 403
    assert house_rows(store) == before


async def test_an_empty_house_says_how_it_learns(tmp_path: Path) -> None:
    async with town(settings(tmp_path)) as made:
        owner = await made.owner()
        text = await words(owner)
        assert "None yet: it learns from a cook when all of it is served" in text
        made.app.state.app_state.store.add_cook(plan_of("first", FIRST), "first", cook_id="first")
        assert "Nothing is known of it yet" in await words(owner)
        assert "a grate temperature, would tell more of this than many cooks" in await words(owner)
        assert "earlier cook" not in await words(owner, "/new?again=first")


async def test_all_of_it_is_a_file_that_the_command_reads(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    leave_out(store, "odd", "owner", NOW)
    answer = await owner.get("/house/lessons.json")
    assert "attachment" in answer.headers["content-disposition"]
    assert json.loads(answer.text)["form"] == "pitreckon lessons 1"
    assert [each.cook for each in lessons_of_text(answer.text, "file").lessons] == ["c0", "c1", "c2", "c3"]


async def test_an_old_cook_again_says_how_many_it_rests_on(pit: Town) -> None:
    owner = await pit.owner()
    assert "Its forecast will rest on what 5 earlier cooks told, too." in await words(owner, "/new?again=c0")


COURSE = """sugar = "much"
  [[item.stage]]
  do = "open"
  until = "red-brown"
  about = "2026-09-05 15:00"
  [[item.stage]]
  do = "wrapped"
  wrap = "paper"
  until = "tender"
  [[item.stage]]
  do = "hold"
  air = "150 F"
  until = "serve"
"""
AGAIN = {
    "name": "supper again",
    "zone": "America/Chicago",
    "serve": "2026-10-24 18:00",
    "pit_kind": KIND,
    "pit_set": "275",
    "pit_name": PIT,
    "item_cut": "st-louis-ribs",
    "item_pieces": "4",
    "item_weight": "2.5",
    "item_pit": "1",
    "item_name": "racks",
    "item_put_on": "2026-10-24 13:30",
    "again": "old",
}


async def test_an_old_cook_again_takes_its_course_and_says_what_was_said(pit: Town) -> None:
    owner, store = await pit.owner(), pit.app.state.app_state.store
    store.add_cook(plan_of("old", FIRST) + COURSE, "old", cook_id="old")
    assert (await owner.post("/cook/old/how", {"rating": "4", "note": "wrap them sooner"})).status_code == 303
    text = await words(owner, "/new?again=old")
    assert "Last timeowner: very good, wrap them sooner" in text
    assert "Each takes the course that it had" in text
    assert "Last time" not in await words(owner, "/new")
    answer = await owner.post("/setup/cook", AGAIN)
    assert answer.status_code == 303, answer.text
    (made,) = [row for row in store.cooks() if row.name == "supper again"]
    (item,) = cook_from_text(made.plan_toml, "the plan").items
    assert [(each.kind, each.wrap, each.until.ends_by) for each in item.stages] == [
        ("open", None, "colour"),
        ("wrapped", "paper", "tender"),
        ("hold", None, "clock"),
    ]
    assert "about" not in made.plan_toml, "an hour of another day"
    assert 'sugar = "much"' in made.plan_toml
    await owner.post("/setup/cook", {**AGAIN, "name": "no hour", "serve": ""})
    (open_end,) = [row for row in store.cooks() if row.name == "no hour"]
    assert [each.kind for each in cook_from_text(open_end.plan_toml, "the plan").items[0].stages][:2] == [
        "open",
        "wrapped",
    ]
    await owner.post("/setup/cook", {**AGAIN, "name": "other", "item_cut": "chicken-wing", "item_name": "wings"})
    (other,) = [row for row in store.cooks() if row.name == "other"]
    assert "paper" not in other.plan_toml


async def test_each_says_how_it_was_and_the_list_tells_it(pit: Town) -> None:
    owner, hand, guest = await pit.owner(), await pit.somebody("cook", "Ana"), await pit.somebody("viewer", "guest")
    assert "Nobody has said yet." in await words(owner, "/cook/c1/how")
    assert (await owner.post("/cook/c1/how", {"rating": "2", "note": " tough <b>"})).status_code == 303
    assert (await hand.post("/cook/c1/how", {"rating": "5"})).status_code == 303
    assert (await owner.post("/cook/c1/how", {"rating": "3", "note": "tough at the ends"})).status_code == 303
    text = await words(guest, "/cook/c1/how")
    assert "Ana: the best yet" in text
    assert "owner: good, tough at the ends" in text
    assert "fair" not in text, "who only looks has no form, and what was said again gives way"
    listed = await words(guest, "/suppers")
    assert "owner: good, tough at the ends" in listed
    page = (await owner.get("/cook/c1/how")).text
    assert 'value="3" required checked' in page
    assert "/why?cut=st-louis-ribs" in page
    assert (await guest.post("/cook/c1/how", {"rating": "1"})).status_code == 403
    for wrong in ({"rating": "6"}, {"rating": "x"}, {}):
        assert (await owner.post("/cook/c1/how", wrong)).status_code == 422
    assert (await owner.get("/cook/nobody/how")).status_code == 404


# --- which cooks are learned from


async def test_finished_cooks_are_learned_from_and_anew_when_somebody_adds_to_them(pit: Town) -> None:
    state = pit.app.state.app_state
    store, learner = state.store, Learner(state.store, state.live, state.settings, state.shelf)
    assert learner.due() == [], "all five were learned from as they are"
    store.append("c1", [Entry("late", Act(FIRST + timedelta(days=8), "racks", "sauced"), "owner")])
    assert [row.id for row in learner.due()] == ["c1"]
    assert learner.due({"c0"}) == []
    going = FIRST + timedelta(days=42)  # 17 October, 18:00 in Chicago; it is 16:35
    store.add_cook(plan_of("today", going), "today", cook_id="today")
    store.append("today", [Entry("on", Act(going - timedelta(hours=4), "racks", "put on"), "owner")])
    assert [row.id for row in learner.due({"today"})] == []
    store.append("today", [Entry("end", Act(going - timedelta(hours=2), "racks", "served"), "owner")])
    assert [row.id for row in learner.due({"today"})] == ["today"]
    state.shelf.call_off("c2", NOW, "owner")
    assert "c2" not in [row.id for row in learner.due()]
    assert "c2" not in [each.cook_id for each in house_rows(store).learned], "called off, it has taught nothing"
