"""Every cut from the wish to the card: planned, followed with two looks, recorded, written down, labelled.

By the functions that the commands call, the files that pass between them included. What is asserted is what a cook
of the trade would notice at once: a step out of order, a bone in a sausage, the table of another animal, a meal without
its label. Times and rules are checked elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.flavour.read import mix_from_text
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card.card import card_of
from pitreckon.lessons.card.finished import finished_item
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.schedule import Schedule
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.to_cook import to_cook
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon.forecast import Reckoning, reckoning
from pitreckon.safety.record.form import SafetyRecord, check_record, document_of_record
from pitreckon.safety.record.make import record_of
from pitreckon.sheets.documents.recipe import Recipe, recipe_of
from pitreckon.sheets.documents.recipecard import recipe_sheet
from pitreckon.sheets.writers.text import text_of

pytestmark = pytest.mark.kernel

CUTS = sorted(catalog.cuts())
MEMBERS, READERS = 24, 100
WISH = """
[cook]
name = "one cut"
zone = "America/Chicago"
serve = "2026-10-10 18:00"
chance = "50 %"
air = "60 F"

[guests]
adults = 8

[[pit]]
name = "box"
kind = "pellet-cooker"
set = "{set_c:.1f} C"

[[item]]
name = "meat"
cut = "{cut}"
longest_hold = "4h"
"""
RUB = """
[mix]
name = "plain rub"
use = "rub"
covers = ["1 kg"]
[[ingredient]]
food = "salt"
amount = "10 g"
[[ingredient]]
food = "black pepper"
amount = "4 g"
"""


@dataclass(frozen=True)
class Followed:
    """A cut that went the whole way."""

    cut: Cut
    wishes: Wishes
    schedule: Schedule
    cook: Cook
    ledger: Ledger
    reckoned: Reckoning
    record: SafetyRecord
    recipe: Recipe
    card: str
    text: str


def rows_of(cook: Cook) -> Iterator[tuple[datetime, str]]:
    """What a cook writes down who follows the plan: two looks, and each act when the forecast has it due."""
    cut = catalog.cut(cook.items[0].cut)
    done = cut.texture.done_by
    planned = reckoning(cook, members=MEMBERS, seed=1)
    (item,) = planned.outlook.items
    ends = [item.instant(stage.ends_s.p50) for stage in item.stages]
    on_pit = [n for n, stage in enumerate(item.stages) if stage.kind in {"open", "wrapped", "sauced"}]
    yield item.put_on_utc, "act,meat,,put on,,"
    half = item.put_on_utc + 0.5 * (ends[0] - item.put_on_utc)
    then = reckoning(cook, Ledger(), now=half, members=MEMBERS, seed=1).outlook.items[0].core_c.p50
    yield half, f"look,meat,1,spot temperature,{then:.0f} C,"
    for n in on_pit:
        if n == max(on_pit):
            last = ("probe feel,slides in" if done == "tender" else f"spot temperature,{cut.texture.done_core_c.value + 2:.0f} C")
            yield ends[n] - timedelta(minutes=1), f"look,meat,1,{last},"
            yield ends[n], "act,meat,,took off,,"
        else:
            act = {"wrapped": f"wrapped,{item.stages[n + 1].wrap}", "sauced": "sauced,", "open": "unwrapped,"}
            yield ends[n], f"act,meat,,{act[item.stages[n + 1].kind]},"
    yield max(ends[max(on_pit)] + timedelta(minutes=5), item.instant(item.marks["ready"].p50)), "act,meat,,served,,"


def followed(key: str) -> Followed:
    """Through every command."""
    cut = catalog.cut(key)
    set_c = catalog.animal(cut.animal).usual_set_c.value
    wishes = wishes_from_text(WISH.format(set_c=set_c, cut=key), "wish.toml")
    answer = plan(wishes, members=MEMBERS, limit_s=1.0)
    assert answer.schedule is not None, answer.why
    text = cook_text(to_cook(wishes, answer.schedule))
    cook = cook_from_text(text, "cook.toml")
    rows = [f"{at.astimezone(cook.zone_info):%Y-%m-%d %H:%M},{row}" for at, row in rows_of(cook)]
    ledger = log_from_text("\n".join(("time,kind,on,piece,what,value,note", *rows)), "log.csv", cook)
    reckoned = reckoning(cook, ledger, members=MEMBERS, seed=1)
    made = card_of(finished_item(cook, ledger), readers=READERS)
    recipe = recipe_of(made, [mix_from_text(RUB, "rub.toml")])
    return Followed(
        cut, wishes, answer.schedule, cook, ledger, reckoned, record_of(reckoned, text, ledger), recipe,
        text_of(recipe_sheet(recipe)), text,
    )  # fmt: skip
