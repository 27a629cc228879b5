"""What must hold of every history: hotter and longer, later, coarser, and with less known."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.safety.history.bounds import LONGEST_GAP_S
from pitreckon.safety.history.history import MEASURED, MISSING, REJECTED, History, Phase, Series
from pitreckon.safety.rules.judge import judge_piece
from pitreckon.safety.rules.meat import UNTOUCHED, Handled, Meat
from pitreckon.safety.rules.rule import rules

HOUR = 3600.0
MEATS = st.sampled_from(
    [
        Meat("pork", Handled(injected=True), air_c=20.0),
        Meat("beef", UNTOUCHED, air_c=35.0),
        Meat("chicken"),
        Meat("turkey", fat_percent=3.0),
        Meat("beef", Handled(ground=True), air_c=20.0),
        Meat("mixed", marked=True),
    ]
)
COOKING = {rule.key for rule in rules() if rule.kind == "dwell"}
DECISIVE = {"met", "missed", "not met"}


@st.composite
def days(draw):
    """A piece's day as nature has it: up without a fall while it cooks, down without a rise while it stands or cools.

    Returns a function of time to (middle, face) [degC], and the phases.
    """
    start = draw(st.floats(1.0, 9.0))
    top = draw(st.floats(45.0, 97.0))
    cook_h = draw(st.floats(1.5, 14.0))
    bend = draw(st.floats(0.6, 2.5))
    stall = draw(st.floats(0.0, 0.6))
    rest_h, hold_h, cool_h = draw(st.floats(0.2, 2.0)), draw(st.floats(0.5, 3.0)), draw(st.floats(3.0, 9.0))
    held_f = draw(st.floats(0.8, 1.0))
    fall_h = draw(st.floats(0.5, 3.0))
    ends = np.cumsum([cook_h, rest_h, hold_h, cool_h]) * HOUR

    def middle(at_s):
        way = np.clip(at_s / ends[0], 0.0, 1.0)
        flat = np.where(way > 0.6, np.maximum(0.6, (way - 0.6 * stall) / (1 - 0.6 * stall)), way) if stall else way
        up = start + (top - start) * flat**bend
        kept = 10.0 + (top - 10.0) * held_f ** ((at_s - ends[0]) / (ends[2] - ends[0]))
        end_c = 10.0 + (top - 10.0) * held_f
        down = 2.0 + (end_c - 2.0) * np.exp(-(at_s - ends[2]) / (fall_h * HOUR))
        return np.where(at_s <= ends[0], up, np.where(at_s <= ends[2], kept, down))

    def face(at_s):
        lead = np.where(at_s <= ends[0], 12.0 * np.clip(at_s / 1800.0, 0.0, 1.0), -3.0)
        return middle(at_s) + np.where(at_s <= ends[0], lead, np.maximum(-3.0, 2.0 - middle(at_s)))

    edges = [0.0, *ends.tolist()]
    kinds = ("cook", "rest", "hold", "cool")
    phases = tuple(Phase.of(kind, a, b) for kind, a, b in zip(kinds, edges[:-1], edges[1:], strict=True))
    return middle, face, phases, float(ends[-1])


def history(day, every_s, *, shift=0.0, both=True, first=0.0):
    middle, face, phases, end_s = day
    at_s = np.arange(first, end_s, every_s)
    at_s = np.append(at_s, end_s)
    at_s = at_s[np.append(True, np.diff(at_s) > 1e-6)]
    surface = Series.of(at_s, face(at_s) + shift) if both else None
    soon = np.diff(middle(np.arange(0.0, 1810.0, 10.0))) / 10.0
    return History(
        "measured", Series.of(at_s, middle(at_s) + shift), surface=surface, phases=phases, end_s=end_s, over=True,
        warms_k_per_s=float(soon.max()),
    )  # fmt: skip


def words(of, meat):
    return {v.rule.key: v.verdict for v in judge_piece("x", meat, [of]).verdicts}


@settings(max_examples=examples(60))
@given(days(), MEATS, st.sampled_from([1800.0, 900.0, 300.0]), st.floats(0.0, 1.0))
def test_sampled_every_half_hour_it_says_the_same_or_that_it_cannot(day, meat, every_s, first):
    assert every_s <= LONGEST_GAP_S
    fine = words(history(day, 10.0), meat)
    coarse = words(history(day, every_s), meat)
    for key, said in coarse.items():
        if said in DECISIVE:
            assert said == fine[key] or fine[key] == "cannot tell", key
        if said == "met":
            assert fine[key] == "met", key
    late = words(history(day, every_s, first=first * every_s), meat)  # the first reading is not at put-on
    for key, said in late.items():
        if said == "met":
            assert fine[key] == "met", key


@settings(max_examples=examples(60))
@given(days(), MEATS, st.floats(0.0, 15.0))
def test_hotter_never_turns_met_into_not_met(day, meat, shift):
    before, after = words(history(day, 120.0), meat), words(history(day, 120.0, shift=shift), meat)
    assert COOKING & before.keys()
    for key in COOKING & before.keys():
        assert before[key] != "met" or after[key] == "met", key


@settings(max_examples=examples(60))
@given(days(), MEATS, st.floats(1.0, 3.0))
def test_longer_never_turns_met_into_not_met(day, meat, factor):
    """The whole day drawn out in time: every dwell gets longer."""
    middle, face, phases, end_s = day

    def slower(of):
        return lambda at_s: of(np.asarray(at_s) / factor)

    longer = (
        slower(middle),
        slower(face),
        tuple(Phase.of(p.kind, p.begin_s * factor, p.end_s * factor) for p in phases),
        end_s * factor,
    )
    before, after = words(history(day, 120.0), meat), words(history(longer, 120.0), meat)
    assert COOKING & before.keys()
    for key in COOKING & before.keys():
        assert before[key] != "met" or after[key] == "met", key


@settings(max_examples=examples(60))
@given(st.floats(0.3, 4.0), st.floats(1.0, 4.0), st.sampled_from([10.0, 300.0, 1200.0]))
def test_later_cooling_never_turns_missed_into_met(fall_h, factor, every_s):
    def cooled(slow):
        end_s = 14 * HOUR
        at_s = np.arange(0.0, end_s, every_s)
        core = 2.0 + 70.0 * np.exp(-at_s / (fall_h * slow * HOUR))
        return History(
            "measured", Series.of(at_s, core), phases=(Phase.of("cool", 0.0, end_s),), end_s=end_s, over=True
        )

    before, after = words(cooled(1.0), Meat("pork")), words(cooled(factor), Meat("pork"))
    order = {"met": 0, "cannot tell": 1, "missed": 2}
    for key in ("food-code-cooling", "fsis-cooling-1"):
        assert after[key] != "met" or before[key] == "met", key
        assert not (before[key] == "missed" and after[key] == "met"), key
        assert order[after[key]] >= order[before[key]] or before[key] == "cannot tell"


@settings(max_examples=examples(80))
@given(days(), MEATS, st.data())
def test_missing_data_never_counts_as_met(day, meat, data):
    """Readings taken away, marked or made no number: nothing is met that all of them do not meet."""
    whole = history(day, 60.0)
    fine = words(whole, meat)
    core, surface = whole.core, whole.surface
    n = core.at_s.size
    marks = np.full(n, MEASURED, dtype="<U9")
    temps, faces = core.temp_c[:, 0].copy(), surface.temp_c[:, 0].copy()
    for _ in range(data.draw(st.integers(1, 5))):
        a = data.draw(st.integers(0, n - 1))
        b = data.draw(st.integers(a + 1, min(n, a + 1 + data.draw(st.sampled_from([1, 5, 45, 200, 600])))))
        how = data.draw(st.sampled_from(["nan", "rejected", "missing"]))
        if how == "nan":
            temps[a:b], faces[a:b] = np.nan, np.nan
        else:  # a value that is not to be used is as hot as it likes
            temps[a:b] = faces[a:b] = data.draw(st.sampled_from([-20.0, 62.0, 95.0]))
            marks[a:b] = REJECTED if how == "rejected" else MISSING
    holed = History(
        "measured",
        Series.of(core.at_s, temps, marks.tolist()),
        surface=Series.of(core.at_s, faces, marks.tolist()),
        phases=whole.phases,
        end_s=whole.end_s,
        over=True,
        warms_k_per_s=whole.warms_k_per_s,
    )
    left = words(holed, meat)
    assert left.keys() == fine.keys()
    assert left
    for key, said in left.items():
        if said == "met":
            assert fine[key] == "met", key
        if said in {"missed", "not met"}:
            assert fine[key] != "met", key


@settings(max_examples=examples(40))
@given(days(), MEATS, st.floats(0.1, 1.0))
def test_what_was_met_stays_met_as_the_day_goes_on(day, meat, share):
    whole = history(day, 120.0)
    so_far, all_of_it = words(whole.until(share * whole.end_s), meat), words(whole, meat)
    assert so_far
    for key, said in so_far.items():
        if key in COOKING and said == "met":
            assert all_of_it[key] == "met", key
        if said in {"missed", "not met"}:
            assert all_of_it[key] == said, key


@settings(max_examples=examples(30))
@given(st.lists(days(), min_size=2, max_size=5), MEATS)
def test_members_come_out_as_each_alone(several, meat):
    """An ensemble of equal weights has the share of its members that meet it alone; it is met only if each would be."""
    end_s = min(day[3] for day in several)
    at_s = np.arange(0.0, end_s, 300.0)
    cores = np.stack([day[0](at_s) for day in several], axis=1)
    faces = np.stack([day[1](at_s) for day in several], axis=1)
    n = len(several)
    phases = (Phase.of("cook", 0.0, end_s * 0.6), Phase.of("hold", end_s * 0.6, end_s * 0.9))

    def of(which):
        core, surface = (Series.of(at_s, x[:, which], "reckoned") for x in (cores, faces))
        weights = np.full(core.members, 1.0 / core.members)
        return History("reckoned", core, surface=surface, phases=phases, end_s=end_s, over=True, weights=weights)

    together = {v.rule.key: v for v in judge_piece("x", meat, [of(slice(None))]).verdicts}
    alone = [{v.rule.key: v for v in judge_piece("x", meat, [of([k])]).verdicts} for k in range(n)]
    assert together
    for key, verdict in together.items():
        met = [each[key].verdict == "met" for each in alone]
        as_they_are = np.mean([each[key].probability for each in alone])
        assert abs(verdict.probability - as_they_are) < 1e-9, key
        assert verdict.probability >= np.mean(met) - 1e-9, key
        if verdict.verdict == "met":  # the other way round it may lack what is to spare of members that lie far apart
            assert as_they_are > 0.999, key
