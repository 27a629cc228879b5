"""What went wrong: reports are read, the trade's lore is found again, and the odds are what they say they are.

Trade lore is common practice, no source. The rest checks the reckoning against readers made up by the same model with
other seeds: whether it tells apart what can be told apart, and whether its odds come true.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from validation.readers.selfcheck import simulated_readers

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.lessons.diagnosis.causes import causes, changes
from pitreckon.lessons.diagnosis.complaints import Usual, word_chances
from pitreckon.lessons.diagnosis.diagnose import Why, weigh, why
from pitreckon.lessons.diagnosis.practice import usual_practice
from pitreckon.lessons.diagnosis.report import FAULTS, Report, report_from_parts, report_from_text
from pitreckon.lessons.diagnosis.run import Built, run_all, sugar_dose
from pitreckon.section import material


def told(faults: str | Sequence[str], **did: str) -> Why:
    words = (faults,) if isinstance(faults, str) else tuple(faults)
    return why(report_from_parts(did, words, "the test"))


def first(found: Why, many: int = 1) -> set[str]:
    return {odds.cause.key for odds in found.causes[:many]}


WHOLE = """
came_out = ["Too dark", "raw-near-the-bone"]
[did]
cut = "St. Louis ribs"
weight = "2 lb 12 oz"
thickness = "unknown"
set = "275 F"
on = "5h"
wrap = "foil"
wrapped_after = "2h"
thermometer = "one"
pulled_at = "195 F"
sauced_for = "none"
altitude = "5000 ft"
"""


def test_a_report_is_read_in_si() -> None:
    report = report_from_text(WHOLE, "report.toml")
    assert report.faults == ("too dark", "raw near the bone")
    assert report.cut == "st-louis-ribs"
    assert report.mass_kg == pytest.approx(44 * 0.028349523125)  # avoirdupois ounce, NIST SP 811
    assert report.set_c == pytest.approx(135.0)
    assert (report.on_s, report.wrapped_after_s, report.sauced_s) == (18000.0, 7200.0, 0.0)
    assert report.thickness_m is None
    assert report.altitude_m == pytest.approx(1524.0)


@pytest.mark.parametrize(
    ("old", "new", "where", "trouble"),
    [
        ('"Too dark"', '"burnt"', "came_out", "no fault"),
        ('"Too dark"', '"mushy"', "came_out", "both"),
        ('["Too dark", "raw-near-the-bone"]', "[]", "came_out", "nothing says"),
        ('"St. Louis ribs"', '"unicorn"', "cut", "no cut"),
        ('cut = "St. Louis ribs"\n', "", "cut", "missing"),
        ('"275 F"', '"275"', "set", ""),
        ('"275 F"', '"900 F"', "set", "set is"),
        ('"5h"', '"1h"', "on", "on for"),
        ('"one"', '"none"', "pulled_at", "no thermometer"),
        ('"foil"', '"none"', "wrap", "not wrapped"),
        ("sauced_for", "glazed_for", "glazed_for", "no key"),
        ("[did]", "[done]", "done", "no key"),
        ('"195 F"', '"195 G"', "pulled_at", ""),
        ('"one"', '"three"', "thermometer", "thermometer"),
    ],
)
def test_a_bad_report_is_one_clear_message(old: str, new: str, where: str, trouble: str) -> None:
    assert old in WHOLE
    with pytest.raises(InputError) as caught:
        report_from_text(WHOLE.replace(old, new), "report.toml")
    place = caught.value.place
    assert place.file == "report.toml"
    assert where in (place.field or "")
    assert place.line is not None
    assert trouble in caught.value.trouble
    assert caught.value.remedy


def test_the_data_hang_together() -> None:
    assert sum(each.share for each in causes().values()) == pytest.approx(1.0)
    assert all(set(each.signs) <= set(FAULTS) for each in causes().values())
    assert all(each.against and set(each.against) <= set(FAULTS) for each in changes().values())
    for fault in FAULTS:  # each has a cause and a change
        assert any(fault in each.signs for each in causes().values())
        assert any(fault in each.against for each in changes().values())


def test_a_glaze_browns_before_a_rub() -> None:
    """Its fructose from 105 degC on, a rub's dry sugars at 150 to 170: the table of onsets."""
    time_s, n = np.arange(0.0, 3600.0, 300.0), 40
    held, dry, much = np.full((time_s.size, n), 125.0), np.zeros((time_s.size, n)), np.ones(n)
    glazed = np.ones(held.shape, dtype=bool)
    rub, glaze = sugar_dose(time_s, held, dry, ~glazed, much, 1), sugar_dose(time_s, held, dry, glazed, much, 1)
    assert (glaze > 1.5 * rub).all()
    assert (sugar_dose(time_s, held, dry, ~glazed, 0.0 * much, 1) == 0.0).all()


