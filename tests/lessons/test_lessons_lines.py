"""Which lines of a card can be written otherwise, and how readers follow a line: without cooking anything."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validation.readers.cards import HERE

from pitreckon import catalog
from pitreckon.cook import Until
from pitreckon.cook.read import cook_from_text
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card.changes import COLOUR_STEP, CORE_STEP_K, LineChange, changes_of
from pitreckon.lessons.card.finished import finished_item
from pitreckon.lessons.card.following import LEAST_S, TENDEREST, as_followed, as_it_should, steps_of
from pitreckon.lessons.card.readers import Habits, audience, deal
from pitreckon.lessons.card.script import Line, Script, script_of
from pitreckon.section.course import Until as Kernel

RIBS, THIGHS = catalog.cut("st-louis-ribs"), catalog.cut("chicken-thigh")
WHO = audience()
HABITS: Habits = deal(400, 1, pit="kettle").groups[0].habits
N = HABITS.late.size
BOIL_C = np.full(N, 100.0)


def script(item: str) -> Script:
    cook = cook_from_text((HERE / "orchard-supper.toml").read_text("utf-8"), "orchard-supper.toml")
    log = log_from_text((HERE / "orchard-supper.csv").read_text("utf-8"), "orchard-supper.csv", cook)
    return script_of(finished_item(cook, log, item))


def timed(item: str) -> Script:
    """With times as a card has them."""
    made = script(item)
    lines = tuple(
        replace(line, from_s=0.8 * line.clock_s, middle_s=line.clock_s, to_s=1.4 * line.clock_s) for line in made.lines
    )
    return replace(made, lines=lines)


def offered(of: Script, grate_c: float = 120.0) -> dict[str, tuple[int, str, Script]]:
    return {key: (line, words, new) for key, line, words, new in changes_of(of, grate_c)}


# --- what is offered


def test_a_line_by_a_look_is_tried_a_shade_sooner_and_later() -> None:
    racks = script("racks")
    found = offered(racks)
    line, words, sooner = found["sooner 1"]
    assert line == 1
    assert racks.lines[0].look is not None
    assert sooner.lines[0].look == Until("colour", racks.lines[0].look.level - COLOUR_STEP)
    assert sooner.lines[0].plan.until == sooner.lines[0].look
    assert sooner.lines[1:] == racks.lines[1:]
    assert "not until the outside is mahogany" in words


def test_a_thermometer_is_never_told_to_stop_sooner() -> None:
    thighs = script("thighs")
    found = offered(thighs)
    (n,) = [n for n, line in enumerate(thighs.lines, start=1) if line.look is not None and line.look.ends_by == "core"]
    assert f"sooner {n}" not in found
    was, then = thighs.lines[n - 1].look, found[f"later {n}"][2].lines[n - 1].look
    assert was is not None
    assert then is not None
    assert then.core_c == pytest.approx((was.core_c or 0.0) + CORE_STEP_K)
    assert found["places"][2].places


def test_a_line_by_the_clock_is_offered_a_look() -> None:
    racks = script("racks")
    clocked = racks.with_line(0, replace(racks.lines[0], by_clock=True))
    line, words, new = offered(clocked)["look 1"]
    assert line == 1
    assert not new.lines[0].by_clock
    assert "on the clock" in words
    assert "sooner 1" not in offered(clocked)


def test_the_pit_in_steps_and_beside_the_meat() -> None:
    racks = script("racks")
    found = offered(racks, grate_c=118.0)
    assert found["cooler"][2].set_c < racks.set_c < found["hotter"][2].set_c
    assert {found[key][0] for key in ("cooler", "hotter", "at the grate")} == {0}  # the line that sets the pit
    there = found["at the grate"][2]
    assert there.at_grate
    assert there.set_c == pytest.approx(118.0, abs=3.0)
    assert "at the grate" not in offered(there)


def test_every_change_changes_something_and_says_what() -> None:
    for item in ("racks", "thighs"):
        of = script(item)
        found = offered(of)
        assert len(found) >= 4
        assert len({words for _, words, _ in found.values()}) == len(found)
        assert all(new != of for _, _, new in found.values())


def test_a_change_has_to_be_worth_a_line() -> None:
    racks = script("racks")
    assert [LineChange("k", 1, "w", racks, 0.5, 0.0, gain).helps for gain in (0.019, 0.021)] == [False, True]


# --- how a line is followed


def test_a_line_with_a_look_is_three_stretches_and_the_liquid_goes_in_once() -> None:
    steps = steps_of(script("racks"))
    assert [(step.line, step.part) for step in steps] == [
        *((0, part) for part in ("first", "look", "wait")),
        *((1, part) for part in ("first", "look", "wait")),
        *((2, part) for part in ("look", "wait")),  # a glaze is watched from the start
        (3, "clock"),
    ]
    wrapped = [step.plan.liquid_kg for step in steps if step.line == 1]
    assert wrapped[0] == pytest.approx(0.045)
    assert wrapped[1:] == [0.0, 0.0]


def stretch(of: Script, part: str, n: int = 0) -> tuple[dict[str, np.ndarray], Line]:
    (step,) = [each for each in steps_of(of) if (each.line, each.part) == (n, part)]
    cut = RIBS if of.lines[0].look is not None and of.lines[0].look.ends_by == "colour" else THIGHS
    fields = as_followed(step, of.lines[n], of, HABITS, WHO, cut, BOIL_C)
    return {key: np.broadcast_to(value, N) for key, value in fields.items()}, of.lines[n]


def test_who_goes_by_the_clock_looks_for_nothing() -> None:
    racks = timed("racks")
    look, line = stretch(racks, "look")
    first, _ = stretch(racks, "first")
    clocked = HABITS.clocked
    assert 0 < clocked.sum() < N
    assert set(look["until"][clocked]) == {float(Kernel.MINUTES)}
    assert set(look["until"][~clocked]) == {float(Kernel.COLOUR)}
    kept = line.clock_s * HABITS.clock + WHO.late_s * HABITS.late
    np.testing.assert_allclose(look["value"][clocked], np.maximum(kept, LEAST_S)[clocked])
    assert not first["value"][clocked].any()
    np.testing.assert_allclose(first["value"][~clocked], (line.from_s + WHO.late_s * HABITS.late)[~clocked])


def test_a_card_by_the_clock_has_everybody_keep_it() -> None:
    racks = timed("racks")
    everybody = racks.with_line(0, replace(racks.lines[0], by_clock=True))
    look, _ = stretch(everybody, "look")
    assert set(look["until"]) == {float(Kernel.MINUTES)}


def test_a_look_is_given_up_some_time() -> None:
    look, line = stretch(timed("racks"), "look")
    seeing = look["longest_s"][~HABITS.clocked]
    assert (seeing == WHO.patience * line.to_s - line.from_s).all()


def test_a_thermometer_in_one_place_reads_too_hot_and_in_three_less_so() -> None:
    thighs = timed("thighs")
    one, line = stretch(thighs, "look")
    three, _ = stretch(replace(thighs, places=True), "look")
    assert line.look is not None
    seeing = ~HABITS.clocked
    target = line.look.core_c or 0.0
    assert (one["value"][seeing] <= target).all()
    assert (target - three["value"][seeing]).mean() < 0.5 * (target - one["value"][seeing]).mean()


def test_no_target_is_above_the_boiling_point() -> None:
    """Where water boils at 90 degC a core of 93 degC is never there."""
    thighs = script("thighs")
    high = replace(thighs.lines[0], look=Until("core", 93.0))
    (step,) = [each for each in steps_of(thighs.with_line(0, high)) if each.part == "look"]
    value = as_it_should(step, high, THIGHS, np.array([100.0, 90.0]))["value"]
    assert np.asarray(value).tolist() == [93.0, 89.0]


def test_tenderness_has_an_end() -> None:
    racks = script("racks")
    soft = replace(racks.lines[1], look=Until("tender", 1.5))
    (step,) = [each for each in steps_of(racks.with_line(1, soft)) if (each.line, each.part) == (1, "look")]
    assert np.asarray(as_it_should(step, soft, RIBS, np.array([100.0]))["value"]).tolist() == [TENDEREST]


def test_as_it_should_needs_no_walk() -> None:
    racks = timed("racks")
    assert {step.part for step in steps_of(racks)} >= {"first", "clock"}
    for step in steps_of(racks):
        fields = as_it_should(step, racks.lines[step.line], RIBS, np.array([100.0]))
        if step.part in {"first", "wait"}:
            assert fields["value"] == 0.0
        if step.part == "clock":
            assert fields["value"] == max(racks.lines[step.line].clock_s, LEAST_S)


def test_an_alarm_shortens_the_walk_to_a_thermometer_alone() -> None:
    seeing = ~HABITS.clocked
    hears = HABITS.alarm & seeing
    assert hears.any()
    core, _ = stretch(timed("thighs"), "wait")
    colour, _ = stretch(timed("racks"), "wait")
    unheard = timed("racks").every_s * HABITS.gap * HABITS.wait
    np.testing.assert_allclose(colour["value"][seeing], unheard[seeing])
    np.testing.assert_allclose(core["value"][hears], 0.25 * unheard[hears])
    np.testing.assert_allclose(core["value"][seeing & ~HABITS.alarm], unheard[seeing & ~HABITS.alarm])
