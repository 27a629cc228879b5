"""Several pieces of one item: looks at one, what they say of the others, and the first and the last."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from supper import air, at, cook, look, put_on, racks, wings

from pitreckon.ledger import Act, Ledger
from pitreckon.reckon.forecast import reckoning

pytestmark = pytest.mark.kernel

MEMBERS = 128
BASE = [put_on(), *air(150.0, 0, 30)]


def item(events, plan=None, now=30):
    done = reckoning(cook(plan or wings(pieces=4)), Ledger.of(events), now=at(now), members=MEMBERS)
    return done.outlook.items[0], done.runs[0]


@pytest.fixture(scope="module")
def four():
    return item(BASE)


def test_the_first_is_before_the_last(four):
    outlook, _ = four
    ready = outlook.marks["ready"]
    assert outlook.first_ready.p50 < ready.p50 < outlook.last_ready.p50
    assert outlook.first_ready.p05 <= ready.p05 + 120.0


def test_more_pieces_spread_wider(four):
    few, _ = four
    many, _ = item(BASE, wings(pieces=24))
    assert many.last_ready.p50 > few.last_ready.p50
    assert many.first_ready.p50 < few.first_ready.p50


def test_one_piece_is_first_and_last():
    outlook, _ = item(BASE, wings(pieces=1))
    assert outlook.first_ready == outlook.last_ready == outlook.marks["ready"]


def test_a_look_at_one_piece_sets_it_apart(four):
    outlook, plain = four
    core = outlook.core_c
    cold = replace(look(30, "spot temperature", core.p05), piece=2)
    _, run = item([*BASE, cold])
    of = {track.track.piece: track for track in run.tracks}
    assert set(of) == {2, None}
    assert of[2].track.stands_for == 1
    assert of[None].track.stands_for == 3

    def core_of(track):
        return float(track.weights @ track.trace.at("core_c", 1800.0))

    before = core_of(plain.tracks[0])
    assert core_of(of[2]) < core_of(of[None]) < before  # its fellows are likely cold, too, but less so


def test_a_look_at_all_needs_no_parting():
    _, run = item([*BASE, look(30, "spot temperature", 60.0)])
    assert [track.track.piece for track in run.tracks] == [None]


def test_an_act_on_one_piece_is_its_own():
    off = Act(at(28), "wings", "took off", piece=1)
    outlook, run = item([*BASE, off])
    of = {track.track.piece: track for track in run.tracks}
    assert of[1].track.stages[0].ended_utc == at(28)
    assert of[None].track.stages[0].ended_utc is None
    assert outlook.first_ready.p50 <= 28 * 60 + 5 * 60 + 61


def test_a_piece_with_acts_of_its_own_has_tasks_of_its_own():
    plan = racks(pieces=3)
    wrapped = Act(at(100), "racks", "wrapped", detail="foil", piece=2)
    events = [put_on("racks"), *air(150.0, 0, 110), wrapped]
    done = reckoning(cook(plan, set_c=150.0, serve_h=8.0), Ledger.of(events), now=at(110), members=MEMBERS)
    tasks = {(task.item, task.act, task.pieces) for trip in done.outlook.trips for task in trip.tasks}
    assert ("racks", "wrap", 2) in tasks
    assert ("racks 2", "sauce", 1) in tasks
    assert not any(item == "racks 2" and act == "wrap" for item, act, _ in tasks)


def test_what_one_item_shows_of_the_pit_tells_the_other():
    """Cold wings on the pit speak for a pit cooler than its readout: the racks beside them will be later, too."""
    both = (wings(pieces=1), racks(pieces=1))

    def racks_ready(*more):
        events = [put_on(), put_on("racks"), *air(150.0, 0, 35), *more]
        done = reckoning(cook(*both), Ledger.of(events), now=at(35), members=256)
        return done.outlook.item("racks").marks["ready"].p50, done.outlook.item("wings").core_c

    plain, core = racks_ready()
    cold, _ = racks_ready(look(35, "spot temperature", core.p05), look(30, "spot temperature", core.p05 - 12.0))
    assert cold > plain + 60.0
    assert np.isfinite(cold)
