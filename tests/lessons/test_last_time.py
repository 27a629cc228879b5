"""This time against last time: what was otherwise, and what it was worth in minutes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError
from pitreckon.ledger.log.read import log_from_text, read_log
from pitreckon.lessons.lasttime.differ import as_it_went, facts
from pitreckon.lessons.lasttime.history import history_of
from pitreckon.lessons.lasttime.lines import headline, worth_lines
from pitreckon.lessons.lasttime.picture import Words, picture
from pitreckon.lessons.lasttime.run import MOST_POINTS, Run, run_of, thinned
from pitreckon.lessons.lasttime.worth import against

EXAMPLES = Path(__file__).parents[2] / "examples"


def example(name: str, log: str = "day.csv") -> Run:
    cook = read_cook(EXAMPLES / name / f"{name}.toml")
    return run_of(cook, read_log(EXAMPLES / name / log, cook), None)


THIS, LAST = example("next-sunday"), example("sunday-racks")


def test_a_run_is_on_its_own_clock() -> None:
    assert THIS.off_s == 222 * 60
    assert [(round(s.from_s / 60), round(s.until_s / 60)) for s in THIS.stretches][:3] == [
        (0, 90),
        (90, 203),
        (203, 222),
    ]
    assert [look.text for _, look in THIS.looks][:1] == ["red-brown"]
    assert THIS.pit[0][0] == 600.0
    many = [(float(n), 20.0) for n in range(5000)]
    assert len(thinned(many)) <= MOST_POINTS + 1
    assert thinned(many)[-1] == many[-1]
    assert thinned([]) == ()


def test_what_was_otherwise_is_told_fact_by_fact() -> None:
    found = {each.key: each.words for each in facts(THIS.finished, LAST.finished)}
    assert found["set"] == "pit 16 °F hotter: 284 °F, not 268 °F"
    assert found["weight"] == "pieces heavier: 2 lb 10 oz, not 2 lb 4 oz"
    assert found["end of 1"] == "wrapped at 'red-brown', not at 'mahogany'"
    back = {each.key: each.words for each in facts(LAST.finished, THIS.finished)}
    assert back["set"] == "pit 16 °F cooler: 268 °F, not 284 °F"
    assert set(back) == set(found)
    assert facts(THIS.finished, THIS.finished) == ()


def test_each_fact_makes_last_times_plan_like_this_times() -> None:
    plan = as_it_went(LAST.finished)
    for each in facts(THIS.finished, LAST.finished):
        plan = each.change(plan)
    wanted = as_it_went(THIS.finished)
    assert plan.pits == wanted.pits
    assert plan.items[0].mass_kg == wanted.items[0].mass_kg
    assert plan.items[0].stages[0] == wanted.items[0].stages[0]


@pytest.mark.kernel
def test_a_hotter_pit_and_a_sooner_wrap_are_quicker_and_more_meat_slower() -> None:
    """Common practice, no source: 15 °F and foil half an hour sooner take 10 to 60 min off."""
    found = against(THIS, LAST)
    worth = {each.key: each for each in found.worths}
    assert found.longer == -30.0
    assert worth["set"].minutes < 0.0
    assert worth["end of 1"].minutes < 0.0
    assert worth["weight"].minutes > 0.0
    assert all(each.low <= each.minutes <= each.high for each in found.worths)
    assert found.together is not None
    assert -60.0 < found.together.minutes < -10.0
    assert found.rest == found.longer - found.together.minutes
    back = against(LAST, THIS)
    assert back.longer == 30.0
    assert back.together is not None
    assert back.together.minutes > 10.0
    assert str(headline(found)) == "30 min less on the pit than last time: 3 h 40 min, not 4 h 10 min."
    lines = list(worth_lines(found))
    assert len(lines) == len(found.worths) + 2
    assert "sooner" in lines[0]


@pytest.mark.kernel
def test_the_same_cook_is_as_long_and_nothing_was_otherwise() -> None:
    same = against(LAST, LAST)
    assert (same.longer, same.worths, same.together) == (0.0, (), None)
    assert str(headline(same)) == "As long on the pit as last time: 4 h 10 min."


def test_other_cuts_are_not_held_against_each_other() -> None:
    done = LAST.finished
    other = replace(LAST, finished=replace(done, item=replace(done.item, cut="st-louis-ribs")))
    with pytest.raises(InputError, match="different cuts"):
        against(THIS, other)


def test_the_picture_draws_both_and_says_so_in_words() -> None:
    words = Words("this time", "last <time>", "all & said", lambda kind, wrap: wrap or kind, "F")
    drawn = ET.fromstring(picture(THIS, LAST, words, alone=True))
    space = "{http://www.w3.org/2000/svg}"
    assert drawn.get("aria-label") == "all & said"
    texts = [each.text for each in drawn.iter(f"{space}text")]
    assert {"this time", "last <time>", "300 °F", "150 °F", "foil"} <= set(texts)
    # Marks differ by their shape: round ones for this time's looks, square ones for last time's.
    assert len(list(drawn.iter(f"{space}circle"))) == len(THIS.looks)
    assert len(list(drawn.iter(f"{space}rect"))) == len(LAST.looks)


def test_a_card_knows_how_often_and_what_was_otherwise() -> None:
    found = history_of(THIS.finished, [LAST.finished])
    assert found.times == 2
    (change,) = found.changes
    assert (change.on_s, change.before_s) == (222 * 60, 252 * 60)
    assert "wrapped at 'red-brown', not at 'mahogany'" in change.words
    assert history_of(LAST.finished, [THIS.finished]).times == 1, "what came later does not count"


def test_another_wrap_is_told_as_that_alone() -> None:
    done = LAST.finished
    papered = [
        replace(each, plan=replace(each.plan, wrap="paper")) if each.plan.kind == "wrapped" else each
        for each in done.stages
    ]
    other = replace(done, stages=tuple(papered))
    (fact,) = facts(other, done)
    assert (fact.key, fact.words) == ("wrap of 2", "in paper, not in foil")
    assert fact.change(as_it_went(done)).items[0].stages == as_it_went(other).items[0].stages


def test_a_hold_that_was_begun_twice_is_one() -> None:
    """It came off into the plan's hold, and five minutes later the cook recorded that it is held."""
    cook = read_cook(EXAMPLES / "sunday-racks" / "sunday-racks.toml")
    log = (EXAMPLES / "sunday-racks" / "day.csv").read_text("utf-8")
    text = log.replace("17:40,act", "17:32,act,racks,,hold,150 F,\n17:33,act,racks,,hold,150 F,\n17:40,act")
    held = [
        each
        for each in run_of(cook, log_from_text(text, "day.csv", cook), None).stretches
        if each.record.plan.kind == "hold"
    ]
    (hold,) = held
    assert hold.until_s - hold.from_s == pytest.approx(60.0 * 8)