@pytest.mark.kernel
@pytest.mark.parametrize("cut", ["back-ribs", "chicken-thigh"])
def test_a_piece_done_as_it_should_be_is_seldom_found_fault_with(cut: str) -> None:
    report = Report(cut=cut, faults=("tough",))
    built = Built.of(report, 48, 5)
    plates = run_all(built, [(usual_practice(built.cut, report, 48), built.z)])[0]
    chances = word_chances(built.cut, plates, Usual.of(plates))
    assert all(float(chance.mean()) < 0.15 for chance in chances.values())


@pytest.mark.kernel
def test_a_coarse_section_does() -> None:
    """Half the cells each way move what is felt by less than a tenth of what readers' errors are."""
    report = Report(cut="st-louis-ribs", faults=("tough",), pit="kettle", set_c=135.0)
    built = Built.of(report, 32, 2)
    fine = replace(built, track=replace(built.track, section=material.section_of(built.cut)))
    practice = usual_practice(built.cut, report, 32)
    coarse, whole = (run_all(each, [(practice, each.z)])[0] for each in (built, fine))
    assert fine.track.section.volume.size > 3 * built.track.section.volume.size
    assert np.median(coarse.level) == pytest.approx(np.median(whole.level), abs=0.01)
    assert np.median(coarse.loss) == pytest.approx(np.median(whole.loss), abs=0.01)
    assert np.median(coarse.off_s) == pytest.approx(np.median(whole.off_s), rel=0.03)


LORE = [
    ("tough", {"cut": "st-louis-ribs", "set": "275 F", "pit": "kettle", "on": "3h"}, {"off early"}, "by feel"),
    ("mushy", {"cut": "st-louis-ribs", "set": "275 F", "pit": "kettle", "on": "8h"}, {"off late"}, "by feel"),
    (
        ("too pale", "crust soft"),
        {"cut": "st-louis-ribs", "set": "275 F", "pit": "kettle", "wrap": "foil", "wrapped_after": "45 min"},
        {"wrapped early"},
        "wrap at colour",
    ),
    ("too dark", {"cut": "st-louis-ribs", "set": "275 F", "wrap": "none"}, {"wrapped late"}, "wrap at colour"),
    ("bitter", {"cut": "back-ribs", "sauced_for": "none", "sugar": "none"}, {"dirty smoke"}, "clean fire"),
    ("salty", {"cut": "chicken-thigh", "salt": "24 g/kg"}, {"salt heavy"}, "weigh salt"),
    ("raw near the bone", {"cut": "chicken-thigh", "set": "325 F", "on": "50 min"}, {"off early"}, "by feel"),
    (
        ("too dark", "dry"),
        {"cut": "chicken-thigh", "set": "325 F", "pit": "kettle", "on": "2h", "thermometer": "none"},
        {"near fire", "pit hot", "off late"},  # two hours are long for thighs at 325 degF
        None,
    ),
]


@pytest.mark.kernel
@pytest.mark.parametrize(("faults", "did", "cause", "change"), LORE, ids=[str(each[0]) for each in LORE])
def test_the_lore_of_the_trade(
    faults: str | tuple[str, ...], did: dict[str, str], cause: set[str], change: str | None
) -> None:
    """Common practice, no source: what a pit master would say of such a report."""
    found = told(faults, **did)
    assert cause & first(found, 2)
    assert sum(odds.chance for odds in found.causes) == pytest.approx(1.0)
    if change is not None:
        assert found.change is not None
        assert found.change.key == change
        assert found.change.again < found.again


@pytest.mark.kernel
def test_hot_and_cold_pits_do_what_they_are_said_to() -> None:
    """The odds of a hot pit rise when it is dark and dry, and fall when it is pale and tough (common practice)."""
    weighed = weigh(Report(cut="chicken-half", faults=("tough",)))

    def chance(key: str, *faults: str) -> float:
        return next(odds.chance for odds in weighed.odds(faults) if odds.cause.key == key)

    assert chance("pit hot", "too dark", "dry") > 3.0 * chance("pit hot", "too pale", "raw near the bone")
    # 1.94 times with the calibrated laws, which colour a half chicken sooner
    assert chance("pit cool", "too pale", "raw near the bone") > 1.8 * chance("pit cool", "too dark", "dry")


