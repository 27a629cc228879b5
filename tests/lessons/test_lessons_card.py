"""A card is written from the ledger, not from the plan; its readers differ, and a robust card serves more of them.

Times of the trade are common practice, no source. What the shares are worth is tried on twin readers whose pits and
meat are not the model's: ``validation/readers``; their result is held here to the present version.
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from validation.readers.__main__ import ALLOWED, README, RESULT, text_of
from validation.readers.cards import HERE, one, written

from pitreckon.cook import Cook, Until
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card import cooked as readersrun
from pitreckon.lessons.card.card import Card, card_of, timed
from pitreckon.lessons.card.cooked import Cooked, Piece, cook_all
from pitreckon.lessons.card.finished import FinishedItem, finished_item
from pitreckon.lessons.card.readers import audience, deal
from pitreckon.lessons.card.script import script_of
from pitreckon.lessons.card.words import look_words
from pitreckon.lessons.marks import RAW, Marks, Usual

PLAN = (HERE / "orchard-supper.toml").read_text("utf-8")
LOG = (HERE / "orchard-supper.csv").read_text("utf-8")


def cook_and_ledger(plan: str = PLAN, log: str = LOG) -> tuple[Cook, Ledger]:
    cook = cook_from_text(plan, "orchard-supper.toml")
    return cook, log_from_text(log, "orchard-supper.csv", cook)


def done(item: str, plan: str = PLAN, log: str = LOG) -> FinishedItem:
    return finished_item(*cook_and_ledger(plan, log), item)


@cache
def card(item: str) -> Card:
    return card_of(done(item), readers=300)


def without(*parts: str) -> str:
    """The log less every line that has one of these."""
    return "\n".join(line for line in LOG.splitlines() if not any(part in line for part in parts)) + "\n"


def test_times_are_those_of_the_acts() -> None:
    went = done("racks").stages
    assert [each.plan.kind for each in went] == ["open", "wrapped", "sauced", "rest"]
    # 12:40 on, 15:30 wrapped, 17:25 sauced, 17:43 off, 17:54 served: the hand's own subtraction
    assert [each.took_s / 60.0 for each in went] == [170.0, 115.0, 18.0, 11.0]


def test_the_pit_is_what_it_showed_and_not_what_was_planned() -> None:
    shown = done("racks")
    rows = [line.split(",") for line in LOG.splitlines() if "pit air" in line]
    by_hand = [float(r[5].removesuffix(" F")) for r in rows if "12:40" <= r[0][-5:] <= "17:43"]
    assert shown.set_by == "readout"
    assert shown.set_c == pytest.approx((sum(by_hand) / len(by_hand) - 32.0) / 1.8)
    planned = done("racks", log=without("pit air"))
    assert planned.set_by == "plan"
    assert planned.set_c == pytest.approx((265.0 - 32.0) / 1.8)


def test_what_the_cook_saw_ends_the_line() -> None:
    """The plan says mahogany; who wrapped at red-brown has red-brown on the card."""
    early = LOG.replace("15:28,look,racks,1,colour,mahogany", "15:28,look,racks,1,colour,red-brown")
    assert done("racks", log=early).stages[0].plan.until == Until("colour", 0.8)
    assert done("racks").stages[0].plan.until == Until("colour", 1.0)
    far = without("colour,mahogany")  # the last look is 20 minutes old and tells of no wrap
    assert done("racks", log=far).stages[0].plan.until == Until("colour")


@pytest.mark.kernel
def test_a_line_by_the_clock_stays_one_and_is_offered_a_look() -> None:
    plan = PLAN.replace('until = "colour"', 'until = "170 min"')
    bare = done("racks", plan, without("colour,mahogany"))
    assert bare.stages[0].clocked
    line = script_of(bare).lines[0]
    assert line.by_clock
    assert line.look == Until("colour")
    told: list[str] = []
    assert any(change.key == "look 1" for change in card_of(bare, readers=100, tell=told.append).changes)
    assert len(told) == 4  # how far it is, of this meat
    assert all(words.startswith(f"{bare.item.label}: ") for words in told)


def test_a_thermometer_that_stopped_short_is_not_passed_on() -> None:
    """165 °F is the official least for poultry (FSIS); a card never says less, whatever the cook did."""
    low = LOG.replace("17:44,look,thighs,,spot temperature,178 F", "17:44,look,thighs,,spot temperature,158 F")
    went = done("thighs", log=low)
    assert went.stages[0].core_c == pytest.approx((158.0 - 32.0) / 1.8)
    look = script_of(went).lines[0].look
    assert look is not None
    assert look.core_c == pytest.approx((165.0 - 32.0) / 1.8, abs=0.06)


@pytest.mark.parametrize(
    ("log", "item", "trouble"),
    [
        (LOG, None, "more than one item"),
        (LOG, "brisket", "no item of this cook"),
        (without("took off", "served"), "racks", "came off the pit"),
        (LOG.splitlines()[0] + "\n", None, "came off the pit"),
    ],
)
def test_what_is_no_finished_cook_is_refused(log: str, item: str | None, trouble: str) -> None:
    with pytest.raises(InputError, match=trouble):
        finished_item(*cook_and_ledger(log=log), item)


def test_readers_are_dealt_in_their_shares() -> None:
    many = deal(2000, 3)
    assert many.size == 2000
    who = audience()
    assert sum(share for _, share in who.pits) == pytest.approx(1.0)
    assert sum(share for _, share in who.altitudes) == pytest.approx(1.0)
    for pit, share in who.pits:
        found = sum(group.size for group in many.groups if group.pit == pit)
        assert found == pytest.approx(2000 * share, abs=len(who.altitudes))
    clocked = np.concatenate([group.habits.clocked for group in many.groups]).mean()
    assert clocked == pytest.approx(who.clock_share, abs=0.02)
    assert {group.pit for group in deal(100, 1, pit="oven").groups} == {"oven"}
    with pytest.raises(InputError, match="too few"):
        deal(99, 1)


@pytest.mark.kernel
def test_the_same_seed_gives_the_same_card() -> None:
    one, again = (card_of(done("thighs"), readers=100, threads=threads) for threads in (None, 1))
    assert again.right == one.right
    assert again.table == one.table
    assert [c.key for c in again.changes] == [c.key for c in one.changes]


@pytest.mark.kernel
@pytest.mark.parametrize("item", ["racks", "thighs"])
def test_a_card_holds_together(item: str) -> None:
    made = card(item)
    assert 0.05 < made.right.share < 0.99
    assert made.simulated >= 600
    for line in made.script.lines:
        assert 0.0 < line.from_s <= line.middle_s <= line.to_s
    shares = dict(made.faults)
    assert sum(shares.values()) >= 1.0 - made.right.share - 1e-9  # one plate may be wrong in more ways than one
    assert all(change.share <= 1.0 and change.script != made.script for change in made.changes)
    least = max(shares.get(RAW, 0.0), 0.002)
    assert all(change.raw <= least + 0.02 for change in made.changes)
    together = sum(share.share * share.of for _, share in made.by_pit)
    assert together / sum(share.of for _, share in made.by_pit) == pytest.approx(made.right.share, abs=0.05)


@pytest.mark.kernel
@pytest.mark.parametrize("item", ["racks", "thighs"])
def test_the_table_moves_as_cooks_know(item: str) -> None:
    """Hotter is sooner, cooler later, thicker later, thinner sooner: common practice, no source."""
    rows = {(row.group, row.value): row.total_s[1] for row in card(item).table}
    base = rows["", 0.0]
    pits = sorted((value, time) for (group, value), time in rows.items() if group == "pit")
    assert pits[0][1] > base > pits[1][1]
    thick = sorted((value, time) for (group, value), time in rows.items() if group == "thickness")
    assert thick[0][1] < base < thick[1][1]
    high = [time for (group, _), time in rows.items() if group == "altitude"]
    assert all(abs(time / base - 1.0) < 0.25 for time in high)


@pytest.mark.kernel
def test_racks_take_what_racks_take() -> None:
    """At 265 °F in practice about 2-3.5 h to a set colour and 1.5-3 h in foil: common practice, no source."""
    first, second, _, _ = card("racks").script.lines
    assert 1.75 <= first.middle_s / 3600.0 <= 3.75
    assert 1.5 <= second.middle_s / 3600.0 <= 3.25


@pytest.mark.kernel
def test_readers_who_are_never_wrong_get_the_plate() -> None:
    ready = done("racks")
    piece, plain, many = Piece.of(ready.cut, ready.item), script_of(ready), deal(600, 1)
    ideal = cook_all(piece, plain, many, ideal=True)
    marks = Marks.of(ready.cut, Usual.of(ideal))
    script = timed(piece, plain, many)
    as_written = cook_all(piece, script, many).right(marks).mean()
    by_clock = replace(script, lines=tuple(replace(line, by_clock=True) for line in script.lines))
    by_the_clock = cook_all(piece, by_clock, many).right(marks).mean()
    # Pieces differ by a tenth in time, and so does what readers make of a colour: neither is far ahead. That the
    # clock now does a little (65 to 58 %) stands as an open question about readers' eyes (lessons/data/readers.toml).
    assert ideal.right(marks).mean() > 0.9 > max(as_written, by_the_clock)
    assert as_written > by_the_clock - 0.1


@pytest.mark.kernel
def test_who_never_gets_done_has_no_plate() -> None:
    """At 150 °F hardly a thigh gets to 165 °F: it would have to lie in what is hotter than its pit shows."""
    cold = done("thighs", PLAN.replace('"265 F"', '"150 F"'), without("pit air"))
    piece, plain, many = Piece.of(cold.cut, cold.item), script_of(cold), deal(200, 1)
    script = replace(timed(piece, script_of(done("thighs")), many), set_c=plain.set_c)
    cooked = cook_all(piece, script, many)
    marks = card("thighs").marks
    faults = cooked.faults(marks)
    assert faults[RAW].mean() + faults[readersrun.NOT_KEPT].mean() > 0.9
    assert not cooked.right(marks)[faults[RAW] | faults[readersrun.NOT_KEPT]].any()


@pytest.mark.kernel
def test_a_coarse_section_does(monkeypatch: pytest.MonkeyPatch) -> None:
    ready = done("racks")
    piece, many = Piece.of(ready.cut, ready.item), deal(400, 2)
    script = timed(piece, script_of(ready), many)
    marks = card("racks").marks
    coarse = cook_all(piece, script, many)
    monkeypatch.setattr(readersrun, "FINER", 1.0)
    fine = cook_all(piece, script, many)
    assert abs(coarse.right(marks).mean() - fine.right(marks).mean()) < 0.04
    assert np.nanmedian(coarse.off_s) == pytest.approx(np.nanmedian(fine.off_s), rel=0.04)


def test_words_tell_levels_apart() -> None:
    levels = (0.55, 0.68, 0.8, 0.9, 1.0, 1.1, 1.3)
    assert len({look_words(Until("colour", level), "F") for level in levels}) == len(levels)
    felt = (0.75, 0.94, 1.0, 1.06, 1.3)
    assert len({look_words(Until("tender", level), "F") for level in felt}) == len(felt)
    assert look_words(Until("core", 73.9), "C").endswith("74 °C")


def test_twin_readers_agree_within_five_points() -> None:
    rows = json.loads(RESULT.read_text("utf-8"))
    assert {(row["item"], row["card"]) for row in rows} == {
        (i, c) for i in ("racks", "thighs") for c in ("fragile", "robust")
    }
    for row in rows:
        assert row["twins"] >= 600
        chance = (row["true"] * (1.0 - row["true"]) / row["twins"]) ** 0.5  # one standard error of the twins' share
        assert abs(row["said"] - row["true"]) <= ALLOWED + chance, row
    assert text_of(rows) in Path(README).read_text("utf-8")


@pytest.mark.kernel
def test_the_shares_held_against_the_twins_are_this_versions() -> None:
    rows = {(row["item"], row["card"]): row for row in json.loads(RESULT.read_text("utf-8"))}
    cards = list(written())
    assert {(each.item, each.what) for each in cards} == rows.keys()
    for each in cards:
        said = cook_all(each.piece, each.script, deal(2000, 1)).right(each.marks).mean()
        assert said == pytest.approx(rows[each.item, each.what]["said"], abs=0.01)


@pytest.mark.kernel
def test_a_twin_reader_cooks() -> None:
    robust = next(each for each in written() if (each.item, each.what) == ("thighs", "robust"))
    cooked = Cooked.joined([one((robust, index)) for index in range(3)])
    assert np.isfinite(cooked.total_s).all()
    assert (cooked.peak_c > 60.0).all()
