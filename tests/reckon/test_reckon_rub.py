"""The rub wiped with a finger: what it means in a member and does to a forecast, where it is written and tapped."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from supper import air, at, cook, look, put_on, racks
from tests.web.house import NOW, settings, town

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.write import log_text
from pitreckon.reckon import reckon
from pitreckon.reckon.looks import BLUNDER, word_chance
from pitreckon.reckon.measures import bark_level
from pitreckon.reckon.update import LEAST_ESS

MANY = 64
RUB = LOOK_KINDS["rub"]


@pytest.mark.parametrize(
    ("colour", "activity", "says"),
    [
        (0.0, 1.0, "comes off"),
        (0.1, 0.3, "comes off"),  # dry within the first hour, and nothing has set under it
        (0.55, 0.3, "smears"),
        (1.0, 0.98, "smears"),  # a bark in its wrap
        (1.0, 0.76, "stays"),  # the salt is all but dry: saturated brine has 0.75 (Greenspan 1977, from memory)
        (1.3, 0.2, "stays"),
    ],
)
def test_what_a_finger_finds(colour, activity, says):
    assert RUB.word(float(bark_level(np.array([colour]), np.array([activity]))[0])) == says


def test_darker_or_drier_is_never_less_set():
    colour, activity = np.meshgrid(np.linspace(0.0, 1.3, 40), np.linspace(0.05, 1.0, 40))
    level = bark_level(colour, activity)
    assert (np.diff(level, axis=1) >= 0.0).all()
    assert (np.diff(level, axis=0) <= 0.0).all()
    assert level.min() == 0.0
    assert level.max() == 1.0


def test_no_word_rules_a_member_out_and_a_colour_says_more():
    levels = np.linspace(0.0, 1.0, 21)
    for level in RUB.scale.values():
        chance = word_chance("rub", level, levels)
        assert (chance >= BLUNDER / 3.0 - 1e-12).all()
        assert chance.max() / chance.min() > 3.0
    assert RUB.errors.each > LOOK_KINDS["colour"].errors.each


@pytest.mark.kernel
def test_a_rub_that_stays_means_sooner_and_one_that_comes_off_later():
    def outlook(*events):
        ledger = Ledger.of([put_on("racks"), *air(135.0, 0, 80), *events])
        plan = cook(racks(), set_c=135.0, serve_h=6.0)
        return reckon(plan, ledger, now=at(80), members=MANY).item("racks")

    without = outlook()
    stays, off = (outlook(look(80, "rub", RUB.scale[word], "racks")) for word in ("stays", "comes off"))
    assert stays.colour.p50 > without.colour.p50 > off.colour.p50
    assert stays.marks["ready"].p50 < without.marks["ready"].p50 < off.marks["ready"].p50
    assert min(stays.ess, off.ess) >= LEAST_ESS * MANY * 0.99
    assert stays.colour.p95 - stays.colour.p05 > 0.1


def test_the_log_has_it_both_ways():
    plan = cook(racks())
    text = "time,kind,on,what,value\n2026-10-10 15:00,act,racks,put on,\n15:40,look,racks,rub,Comes off\n"
    text += "16:20,look,racks,rub,stays\n"
    ledger = log_from_text(text, "day.csv", plan)
    assert [(each.kind, each.value) for each in ledger.all_looks] == [("rub", 0.0), ("rub", 1.0)]
    again = log_text(ledger, plan)
    assert "look,racks,,rub,stays," in again
    assert log_from_text(again, "again.csv", plan).all_looks[1].value == 1.0
    bare = Ledger.of([put_on("racks"), look(40, "rub", 0.5, "racks")])
    assert "look,racks,,rub,smears," in log_text(bare, plan)


@pytest.mark.asyncio
async def test_the_page_taps_it_and_shows_it_and_the_export_has_it(tmp_path: Path) -> None:
    plan = Path(__file__).parents[2] / "examples" / "sunday-racks" / "sunday-racks.toml"
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(plan.read_text("utf-8"), "racks", cook_id="racks")
        owner = await made.owner()
        page = await owner.get("/cook/racks/look")
        for word in RUB.scale:
            assert f'value="look|rub|{word}"' in page.text
        assert "The rub, wiped with a finger" in page.text
        label = made.app.state.app_state.live_cook("racks").items[0].label
        event = {"id": "rub1", "kind": "look", "on": label, "what": "rub", "value": "smears"}
        assert (await owner.send("/api/cooks/racks/events", {"events": [{**event, "at": NOW.isoformat()}]})).is_success
        sent = await owner.post("/cook/racks/record", {"record": "look|rub|stays", "on": label})
        assert sent.status_code == 303
        assert "rub stays" in (await owner.get("/cook/racks/ledger")).text
        exported = (await owner.get("/cook/racks/export.csv")).text
        assert "rub,smears" in exported
        assert "rub,stays" in exported