@pytest.mark.kernel
def test_raw_meat_is_told_what_the_authority_says() -> None:
    """FSIS safe minimum internal temperature chart: 165 F for all poultry, 145 F and 3 min rest for whole cuts."""
    bird = told("raw near the bone", cut="chicken-thigh")
    assert "165 °F" in bird.cautions[0]
    pork = told("raw near the bone", cut="pork-loin")
    assert "145 °F" in pork.cautions[0]
    assert "3 min of rest" in pork.cautions[0]
    for found in (bird, pork):
        assert "Do not eat" in found.cautions[0]
        assert "not a promise of safety" in found.cautions[-1]
    assert len(told("salty", cut="chicken-thigh").cautions) == 1


@pytest.mark.kernel
def test_what_is_told_rules_out() -> None:
    bare = first(told("tough", cut="back-ribs", wrap="none", thermometer="none"), 20)
    assert not {"wrapped early", "wet wrap", "probe wrong"} & bare
    assert "probe wrong" in first(told("tough", cut="back-ribs", thermometer="one"), 20)


@pytest.mark.kernel
def test_the_same_seed_the_same_answer() -> None:
    one, two = (told("dry", cut="chicken-thigh", on="2h") for _ in range(2))
    assert one == two


def test_too_few_members_are_refused() -> None:
    with pytest.raises(InputError, match="too small"):
        why(Report(cut="back-ribs", faults=("dry",)), members=4)


@pytest.mark.kernel
@pytest.mark.slow
def test_the_cause_is_found_where_it_can_be_and_the_odds_come_true() -> None:
    """Held-out readers who tell nothing but the words: other seeds for pieces, pits, strengths and words.

    Of those whose cause can be told at all (who knew the very piece would give it even odds) four in five are to have
    it among the first two; as many of each cause and cut. Odds said to be so much have to come true as often, weighing
    readers by the share of their cause.
    """
    hits, said, was, weight = [], [], [], []
    for cut in ("st-louis-ribs", "boston-butt", "chicken-thigh"):
        weighed = weigh(Report(cut=cut, faults=("tough",), pit="kettle"))
        for reader in simulated_readers(cut, 100, 991, tells=False):
            odds = weighed.odds(reader.report.faults)
            ranked = [one.cause.key for one in odds]
            if reader.clear and reader.cause != "nothing odd":
                hits.append(reader.cause in ranked[:2])
            said += [one.chance for one in odds]
            was += [one.cause.key == reader.cause for one in odds]
            weight += [causes()[reader.cause].share] * len(odds)
    assert len(hits) > 400
    assert np.mean(hits) >= 0.8  # measured: 83 % of 609; with 60 and 40 a cause, 78 % of 188
    chance, true, share = np.array(said), np.array(was, dtype=float), np.array(weight)
    for low, high in ((0.0, 0.05), (0.05, 0.15), (0.15, 0.3), (0.3, 0.5)):
        here = (chance >= low) & (chance < high)
        assert here.sum() > 150
        assert np.average(true[here], weights=share[here]) == pytest.approx(
            np.average(chance[here], weights=share[here]), abs=0.08
        )
    likely = chance >= 0.5
    assert np.average(true[likely], weights=share[likely]) > 0.45


@pytest.mark.kernel
@pytest.mark.slow
def test_readers_who_tell_what_they_did_are_understood_better() -> None:
    """Where what they tell bears on it: the pit, the place, the piece. Mean log odds of the true cause, 36 readers.

    Over all causes telling helps by 0.04 with a standard error of 0.11 (113 readers): who sauced early is understood
    less well, since a reading told at the end counts as one from before the sauce.
    """
    told = {"pit hot", "pit cool", "near fire", "thick"}
    dealt = [each for each in simulated_readers("chicken-thigh", 40, 77) if each.cause != "nothing odd"][::2]
    made = [each for each in dealt if each.cause in told]
    by_words = weigh(Report(cut="chicken-thigh", faults=("tough",), pit="kettle", set_c=160.0))

    def chance(odds, cause: str) -> float:  # type: ignore[no-untyped-def]
        return next((each.chance for each in odds if each.cause.key == cause), 1e-3)

    alone = [np.log(chance(by_words.odds(each.report.faults), each.cause)) for each in made]
    whole = [np.log(chance(weigh(each.report).odds(each.report.faults), each.cause)) for each in made]
    assert len(made) > 30
    assert np.mean(whole) > np.mean(alone) + 0.15  # measured: 0.35


@pytest.mark.kernel
def test_cuts_of_every_shape_can_be_asked_about() -> None:
    for cut in (*list(catalog.cuts())[::4], "turkey-breast"):  # racks, blocks, a drum, slabs
        assert weigh(Report(cut=cut, faults=("dry",)), members=8).odds(("dry",))
