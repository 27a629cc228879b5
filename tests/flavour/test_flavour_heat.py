"""What heat does: browning by a law worked by hand, films on a slope, and a glaze in the section model."""

from __future__ import annotations

from datetime import UTC, datetime
from math import exp

import numpy as np
import pytest
from tests.flavour.mixes import batch
from tests.oracles.reaction import browning_speed

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.errors import InputError
from pitreckon.flavour.heat.drip import body_of, draining_film_jeffreys_m, drip_share, standing_film_m
from pitreckon.flavour.heat.onthemeat import glaze_minutes, left_on, water_share, wrap_effect, wrap_words
from pitreckon.flavour.heat.scorch import scorch_chance, sugar_of
from pitreckon.section.browning import browning_dose

GLAZE = {"ketchup": 120.0, "honey": 60.0, "cider-vinegar": 30.0}
N = 400


def _cook(set_c: float = 135.0, glaze_kg: float = 0.06) -> Cook:
    """One rack at 275 F, as the cut is cooked, then a thin coat."""
    stages = (
        StagePlan("open", Until("colour")),
        StagePlan("wrapped", Until("tender"), wrap="foil"),
        StagePlan("sauced", Until("glaze"), glaze_kg=glaze_kg),
    )
    item = ItemPlan("rack", "st-louis-ribs", 1, 1.25, "box", datetime(2026, 10, 10, 13, tzinfo=UTC), stages=stages)
    return Cook("trial", "UTC", None, 0.0, None, None, (PitPlan("box", "pellet-cooker", set_c),), (item,))


