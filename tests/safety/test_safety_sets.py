"""Whose rules: a set is swapped whole, only what was read governs, and every text is in the reader's unit."""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from datetime import timedelta

import pytest
from tests.safety.test_safety_doubts import ON, PLAN, curve
from tests.safety.test_safety_record import INJECTED, probed, reckoned
from tests.safety.test_safety_record import PLAN as SUPPER

from pitreckon.cook.read import cook_from_text
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger
from pitreckon.ledger.chain import canonical, chain_of, digest
from pitreckon.reckon.forecast import reckoning
from pitreckon.safety.forecast import do_for
from pitreckon.safety.history.history import History, Phase
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.record.form import check_record, document_of_record
from pitreckon.safety.record.kept import entry_order
from pitreckon.safety.record.make import record_of
from pitreckon.safety.record.words import verdict_words
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import INTACT, STATES, UNTOUCHED, Handled, Meat
from pitreckon.safety.rules.rule import SETS, rule, rules
from pitreckon.safety.wording import told
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.markdown import markdown_of


def heated(to_c: float, hours: float = 4.0) -> History:
    n = int(60 * hours)
    temps = [4.0 + (to_c - 4.0) * min(k / (0.9 * n), 1.0) for k in range(n + 1)]
    phases = (Phase.of("cook", 0.0, 60.0 * n),)
    return History.measured([60.0 * k for k in range(n + 1)], temps, phases=phases)


def cooked(meat: Meat, to_c: float, which: str) -> str:
    return judge_piece("x", meat, [heated(to_c)], which=which).group("cooking").verdict


def test_only_what_was_read_governs() -> None:
    for which in SETS:
        assert all(each.status == "seen" for each in rules(which) if each.governs), which
        assert len({each.key for each in rules(which)}) == len(rules(which))
    keys = [{each.key for each in rules(which)} for which in SETS]
    assert not keys[0] & keys[1] and not keys[1] & keys[2] and not keys[0] & keys[2]  # noqa: PT018  none is mixed
    with pytest.raises(InputError, match="no rules of 'france'"):
        rules("france")


@pytest.mark.parametrize("which", list(SETS))
@pytest.mark.parametrize("animal", ["pork", "beef", "lamb", "chicken", "turkey", "duck"])
@pytest.mark.parametrize("state", STATES)
def test_every_meat_has_a_rule_of_cooking_that_decides(which: str, animal: str, state: str) -> None:
    handled = {INTACT: UNTOUCHED, "non-intact": Handled(injected=True), "ground": Handled(ground=True)}[state]
    assert cooked(Meat(animal, handled), 95.0, which) == "met"
    assert cooked(Meat(animal, handled), 45.0, which) != "met"


def test_canada_by_new_brunswicks_schedule() -> None:
    """Schedule A of Regulation 2009-138: beef 63, pork 71, ground 71, pieces of poultry 74, whole birds 82 degC."""
    beef, pork = Meat("beef", UNTOUCHED), Meat("pork", UNTOUCHED)
    wing, half = Meat("chicken", UNTOUCHED, cut="chicken-wing"), Meat("chicken", UNTOUCHED, cut="chicken-half")
    for meat, limit_c in (
        *((beef, 63.0), (pork, 71.0), (Meat("beef", Handled(ground=True)), 71.0), (wing, 74.0), (half, 82.0)),
        (Meat("beef", Handled(bladed=True)), 71.0),
    ):
        assert cooked(meat, limit_c + 0.1, "canada") == "met", (meat, limit_c)
        assert cooked(meat, limit_c - 0.1, "canada") != "met", (meat, limit_c)
        assert cooked(meat, limit_c - 2.0, "canada") == "not met", (meat, limit_c)
    cooling = rule("nb-cooling", "canada").stages
    assert [(s.from_c, s.to_c, s.most_s) for s in cooling] == [(60.0, 20.0, 7200.0), (60.0, 4.0, 21600.0)]
    assert rule("nb-hot-holding", "canada").at_least_c == 60.0
    assert judge_piece("x", half, [heated(80.0)]).group("cooking").verdict == "met"  # and in the United States


def test_the_united_kingdom_by_its_law_and_guidance() -> None:
    """70 degC for 2 min (FSA); hot at 63 degC (Wales, Scotland); cold at 8 degC (England, Wales)."""
    meat = Meat("beef", Handled(ground=True))
    assert cooked(meat, 70.5, "uk") == "met"
    assert cooked(meat, 69.5, "uk") == "not met"  # however long: no row below 70 was read in the agency's own text
    assert rule("uk-hot-holding", "uk").at_least_c == 63.0
    assert rule("uk-cold-holding", "uk").at_most_c == 8.0
    assert not [each for each in rules("uk") if each.kind in {"cooling", "come-up"}]


