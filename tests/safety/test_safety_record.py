"""What is foreseen, and the record: who met what by what, what rests on it, and that tampering shows."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.ledger.chain import canonical, digest
from pitreckon.reckon.forecast import reckoning
from pitreckon.safety.forecast import foresee
from pitreckon.safety.foreseen import words_of
from pitreckon.safety.history.fromrun import history_of
from pitreckon.safety.microbes.advice import OVERRULES_NOTHING, forecast_advice
from pitreckon.safety.record.form import check_record, document_of_record
from pitreckon.safety.record.make import record_of
from pitreckon.safety.rules.meat import UNTOUCHED, Handled
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.writers.markdown import markdown_of

pytestmark = pytest.mark.kernel

PLAN = """
[cook]
name = "slow supper"
zone = "UTC"
serve = "2026-10-17 22:00"
[[pit]]
name = "box"
kind = "pellet-cooker"
set = "{set} F"
[[item]]
name = "butt"
cut = "boston-butt"
weight = "9 lb"
pit = "box"
put_on = "2026-10-17 06:00"
"""
ON = datetime(2026, 10, 17, 6, tzinfo=UTC)
INJECTED = {"butt": Handled(injected=True, bladed=False, tumbled=False, rolled=False, stuffed=False)}


def probed(hours: float, climb_k_h: float = 6.0) -> Ledger:
    readings = [
        Reading(ON + timedelta(minutes=10 * n), "probe", "butt", None, 4.0 + climb_k_h * n / 6.0)
        for n in range(int(6 * hours) + 1)
    ]
    return Ledger.of([Act(ON, "butt", "put on"), *readings])


def reckoned(set_f: int, ledger: Ledger, hours: float = 1.0):  # type: ignore[no-untyped-def]
    cook = cook_from_text(PLAN.format(set=set_f), "supper.toml")
    return reckoning(cook, ledger, now=ON + timedelta(hours=hours), members=192)


def test_a_slow_fire_is_foreseen_with_what_to_do() -> None:
    slow = reckoned(175, Ledger.of([Act(ON, "butt", "put on")]))
    (found,) = [each for each in foresee(slow, INJECTED) if each.rule.group == "come-up"]
    assert 0.05 < found.chance < 1.0
    assert found.at_utc is not None
    assert ON + timedelta(hours=5) < found.at_utc < ON + timedelta(hours=20)  # the limit is six hours in the range
    assert found.ways, "a hotter pit helps"
    assert found.ways[0].chance < found.chance
    said, do = words_of(found, lambda at: f"{at:%H:%M}")
    assert "likely to be missed" in said
    assert "hotter" in do
    assert "health department" in do


def test_a_hot_fire_has_nothing_to_say() -> None:
    assert foresee(reckoned(275, Ledger.of([Act(ON, "butt", "put on")])), {"butt": UNTOUCHED}) == ()


@pytest.mark.parametrize("hours", [-3.0, 0.0, 0.01, 2.0, 20.0])
def test_at_any_moment_with_a_second_item_still_to_come(hours: float) -> None:
    more = (
        PLAN
        + '[[item]]\nname = "wings"\ncut = "chicken-wing"\nweight = "3 oz"\npit = "box"\nput_on = "2026-10-17 20:00"\n'
    )
    plan = more.format(set=275)
    for ledger in (Ledger(), Ledger.of([Act(ON, "butt", "put on")])):
        known = reckoning(cook_from_text(plan, "x"), ledger, now=ON + timedelta(hours=hours), members=32)
        assert {each.label for each in foresee(known)} <= {"butt", "wings"}
        assert len(record_of(known, plan, ledger).pieces) == 2


def test_an_item_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="no item 'ham'"):
        foresee(reckoned(275, Ledger()), {"ham": UNTOUCHED})


@pytest.fixture(scope="module")
def made():  # type: ignore[no-untyped-def]
    ledger = probed(8.0)
    return record_of(reckoned(225, ledger, 8.0), PLAN.format(set=225), ledger, INJECTED, signed_by="A. Cook"), ledger


def test_what_was_measured_and_what_was_reckoned_is_told_apart(made) -> None:  # type: ignore[no-untyped-def]
    record, _ = made
    (piece,) = record.pieces
    assert piece.readings > 40
    assert {line.basis for line in piece.lines} >= {"measured", "reckoned"} or {line.basis for line in piece.lines}
    assert piece.done_to_it == "injected"
    assert all(line.source and line.status in {"seen", "memory"} for line in piece.lines)
    assert piece.gaps == ("No gap of more than 30 min between readings.",)
    assert record.entries == 50
    assert len(record.chain.links) == 51, "the settings are a step too"


def test_gaps_are_said() -> None:
    ledger = probed(8.0)
    holed = Ledger.of([e for e in ledger.events if not timedelta(hours=2) < e.at_utc - ON < timedelta(hours=4)])
    record = record_of(reckoned(225, holed, 8.0), "plan", holed, INJECTED)
    assert any("No reading for 2 h" in gap for gap in record.pieces[0].gaps)
    bare = Ledger.of([Act(ON, "butt", "put on")])
    record = record_of(reckoned(225, bare, 8.0), "plan", bare)
    assert "Nothing was measured" in record.pieces[0].gaps[0]
    assert "nobody has said" in record.pieces[0].done_to_it


def test_a_record_holds_against_what_it_was_made_of(made) -> None:  # type: ignore[no-untyped-def]
    record, ledger = made
    document = json.loads(json.dumps(document_of_record(record)))
    assert check_record(document, PLAN.format(set=225), ledger) == ()


def test_one_digit_of_one_reading_is_found(made) -> None:  # type: ignore[no-untyped-def]
    record, ledger = made
    document = json.loads(json.dumps(document_of_record(record)))
    events = list(ledger.events)
    k = next(n for n, event in enumerate(events) if isinstance(event, Reading) and n > 10)
    events[k] = replace(events[k], value_c=events[k].value_c + 0.1)
    (found,) = check_record(document, PLAN.format(set=225), Ledger.of(events))
    assert "was changed" in found.words
    assert "probe" in found.words


def test_a_record_that_was_rewritten_is_found(made) -> None:  # type: ignore[no-untyped-def]
    record, ledger = made
    document = json.loads(json.dumps(document_of_record(record)))
    for change in ("pieces", "signed_by", "at"):
        forged = copy.deepcopy(document)
        forged[change] = [] if change == "pieces" else "somebody else"
        assert any("record itself" in each.words for each in check_record(forged, PLAN.format(set=225), ledger)), change
    forged = copy.deepcopy(document)
    del forged["chain"]["entries"][4]
    assert any(each.fault for each in check_record(forged, PLAN.format(set=225), ledger))


@pytest.mark.parametrize("odd", [[], {}, {"kind": "pitreckon safety record", "version": 99}, {"kind": "x"}, "text"])
def test_what_is_no_record_is_refused(odd: object) -> None:
    with pytest.raises(InputError):
        check_record(odd, "plan", Ledger())


def test_the_sheet_has_its_cautions_and_never_promises(made) -> None:  # type: ignore[no-untyped-def]
    record, _ = made
    text = markdown_of(safety_sheet(record))
    assert "A. Cook" in text
    assert "MEASURED" in text
    assert "carbon monoxide" in text
    assert "health department" in text
    assert record.chain.head[:8] in text
    for word in ("validated", "certified", "guaranteed safe"):
        assert word not in text.lower()


# --- what models say beside the rules


def test_models_advise_beside_the_rules_and_overrule_none() -> None:
    """A slow, injected butt: the figures are those of the members by the models themselves, and no verdict moves."""
    slow = reckoned(175, probed(1.0))
    made = record_of(slow, PLAN.format(set=175), probed(1.0), INJECTED)
    (piece,) = made.advice
    assert [line.does for line in piece.lines] == ["killed", "killed", "grown", "grown", "grown"]
    (track,) = slow.runs[0].tracks
    history = history_of(track, slow.sifted.ledger).reckoned
    core, surface = (each.until(history.end_s) for each in (history.core, history.surface))
    assert core.at_s[-1] == history.end_s == 16 * 3600.0  # to its serving, not to the end of what was followed
    said = forecast_advice(core.at_s, core.temp_c, surface.temp_c, meat="pork", intact=False, weights=history.weights)
    grown = [line for line in piece.lines if line.does == "grown"]
    assert [line.worst for line in grown] == [each.log10.worst for each in said.growth]
    assert {line.where for line in grown} == {"middle"}
    assert grown[0].worst > 0.5, "a middle that warms so slowly grows"
    # no rule asks it
    assert replace(made, advice=()).pieces == made.pieces
    ours = document_of_record(made)
    assert ours["advice"]["standing"] == OVERRULES_NOTHING
    assert ours["advice"]["pieces"][0]["lines"][2]["log10"]["worst"] == pytest.approx(grown[0].worst, abs=1e-4)
    assert json.loads(json.dumps(ours, allow_nan=False)) == ours
    paper = markdown_of(safety_sheet(made))
    assert OVERRULES_NOTHING in paper
    assert "Staphylococcus aureus in the come-up, at the middle" in paper
    assert paper.index("Beside the rules") > paper.index("Done to the meat")


def test_a_piece_that_nobody_has_spoken_of_counts_as_not_intact() -> None:
    hot = reckoned(275, Ledger.of([Act(ON, "butt", "put on")]))
    unsaid, said = (
        record_of(hot, PLAN.format(set=275), Ledger(), handled).advice[0] for handled in (None, {"butt": UNTOUCHED})
    )
    assert [line.where for line in unsaid.lines[2:]] == ["middle"] * 3
    assert said.lines[2].where == "surface"
    assert any("Nobody has said" in note for note in unsaid.notes)
    assert not any("Nobody has said" in note for note in said.notes)


def test_a_record_of_before_the_advice_still_holds() -> None:
    """Its seal and its chain are over what it has; a key that it lacks is no fault, one that was taken out is."""
    ledger = probed(2.0)
    plan = PLAN.format(set=250)
    ours = document_of_record(record_of(reckoned(250, ledger, 2.0), plan, ledger))
    body = {key: value for key, value in ours.items() if key not in {"advice", "seal"}}
    old = body | {"seal": digest(canonical(body))}
    assert check_record(old, plan, ledger) == ()
    assert check_record(ours, plan, ledger) == ()
    assert check_record(body | {"seal": ours["seal"]}, plan, ledger) != ()
