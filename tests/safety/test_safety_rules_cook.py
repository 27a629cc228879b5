"""From a reckoned cook to its verdicts: histories of its pieces, phases, and what is measured against reckoned."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from tests.reckon.supper import START, N, at, cook, wings

from pitreckon.cook import ItemPlan, StagePlan, Until
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckoning
from pitreckon.safety.history.fromrun import coldest_of, history_of
from pitreckon.safety.history.history import History, Phase, Series
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.outcome import FAILED, MET, NOT_YET, UNSURE, Outcome
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Handled, Meat
from pitreckon.safety.rules.rule import rule
from pitreckon.safety.rules.verdict import settled, together

STAGES = (
    StagePlan("open", Until("core", 71.0)),
    StagePlan("rest", Until("minutes", 900.0)),
    StagePlan("hold", Until("minutes", 3600.0), air_c=65.0),
)


def loin(**changes):
    plan = {
        "label": "loin", "cut": "pork-loin", "pieces": 1, "mass_kg": 1.2, "pit": "drum", "put_on_utc": START,
        "stages": STAGES,
    }  # fmt: skip
    return ItemPlan(**(plan | changes))


def logged(*events, label="loin"):
    return Ledger.of([Act(START, label, "put on"), *events])


@cache
def planned():
    return reckoning(cook(loin(), wings(), serve_h=6.0), logged(Act(START, "wings", "put on")), now=at(20), members=N)


@pytest.mark.kernel
def test_every_piece_is_judged_now_and_ahead():
    safety = judge_cook(planned())
    assert [piece.label for piece in safety.now] == ["loin", "wings"]
    loin_now, loin_ahead = safety.now[0], safety.ahead[0]
    assert loin_now.group("cooking").verdict == "not yet"
    assert loin_now.group("cooking").basis == "reckoned"
    assert loin_now.group("hot holding") is None
    assert loin_ahead.group("cooking").verdict == "met"
    assert loin_ahead.group("cooking").probability == pytest.approx(1.0)
    assert loin_ahead.group("hot holding") is not None
    assert safety.now[1].group("cooking").rule.key == "fsis-poultry"
    assert any("health department" in text for text in safety.cautions)


@pytest.mark.kernel
def test_what_was_done_to_the_meat_is_asked_for():
    said = judge_cook(planned(), {"loin": UNTOUCHED, "wings": Handled(injected=True)})
    assert said.ahead[0].verdict("trade-four-hours") is None
    assert said.ahead[1].verdict("trade-four-hours") is not None
    assert judge_cook(planned()).ahead[0].verdict("food-code-non-intact") is not None
    with pytest.raises(InputError, match="no item 'ham'"):
        judge_cook(planned(), {"ham": UNTOUCHED})


@pytest.mark.kernel
def test_a_reckoned_history_has_every_member_and_phase():
    run = planned().runs[0]
    both = history_of(run, planned().sifted.ledger)
    reckoned = both.reckoned
    assert both.measured is None
    assert reckoned.members == int((run.evidence.weights > 0).sum())
    assert [phase.kind for phase in reckoned.phases] == ["cook", "rest", "hold", "out"]
    assert reckoned.end_s == 6 * 3600.0
    assert (reckoned.core.temp_c <= run.trace["core_c"][:, run.evidence.weights > 0] + 1e-9)[0].all()


@pytest.mark.kernel
def test_the_coldest_cell_is_no_warmer_than_the_core():
    trace = planned().runs[0].trace
    coldest, core = coldest_of(trace), trace["core_c"]
    there = np.isfinite(core)
    assert (coldest[there] <= core[there] + 1e-9).all()
    assert np.nanmax(core - coldest) < 15.0


def probe(until_min, value, every=5, piece=None):
    return [Reading(at(m), "probe", "loin", piece, value(m)) for m in range(every, until_min, every)]


def checked(what):
    """In ice water and in boiling water, both as they ought to be."""
    return [Look(at(1), "loin", None, what, read_c) for read_c in (0.0, 99.97)]


def at_moment(minutes, *events):
    return reckoning(cook(loin(), serve_h=6.0), logged(*events), now=at(minutes), members=N)


@pytest.mark.kernel
def test_measured_goes_before_reckoned():
    known = at_moment(150, *probe(151, lambda m: min(4.0 + 0.6 * m, 85.0)))
    piece = judge_cook(known, {"loin": UNTOUCHED}).now[0]
    verdict = piece.verdict("fsis-meat")
    assert (verdict.verdict, verdict.basis) == ("met", "measured")
    assert verdict.probability >= 0.99
    assert 0.0 < verdict.at_s <= 150 * 60.0


@pytest.mark.kernel
def test_a_probe_is_not_believed_before_the_members_agree():
    """The tip may be off the coldest place, and at first they say that it is."""
    known = at_moment(108, *probe(109, lambda m: min(4.0 + 0.6 * m, 85.0)), *checked("probe check"))
    piece = judge_cook(known, {"loin": UNTOUCHED}).now[0]
    verdict = piece.verdict("fsis-meat")
    assert (verdict.verdict, verdict.basis) == ("not yet", "reckoned")
    assert "coldest place" in verdict.why


@pytest.mark.kernel
def test_a_probe_in_the_air_is_not_believed():
    readings = probe(60, lambda m: 4.0 + 0.2 * m) + [
        Reading(at(m), "probe", "loin", None, 100.0) for m in range(60, 121, 5)
    ]
    piece = judge_cook(at_moment(120, *readings), {"loin": UNTOUCHED}).now[0]
    assert piece.notes
    verdict = piece.verdict("fsis-meat")
    assert verdict.basis == "reckoned" or verdict.verdict != "met"


@pytest.mark.kernel
def test_a_spot_temperature_counts():
    # Late enough that nearly all members are done as well: the tip may be off the coldest place.
    known = at_moment(180, Look(at(179), "loin", None, "spot temperature", 73.0), *checked("spot check"))
    piece = judge_cook(known, {"loin": UNTOUCHED}).now[0]
    assert (piece.verdict("fsis-meat").verdict, piece.verdict("fsis-meat").basis) == ("met", "measured")


@pytest.mark.kernel
def test_one_probe_does_not_speak_for_several_pieces():
    several = reckoning(
        cook(loin(pieces=3), serve_h=6.0), logged(*probe(121, lambda m: min(4.0 + 0.6 * m, 72.0))), now=at(120),
        members=N,
    )  # fmt: skip
    assert all(v.basis != "measured" for piece in judge_cook(several).now for v in piece.verdicts)


@pytest.mark.kernel
def test_time_out_runs_until_it_is_served():
    acts = (Act(at(100), "loin", "took off"), Act(at(100) + timedelta(hours=1), "loin", "served"))
    known = at_moment(170, *acts)
    piece = judge_cook(known, {"loin": UNTOUCHED}).now[0]
    assert piece.verdict("usda-out").verdict in {"met", "cannot tell"}
    reckoned = history_of(known.runs[0], known.sifted.ledger).reckoned
    assert reckoned.end_s == 160 * 60.0
    assert reckoned.over


def outcome(*states):
    n = len(states)
    return Outcome(np.array(states), np.full(n, 60.0), np.full(n, 1.0), "s", "missed", "why", "needs")


def of_members(n, basis="reckoned", weights=None):
    weights = np.full(n, 1.0 / n) if weights is None else np.array(weights)
    return History(basis, None, phases=(Phase.of("cook", 0.0),), weights=weights)


def test_met_takes_all_members_and_missed_nearly_all():
    come_up = rule("fsis-come-up")
    assert settled(come_up, outcome(*[MET] * 100), of_members(100)).verdict == "met"
    almost = settled(come_up, outcome(*[MET] * 99, FAILED), of_members(100))
    assert (almost.verdict, almost.probability, almost.against) == (
        "cannot tell",
        pytest.approx(0.99),
        pytest.approx(0.01),
    )
    assert settled(come_up, outcome(*[FAILED] * 96, *[MET] * 4), of_members(100)).verdict == "missed"
    assert settled(come_up, outcome(*[FAILED] * 94, *[UNSURE] * 6), of_members(100)).verdict == "cannot tell"
    assert settled(come_up, outcome(MET, FAILED), of_members(2, weights=[1.0, 0.0])).verdict == "met"


def test_measured_and_reckoned_together():
    come_up = rule("fsis-come-up")

    def of(basis, state, n=1):
        return settled(come_up, outcome(*[state] * n), of_members(n, basis))

    assert together(of("measured", MET), of("reckoned", MET, 9)).basis == "measured"
    still = together(of("measured", MET), of("reckoned", NOT_YET, 9))
    assert (still.verdict, still.basis) == ("not yet", "reckoned")
    doubted = together(of("measured", MET), of("reckoned", FAILED, 9))
    assert (doubted.verdict, doubted.basis) == ("cannot tell", "reckoned")
    assert "thickest part" in doubted.needs
    assert together(of("measured", FAILED), of("reckoned", MET, 9)).verdict == "missed"
    assert together(of("measured", UNSURE), of("reckoned", MET, 9)).basis == "reckoned"
    assert together(None, of("reckoned", MET, 9)).verdict == "met"


def test_half_an_hour_of_rejected_air_cannot_be_interpolated():
    at_s = np.arange(0.0, 3600.0, 60.0)
    marks = ["measured" if t < 600 or t > 1200 else "rejected" for t in at_s]
    series = Series.of(at_s, np.full(at_s.size, 60.0), marks)
    history = History("measured", series, end_s=float(at_s[-1]))
    # 60 C is 140 F, which asks for 12 min: ten before and forty after, of which only the forty hold together
    verdict = judge_piece("x", Meat("pork", UNTOUCHED), [history]).verdict("fsis-meat")
    assert verdict.verdict == "met"
    assert verdict.at_s > 1200.0 + 720.0
