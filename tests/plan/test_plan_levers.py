"""Changes that a cook could make, each in one sentence; and those that only the solver can tell."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.schedule.relax import COOLEST_C, HOTTEST_C, ladders_of
from pitreckon.plan.schedule.schedule import Answer, Change, Solving
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.variants import variant
from pitreckon.plan.wishes import LEAST_HOLD_C, Hands, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 6, 20, 23, tzinfo=UTC)
BUTTS = ItemWish("butts", "boston-butt", pieces=2, mass_kg=3.2, most_hold_s=6 * 3600.0)
BOX = PitWish("box", "pellet-cooker", (121.1, 135.0))
DAY = Wishes("day", "UTC", SERVE, (BOX,), (BUTTS,), chance=0.8)


def steps(wishes: Wishes) -> dict[str, Wishes]:
    amounts = list(amounts_of(wishes))
    made = {}
    for ladder in ladders_of(wishes, amounts, [0]):
        for words, size, do in ladder.steps:
            assert size > 0.0
            done = do(wishes, amounts)
            if done is not None:
                made[words] = done[0]
    return made


def test_a_cooler_pit_is_one_sentence_and_one_more_temperature():
    made = steps(DAY)
    assert made["run box 25 °F cooler"].pits[0].sets_c == pytest.approx((121.1, 135.0, 107.2), abs=0.1)
    assert "run box 50 °F cooler" not in made
    assert all(COOLEST_C - 0.2 <= set_c <= HOTTEST_C + 0.2 for each in made.values() for set_c in each.pits[0].sets_c)
    low = replace(DAY, pits=(replace(BOX, sets_c=(107.2,)),))
    assert not [words for words in steps(low) if "cooler" in words]


def test_a_cooler_and_a_longer_hold_change_that_item_alone():
    two = replace(DAY, items=(BUTTS, replace(BUTTS, label="more butts")))
    made = steps(two)
    cooler = made["hold butts at 145 °F and not at 165 °F"]
    assert cooler.items[0].hold_c == pytest.approx(62.8)
    assert cooler.items[1] == two.items[1]
    assert made["let butts be held 1 h longer"].items[0].most_hold_s == 7 * 3600.0
    held = [each.items[0].hold_c for words, each in made.items() if words.startswith("hold butts")]
    assert len(held) == 3
    assert min(held) > LEAST_HOLD_C  # no warm place is proposed at the limit of the rules
    straight = replace(DAY, items=(replace(BUTTS, most_hold_s=0.0),))
    assert not [words for words in steps(straight) if words.startswith("hold ")]


def test_a_cooler_hold_is_a_what_if_of_its_own():
    what_if = variant(DAY, "cooler-hold")
    assert what_if is not None
    assert what_if.words == "hold at 145 °F"
    assert what_if.wishes.items[0].hold_c == pytest.approx(62.8)
    assert variant(what_if.wishes, "cooler-hold") is None


@pytest.mark.kernel
def test_where_room_is_in_the_way_less_is_not_the_only_remedy():
    """Each could be on time by itself; together they do not lie there, which only the solver can tell."""
    kettle = PitWish("kettle", "kettle", (135.0,))
    items = (
        ItemWish("racks", "st-louis-ribs", pieces=2, mass_kg=1.2, most_hold_s=2 * 3600.0),
        ItemWish("thighs", "chicken-thigh", pieces=8, mass_kg=0.17, most_hold_s=1.5 * 3600.0),
    )
    wishes = Wishes("day", "UTC", SERVE, (kettle,), items, hands=Hands(2), chance=0.85)
    answer = plan(wishes, members=24, limit_s=2.0)
    assert answer.schedule is None
    assert answer.changes
    assert not any(change.what.startswith("accept") for change in answer.changes)
    assert all(change.wishes is not None for change in answer.changes)
    assert answer.changes[0].does
    # What is told of a change is what its plan keeps when it is taken, on scenarios that no choice has seen.
    for change in answer.changes:
        assert change.wishes is not None
        taken = plan(change.wishes, members=24, limit_s=2.0, explain=False)
        assert taken.best is not None
        assert taken.best.chance == pytest.approx(change.chance)


def test_the_first_of_the_changes_is_called_what_it_is():
    def lead(*chances: float) -> str:
        changes = tuple(Change("hold it", 1.0, chance, DAY) for chance in chances)
        return Answer(None, None, (), changes, Solving("optimal", 0.0, 0.0, 0.0, 1, 1)).lead

    assert lead(0.8, 0.82) == "What helps most"
    assert lead(0.8, 0.97) == "The smallest change that does it"
    assert lead() == "What helps most"