def _held(temp_c: float, minutes: float, activity: float = 0.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    time_s = np.linspace(0.0, 60.0 * minutes, 61)
    return time_s, np.full((61, N), temp_c), np.full((61, N), activity)


def _chance(sugars: dict[str, float], temp_c: float, minutes: float, activity: float = 0.0) -> float:
    return scorch_chance(sugars, 0.5, *_held(temp_c, minutes, activity)).browned


def test_a_dose_by_hand() -> None:
    """Half an hour 20 K below an onset of 160 degC that takes 10 min, 120 kJ/mol: Arrhenius by hand."""
    time_s, surface, _ = _held(140.0, 30.0)
    rate = exp(120e3 / 8.314462618 * (1.0 / 433.15 - 1.0 / 413.15))
    got = browning_dose(surface, np.ones_like(surface), time_s, 160.0, 600.0, 120e3)
    assert got == pytest.approx(np.full(N, 3.0 * rate))
    half_dry = browning_dose(surface, 0.5 * np.ones_like(surface), time_s, 160.0, 600.0, 120e3)
    assert half_dry == pytest.approx(0.5 * got)


def test_a_ramp_by_trapezoids_is_the_integral() -> None:
    """From 100 to 180 degC in 40 min: against a fine midpoint sum."""
    time_s = np.linspace(0.0, 2400.0, 481)
    surface = (100.0 + 80.0 * time_s / 2400.0)[:, None]
    got = browning_dose(surface, np.ones_like(surface), time_s, 160.0, 600.0, 120e3)[0]
    mid = (np.arange(200_000) + 0.5) / 200_000 * 2400.0
    temp = 100.0 + 80.0 * mid / 2400.0 + 273.15
    exact = np.mean(np.exp(120e3 / 8.314462618 * (1.0 / 433.15 - 1.0 / temp))) * 2400.0 / 600.0
    assert got == pytest.approx(exact, rel=1e-4)


def test_a_history_browns_by_the_law_of_physics() -> None:
    rng = np.random.default_rng(3)
    time_s, n = np.arange(0.0, 3600.0, 300.0), 6
    surface_c, dryness = rng.uniform(60.0, 190.0, (time_s.size, n)), rng.random((time_s.size, n))
    onset_c, onset_s, energy = rng.uniform(105.0, 170.0, n), rng.uniform(300.0, 1200.0, n), rng.uniform(105e3, 145e3, n)
    speed = np.array(
        [[browning_speed(t, o, e, d) for t, o, e, d in zip(*row, strict=True)]
         for row in ((surface_c[k], onset_c, energy, dryness[k]) for k in range(time_s.size))]
    )  # fmt: skip
    got = browning_dose(surface_c, dryness, time_s, onset_c, onset_s, energy)
    assert got == pytest.approx(np.trapezoid(speed, time_s, axis=0) / onset_s, rel=1e-12)


def test_sugars_go_in_the_order_of_their_onsets() -> None:
    """Fructose 105-110, glucose 150-160, sucrose 160-170, maltose 180 degC: two public tables, unmeasured."""
    at = {kind: _chance({kind: 1.0}, 140.0, 30.0) for kind in ("fructose", "glucose", "sucrose", "maltose")}
    assert at["fructose"] > at["glucose"] > at["sucrose"] >= at["maltose"]
    assert _chance({"fructose": 1.0}, 110.0, 20.0) > 0.9, "within minutes at its onset"
    assert _chance({"sucrose": 1.0}, 170.0, 20.0) > 0.9


def test_caramel_wants_more_than_120_degc() -> None:
    """Kroh 1994, Food Chem. 51:373 (the abstract, seen): caramelisation needs more than 120 degC, fructose apart."""
    assert _chance({"sucrose": 0.8, "glucose": 0.2}, 110.0, 30.0) < 0.05
    assert _chance({"sucrose": 0.8, "glucose": 0.2}, 175.0, 30.0) > 0.95


def test_wet_or_without_sugar_nothing_scorches() -> None:
    assert _chance({"fructose": 1.0}, 200.0, 60.0, activity=1.0) == 0.0
    assert scorch_chance({"fructose": 1.0}, 0.01, *_held(200.0, 60.0)).scorched == 0.0
    assert scorch_chance({}, 0.0, *_held(200.0, 60.0)).browned == 0.0


def test_it_only_gets_worse_with_heat_and_time() -> None:
    sugars, share = sugar_of(batch(GLAZE))
    doses = [scorch_chance(sugars, share, *_held(t, m)).dose.mean() for t, m in ((120, 10), (120, 20), (140, 20))]
    assert doses[0] < doses[1] < doses[2]
    gone = np.full((61, N), np.nan)
    assert scorch_chance(sugars, share, _held(140.0, 20.0)[0], gone, gone).browned == 0.0
    with pytest.raises(ValueError, match="fit together"):
        scorch_chance(sugars, share, np.arange(3.0), gone, gone)


def test_films_by_hand() -> None:
    """Jeffreys 1930 (from memory): 1 Pa s, 0.1 m down a wall after 100 s, 1000 kg/m3: 2/3 of 0.319 mm.

    A sauce of 20 Pa on a wall of 1150 kg/m3 stands 20 / (1150 x 9.80665) = 1.77 mm.
    """
    edge = (1.0 * 0.1 / (1000.0 * 9.80665 * 100.0)) ** 0.5
    assert draining_film_jeffreys_m(1.0, 90.0, 0.1, 100.0, 1000.0) == pytest.approx(2.0 / 3.0 * edge)
    assert standing_film_m(20.0, 90.0) == pytest.approx(20.0 / (1150.0 * 9.80665))
    assert standing_film_m(20.0, 30.0) == pytest.approx(2.0 * standing_film_m(20.0, 90.0))


def test_thin_runs_and_thick_stands() -> None:
    share = {body: drip_share(1.4, body, 600.0) for body in ("thin", "syrup", "thick")}
    assert share["thin"].middle > share["syrup"].middle > share["thick"].middle
    for each in share.values():
        assert 0.0 <= each.low <= each.high <= 1.0
    assert drip_share(0.2, "syrup", 600.0).middle < share["syrup"].middle, "a thinner coat holds better"
    assert drip_share(1.4, "syrup", 1200.0).middle > share["syrup"].middle
    with pytest.raises(InputError, match="body"):
        drip_share(1.0, "runny", 600.0)
    assert body_of(batch(GLAZE)) == "thick"
    assert body_of(batch({"honey": 100.0})) == "syrup"
    assert body_of(batch({"apple-juice": 100.0})) == "thin"


@pytest.mark.kernel
def test_a_thin_coat_sets_in_ten_to_fifteen_minutes_at_275_f() -> None:
    """Common practice, no source: about 10 to 15 min at 275 F. 60 to 75 g on a rack is a thin coat."""
    for grams in (60, 75):
        took = glaze_minutes(_cook(), "rack", glaze_kg=grams / 1000.0, members=64)
        assert took.reached == 1.0
        assert 9.0 <= took.p50 <= 15.0, grams


@pytest.mark.kernel
def test_a_glaze_takes_longer_when_wetter_thicker_or_cooler() -> None:
    def minutes(set_c: float = 135.0, kg: float = 0.06, water: float | None = None) -> float:
        return glaze_minutes(_cook(set_c), "rack", glaze_kg=kg, water=water, members=32).p50

    assert minutes(kg=0.03) < minutes() < minutes(kg=0.1)
    assert minutes(water=0.4) < minutes(water=0.6) < minutes(water=0.75)
    assert minutes(set_c=107.2) > minutes()
    assert minutes(water=0.58) == pytest.approx(minutes(), abs=0.6), "58 % is what the model takes"
    with pytest.raises(InputError, match="share of water"):
        minutes(water=1.2)


def test_water_of_a_glaze_by_hand() -> None:
    """Ketchup 68.51, honey 17.10, cider vinegar 93.81 % water: SR28 11935, 19296, 02048."""
    assert water_share(batch(GLAZE)) == pytest.approx((68.51 * 120 + 17.10 * 60 + 93.81 * 30) / 210 / 100)
    assert water_share(batch({"unsalted-butter": 10.0})) == pytest.approx(0.1794), "butter is mostly not water"


@pytest.mark.kernel
def test_a_glaze_left_on_a_hot_pit_scorches() -> None:
    glaze = batch(GLAZE)
    cool = left_on(_cook(135.0), "rack", glaze, 1200.0, members=32)
    hot = left_on(_cook(200.0), "rack", glaze, 3600.0, members=32)
    assert cool.scorched <= 0.1
    assert hot.scorched > 0.5
    assert hot.hottest_c > cool.hottest_c


@pytest.mark.kernel
def test_liquid_braises_and_lightens_where_the_meat_would_dry() -> None:
    """Wetter is less dark: in an open tray by much. In tight foil its own juice wets it too, so there it is the same.

    What it says comes from its numbers.
    """
    tray = wrap_effect(_cook(), "rack", 0.12, "tray", members=32)
    foil = wrap_effect(_cook(), "rack", 0.12, members=32)
    dry = wrap_effect(_cook(), "rack", 0.0, members=32)
    assert tray.colour < -0.2
    assert tray.evaporated < -0.01
    assert "lighter" in wrap_words(tray)
    assert -0.03 < foil.colour <= 0.0
    assert foil.evaporated <= 0.0
    assert "as dark" in wrap_words(foil)
    assert (dry.tender_min, dry.colour, dry.evaporated) == (0.0, 0.0, 0.0)
    assert "as dark" in wrap_words(dry)
