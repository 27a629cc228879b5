"""Fuel: against what cooks burn, heating values, a closed balance, weather, refills, and what a ledger teaches."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.plan.fuel.balance import (
    Stretch,
    Weather,
    burnt_j,
    draw_members,
    heat_of,
    middle_member,
    steady_kg_h,
    wind_factor,
)
from pitreckon.plan.fuel.calibration import Fed, fed_in, learn, learn_from, reckoned_kg
from pitreckon.plan.fuel.feeds import refills
from pitreckon.plan.fuel.meat import MeatLoad, load_of, raw_heat_capacity
from pitreckon.plan.fuel.use import PitSegment, fuel_use
from pitreckon.plan.wishes import PitWish

LIT = datetime(2026, 7, 4, 10, tzinfo=UTC)
PITS = sorted(catalog.pits())
BURNING = [key for key in PITS if catalog.fuel(catalog.pit(key).fuel).burns]


def day(hours: float, set_c: float = 107.2, items: tuple[MeatLoad, ...] = ()) -> list[PitSegment]:
    return [PitSegment(LIT, LIT + timedelta(hours=hours), set_c, items)]


def use(kind: str, segments, **known):
    return fuel_use(PitWish("smoker", kind, (107.2,)), segments, **known)


def test_a_pellet_cooker_burns_what_cooks_say() -> None:
    # common practice, no source: 0.45 to 0.9 kg (1 to 2 lb) an hour at 225 F. The catalog's usual_kg_h rests on the
    # same saying, so this checks the road from there and not the balance itself.
    brisket = load_of("brisket", catalog.cut("brisket-whole"), 5.9, from_c=4.0, to_c=95.0)
    found = use("pellet-cooker", day(12, items=(brisket,))).kg_per_h
    assert 0.45 <= found.p50 <= 0.9
    assert 0.25 <= found.p05 < found.p50 < found.p95 <= 1.4


def test_the_bare_balance_is_that_of_the_notes_and_too_small() -> None:
    # Research notes, 8 (computed there): 1.5 m2, 87 K, U 5: 650 W, exhaust 490 W at 20 kg/h of air; here the air is
    # 0.0074 kg/s. What the balance says in calm air is about half of what cooks burn, and that is why it is anchored.
    pit = catalog.pit("pellet-cooker")
    weather = Weather(20.0, 0.0, 0.0)
    heat = heat_of(pit, middle_member(pit, weather), [Stretch(0.0, 3600.0, 107.0)], weather, 107.0)
    assert heat.walls[0, 0] / 3600.0 == pytest.approx(650.0, rel=0.01)
    assert heat.exhaust[0, 0] / 3600.0 == pytest.approx(490.0 * 0.0074 * 3600.0 / 20.0, rel=0.02)
    bare_kg_h = (heat.walls + heat.exhaust)[0, 0] / catalog.fuel("pellets").lower_heating_j_kg.value
    assert bare_kg_h == pytest.approx(0.27, abs=0.01)


def test_wind_on_bare_steel_and_on_insulation() -> None:
    # Notes 8 (computed there): single steel 4.4 calm, 6.7 windy; insulated 1.6 to 1.9 in all winds. Ratio 1.5 there
    # is with the inside film blown too.
    assert 1.2 < wind_factor(catalog.pit("pellet-cooker"), 5.0) < 6.7 / 4.4
    assert 1.0 < wind_factor(catalog.pit("insulated-cabinet"), 5.0) < 1.9 / 1.6


def test_heat_of_meat_by_hand() -> None:
    # ASHRAE Refrigeration, chapter 19 (from memory): brisket about 3.4 to 3.5 kJ/(kg K) above freezing at 60-70 % water
    cut = catalog.cut("brisket-whole")
    assert raw_heat_capacity(cut) == pytest.approx(3300.0, rel=0.06)
    load = load_of("x", cut, 10.0, from_c=4.0, to_c=94.0, evaporated=0.2)
    assert load.warming_j == pytest.approx(10.0 * raw_heat_capacity(cut) * 90.0)
    # 2 kg of water at 60 degC take 2.358 MJ/kg (steam tables)
    assert load.heat_j - load.warming_j == pytest.approx(2 * 2.358e6, rel=2e-3)


@given(
    st.sampled_from(PITS),
    st.lists(st.tuples(st.floats(0.5, 8.0), st.floats(60.0, 170.0)), min_size=1, max_size=4),
    st.floats(-20.0, 35.0),
    st.floats(0.0, 12.0),
)
@settings(max_examples=examples(40), deadline=None)
def test_the_energy_balance_closes(kind: str, plan, air_c: float, wind_m_s: float) -> None:
    at, segments = LIT, []
    for hours, set_c in plan:
        segments.append(PitSegment(at, at + timedelta(hours=hours), set_c, (MeatLoad("x", 1e5, 0.05),)))
        at = segments[-1].end_utc
    found = use(kind, segments, weather=Weather(air_c, wind_m_s), members=40)
    assert sum(found.goes_to.values()) == pytest.approx(1.0, abs=1e-9)
    # by a second road: heat of all members, each part on its own, makes up what is burnt but for the unaccounted
    pit, weather = catalog.pit(kind), Weather(air_c, wind_m_s)
    members = draw_members(pit, "smoker", weather, 40, 0)
    stretches = [Stretch(0.0, 3600.0, 107.2), Stretch(3600.0, 9000.0, 107.2, (MeatLoad("x", 1e5, 0.05),))]
    heat = heat_of(pit, members, stretches, weather, 107.2)
    parts = heat.walls + heat.exhaust + heat.body + heat.meat + heat.pan
    accounted = burnt_j(heat, members) * members.share
    assert accounted == pytest.approx(parts, rel=1e-12)
    assert np.all(members.share < 1.0 + 1e-12)


@given(st.sampled_from(PITS), st.floats(-20.0, 30.0), st.floats(0.0, 15.0), st.floats(0.0, 10.0), st.floats(0.0, 10.0))
@settings(max_examples=examples(60), deadline=None)
def test_more_wind_and_colder_air_never_need_less(kind, air_c, colder_k, wind_m_s, more_m_s) -> None:
    mild = use(kind, day(6), weather=Weather(air_c, wind_m_s), members=60)
    harsh = use(kind, day(6), weather=Weather(air_c - colder_k, wind_m_s + more_m_s), members=60)
    for name in ("kg_per_h", "total_kg", "electricity_kwh"):
        for level in ("p05", "p50", "p95"):
            assert getattr(harsh, name).__getattribute__(level) >= getattr(mild, name).__getattribute__(level) - 1e-9


def test_hotter_longer_and_more_meat_need_more() -> None:
    base = use("kettle", day(6)).total_kg
    assert use("kettle", day(6, 135.0)).total_kg.p50 > base.p50 * 1.2
    assert use("kettle", day(9)).total_kg.p50 > base.p50 * 1.3
    assert use("kettle", day(6, items=(MeatLoad("x", 2e6, 1.0),))).total_kg.p50 > base.p50
    # going down, the pit's own heat spares fuel
    half, end = LIT + timedelta(hours=3), LIT + timedelta(hours=6)
    down = [PitSegment(LIT, half, 140.0), PitSegment(half, end, 107.2)]
    flat = [PitSegment(LIT, half, 140.0), PitSegment(half, end, 140.0)]
    assert use("ceramic", down).total_kg.p50 < use("ceramic", flat).total_kg.p50


def test_an_oven_takes_electricity() -> None:
    found = use("oven", day(8), weather=Weather(20.0, 0.0))
    # from memory: a house oven kept at 107 C takes 0.25 to 0.6 kWh an hour
    assert 0.25 < found.electricity_kwh.p50 / 8 < 0.6
    assert found.total_kg.p95 == 0.0
    assert (found.refills, found.lasts_s, found.buy_kg) == ((), None, 0.0)


def test_a_hopper_lasts_and_is_filled_again() -> None:
    found = use("pellet-cooker", day(20))
    holds = catalog.pit("pellet-cooker").fire.holds_kg.value
    assert found.lasts_s == pytest.approx(holds / found.kg_per_h.p95 * 3600.0)
    assert found.first_fill_kg == holds
    assert len(found.refills) >= 1
    assert found.first_fill_kg + sum(kg for _, kg in found.refills) == pytest.approx(found.total_kg.p95, rel=5e-3)
    assert found.electricity_kwh.p50 == pytest.approx(0.05 * 20)


def test_splits_go_on_one_by_one() -> None:
    found = use("offset-log-burner", day(8))
    piece = catalog.fuel("split-hardwood").piece_kg.value
    assert {kg for _, kg in found.refills} == {piece}
    gaps = np.diff([at for at, _ in found.refills][3:])
    # common practice, no source: a split every half hour or so
    assert np.all((gaps > 15 * 60) & (gaps < 60 * 60))
    assert found.pieces == math.ceil(found.total_kg.p95 / piece)


@given(st.floats(0.5, 60.0), st.floats(0.5, 15.0), st.sampled_from([0.0, 0.025, 1.2]))
def test_refills_never_let_the_fire_starve_or_overfill_it(total: float, holds: float, piece: float) -> None:
    holds = max(holds, piece)
    time_s, used = np.array([0.0, 36000.0]), np.array([[0.0], [total]])
    first, added = refills(time_s, used, holds, piece)
    given_kg = first
    for at_s, kg in added:
        burnt = total * at_s / 36000.0
        assert given_kg >= burnt - 1e-6
        assert given_kg - burnt + kg <= max(holds, first) + 1e-6
        given_kg += kg
    assert given_kg >= total - 1e-6
    assert [at for at, _ in added] == sorted(at for at, _ in added)


@pytest.mark.parametrize(
    ("segments", "trouble"),
    [
        ([], "no time to burn"),
        ([PitSegment(LIT, LIT, 107.0)], "ends before it begins"),
        (day(3) + day(3), "overlap"),
        (day(3, 900.0), "900 C"),
    ],
)
def test_bad_segments(segments, trouble: str) -> None:
    with pytest.raises(InputError, match=trouble):
        use("kettle", segments)


def test_bad_weather() -> None:
    for bad in ({"air_c": 90.0}, {"wind_m_s": -1.0}, {"wind_m_s": float("nan")}):
        with pytest.raises(InputError):
            Weather(**bad)


# --- learning


def fed_cook(factor: float, rng, *, kind="offset-log-burner", feeds=12, known=True, noise=0.12) -> tuple[Cook, Ledger]:
    """A cook whose fire burns ``factor`` times the usual, fed each 40 min with what has burnt."""
    item = ItemPlan("butt", "boston-butt", 1, 3.6, "smoker", LIT + timedelta(minutes=5))
    cook = Cook("a day", "UTC", None, 0.0, 15.0, None, (PitPlan("smoker", kind, 110.0),), (item,))
    pit = catalog.pit(kind)
    air = [Reading(LIT + timedelta(minutes=5 * k), "pit air", "smoker", None, 110.0) for k in range(8 * feeds + 1)]
    times = [LIT + timedelta(minutes=40 * k) for k in range(feeds)]
    bare = [Act(at, "smoker", "fed the fire") for at in times]
    shell = Ledger.of([*air, *bare])
    of_day = factor * math.exp(noise * rng.standard_normal())
    acts = []
    for k, at in enumerate(times):
        until = at + timedelta(minutes=40)
        burnt = reckoned_kg(pit, "smoker", cook, shell, at.timestamp(), until.timestamp(), bare[k : k + 1])
        amount = of_day * burnt * math.exp(0.2 * rng.standard_normal())
        acts.append(Act(at, "smoker", "fed the fire", fuel_kg=amount if known is True or known(k) else None))
    return cook, Ledger.of([*air, *acts])


@pytest.mark.parametrize("truth", [0.6, 1.0, 1.7])
def test_learning_narrows_and_moves_to_the_truth(truth: float) -> None:
    rng = np.random.default_rng(7)
    cooks = [fed_cook(truth, rng) for _ in range(6)]
    lessons = [learn_from("smoker", "offset-log-burner", cooks[:n]) for n in (0, 1, 3, 6)]
    sds = [lesson.log_sd for lesson in lessons]
    assert sds == sorted(sds, reverse=True)
    assert sds[-1] < 0.35 * sds[0]
    assert abs(lessons[-1].log_mean - math.log(truth)) < 0.12
    assert abs(lessons[-1].log_mean - math.log(truth)) < 3 * lessons[-1].log_sd
    assert [lesson.cooks for lesson in lessons] == [0, 1, 3, 6]
    assert "6 cooks with 66 feedings" in lessons[-1].note
    assert re.match(r"This pit burns (as much as|\d+ % (more|less) than) its kind", lessons[-1].note)
    assert "Nothing learned" in lessons[0].note


def test_the_spread_of_a_lesson_is_honest() -> None:
    # of 200 simulated pits drawn from the prior, the 90 % interval holds the truth in about 90 %
    pit = catalog.pit("kettle")
    usual = pit.fire.usual_kg_h
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(200):
        truth = rng.standard_normal() * usual.sd / usual.value
        seen = [Fed(math.exp(truth + 0.2 * rng.standard_normal()), 1.0, 0.2, False, 5, 0) for _ in range(3)]
        lesson = learn(pit, seen)
        held += math.log(lesson.factor.p05) <= truth <= math.log(lesson.factor.p95)
    assert 0.84 * 200 <= held <= 0.96 * 200


def test_conjugate_by_hand() -> None:
    pit = catalog.pit("kettle")
    prior_sd = pit.fire.usual_kg_h.sd / pit.fire.usual_kg_h.value
    lesson = learn(pit, [Fed(1.5, 1.0, 0.2, False, 4, 0)])
    precision = 1 / prior_sd**2 + 1 / 0.2**2
    assert lesson.log_sd == pytest.approx(precision**-0.5, rel=1e-3)
    assert lesson.log_mean == pytest.approx(math.log(1.5) / 0.2**2 / precision, rel=1e-3)


def test_amounts_that_are_missing() -> None:
    rng = np.random.default_rng(11)
    whole = learn_from("smoker", "offset-log-burner", [fed_cook(1.4, np.random.default_rng(11))])
    some = learn_from("smoker", "offset-log-burner", [fed_cook(1.4, rng, known=lambda k: k % 2 == 0)])
    none = learn_from("smoker", "offset-log-burner", [fed_cook(1.4, rng, known=lambda _: False)])
    assert some.missing == 5
    assert whole.log_sd < some.log_sd < none.log_sd
    assert none.log_mean == pytest.approx(0.0, abs=1e-9)
    assert none.missing == 12
    assert "12 feedings have no amount" in none.note


def test_one_load_says_no_more_than() -> None:
    rng = np.random.default_rng(5)
    cook, ledger = fed_cook(0.5, rng, kind="kettle", feeds=8)
    load = Act(LIT, "smoker", "fed the fire", fuel_kg=1.0)
    off = Act(LIT + timedelta(hours=5), "butt", "took off")
    one = Ledger.of([*ledger.readings("pit air"), load, off])
    fed = fed_in(catalog.pit("kettle"), "smoker", cook, one)
    assert fed is not None
    assert fed.at_most
    lesson = learn_from("smoker", "kettle", [(cook, one)])
    prior = learn_from("smoker", "kettle", [])
    assert lesson.log_mean < prior.log_mean
    assert lesson.factor.p95 < prior.factor.p95
    # plenty in the basket teaches next to nothing
    plenty = Ledger.of([*ledger.readings("pit air"), Act(LIT, "smoker", "fed the fire", fuel_kg=20.0), off])
    assert learn_from("smoker", "kettle", [(cook, plenty)]).log_mean == pytest.approx(0.0, abs=0.01)


def test_a_lesson_changes_the_plan() -> None:
    rng = np.random.default_rng(2)
    cooks = [fed_cook(1.6, rng) for _ in range(5)]
    lesson = learn_from("smoker", "offset-log-burner", cooks)
    taught, usual = use("offset-log-burner", day(8), lesson=lesson), use("offset-log-burner", day(8))
    assert taught.total_kg.p50 / usual.total_kg.p50 == pytest.approx(1.6, rel=0.15)
    assert math.log(taught.total_kg.p95 / taught.total_kg.p05) < math.log(usual.total_kg.p95 / usual.total_kg.p05)
    assert taught.note == lesson.note
    # a lesson of nothing leaves the figures where they were
    nothing = use("offset-log-burner", day(8), lesson=learn_from("smoker", "offset-log-burner", []))
    assert nothing.total_kg.p50 == pytest.approx(usual.total_kg.p50, rel=0.05)


@pytest.mark.parametrize("kind", BURNING)
def test_every_pit_burns_its_usual_on_the_usual_day(kind: str) -> None:
    found = use(kind, day(10))
    usual = catalog.pit(kind).fire.usual_kg_h
    assert found.kg_per_h.p50 == pytest.approx(usual.value, rel=0.05)
    assert steady_kg_h(catalog.pit(kind), 107.2, Weather()) == pytest.approx(usual.value, rel=1e-9)
    log_sd = math.log(found.kg_per_h.p95 / found.kg_per_h.p05) / (2 * 1.645)
    assert log_sd == pytest.approx(usual.sd / usual.value, rel=0.2)