def test_no_set_is_stricter_everywhere() -> None:
    """So none is mixed with another: each is laxer than another somewhere."""
    assert rule("nb-hot-holding", "canada").at_least_c > rule("food-code-hot-holding").at_least_c
    assert rule("uk-hot-holding", "uk").at_least_c > rule("nb-hot-holding", "canada").at_least_c
    assert rule("uk-cold-holding", "uk").at_most_c > rule("food-code-cold-holding").at_most_c
    assert not [each for each in rules("canada") if each.group == "come-up"]


@pytest.mark.kernel
def test_the_cook_chooses_in_the_cook_file() -> None:
    text = PLAN.format(start="").replace('zone = "UTC"', 'zone = "UTC"\nrules = "Canada"')
    cook = cook_from_text(text, "x.toml")
    assert cook.rules == "canada"
    assert cook_from_text(cook_text(cook), "y.toml").rules == "canada"
    assert cook_from_text(PLAN.format(start=""), "x.toml").rules == "us"
    assert "rules" not in cook_text(cook_from_text(PLAN.format(start=""), "x.toml"))
    with pytest.raises(InputError, match="rules"):
        cook_from_text(text.replace("Canada", "atlantis"), "x.toml")
    ledger = Ledger.of([Act(ON, "butt", "put on"), *curve(4.0, 93.0, 9.0)])
    known = reckoning(cook, ledger, now=ON + timedelta(hours=9), members=32, threads=1)
    keys = {each.rule.key for each in judge_cook(known, {"butt": UNTOUCHED}).now[0].verdicts}
    assert "nb-pork" in keys
    assert "fsis-meat" not in keys
    record = record_of(known, text, ledger)
    assert record.rules == "canada"
    assert document_of_record(record)["rules"] == "canada"
    assert "Canada" in markdown_of(safety_sheet(record))


@pytest.mark.kernel
def test_every_text_is_in_the_readers_unit() -> None:
    ledger = probed(8.0)
    made = record_of(reckoned(225, ledger, 8.0), "plan", ledger, INJECTED)
    metric = markdown_of(safety_sheet(made, reader=Reader(made.zone, degrees="C")))
    usual = markdown_of(safety_sheet(made))
    assert not re.search(r"[0-9] ?°?F\b", metric), re.findall(r".{20}[0-9] ?°?F\b.{10}", metric)
    assert not re.search(r"[0-9] ?°?C\b", usual)
    assert "10 and 54.4 °C" in metric
    assert "50 and 130 °F" in usual
    for degrees, other in (("C", "F"), ("F", "C")):
        document = json.dumps(document_of_record(made, degrees), ensure_ascii=False)
        texts = document.partition('"chain"')[0]
        assert "\\u0002" not in texts
        assert not re.search(rf"[0-9] ?°?{other}\b", texts)


@pytest.mark.parametrize("which", list(SETS))
def test_rule_texts_and_what_to_do_are_in_the_readers_unit(which: str) -> None:
    for each in rules(which):
        words = [told(do, "C") for do in do_for(each)]
        assert not any(re.search(r"[0-9] ?°?F\b", text) for text in words)
    piece = judge_piece("x", Meat("pork", UNTOUCHED), [heated(60.0)], which=which)
    assert piece.verdicts
    for verdict in piece.verdicts:
        assert not re.search(r"[0-9] ?°?F\b", verdict_words(verdict, "C"))
        assert not re.search(r"[0-9] ?°?C\b", verdict_words(verdict, "F"))


@pytest.mark.kernel
def test_a_record_of_the_first_version_is_checked_as_it_was() -> None:
    ledger, plan = probed(8.0), SUPPER.format(set=225)
    made = document_of_record(record_of(reckoned(225, ledger, 8.0), plan, ledger, INJECTED))
    chain = chain_of(plan, entry_order(ledger))  # of the entries alone, as versions 1 and 2 had it
    entries = [asdict(link) for link in chain.links]
    for version, without in ((1, {"rules", "degrees"}), (2, set[str]())):
        lacks = {"seal", "kept", "settings", "house"} | without
        old = {key: value for key, value in made.items() if key not in lacks} | {"version": version}
        old["chain"] = {"algorithm": "SHA-256", "plan": chain.plan, "entries": entries, "head": chain.head}
        old |= {"seal": digest(canonical(old))}
        assert check_record(json.loads(json.dumps(old)), plan, ledger) == ()
        old["signed_by"] = "somebody else"
        assert check_record(old, plan, ledger)
