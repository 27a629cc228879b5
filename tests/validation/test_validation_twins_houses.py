"""Houses that learn: the scores of rows whose answer is known, and an oracle that tells exactly what is the house's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from validation.twins import ceiling, houses
from validation.twins.day import day_of
from validation.twins.deal import PIT, deal
from validation.twins.fire import KNOT_S
from validation.twins.observe import BESIDE_K, GRATE_SHARE, LAID_K
from validation.twins.store import Row

from pitreckon import catalog
from pitreckon.reckon.levels import ROW, UNKNOWNS, levels_of


def belief(house: int, cook: int, **more: object) -> Row:
    """What was believed after a cook: told by every cook, the offset as it is, until more is said."""
    of_it = {"offset": 1.0, "offset_sd": 2.0, "offset_true": 1.0, "told": cook, "laid": 0, "noticed": "", **more}
    texts = {name: str(value) for name, value in of_it.items()}
    return {**dict.fromkeys(houses.COLUMNS, ""), "index": str(house), "cook": str(cook), "moment": "after", **texts}


def house(number: int, **of_cooks: object) -> list[Row]:
    return [belief(number, n, **of_cooks) for n in range(1, houses.COOKS + 1)]


def test_the_offset_is_scored_once_five_cooks_told_of_it_and_by_whether_a_thermometer_was_laid() -> None:
    rows = [*house(0), *house(2, offset=4.5, laid=2), *house(4, offset=3.9)]
    cells = {each[0]: each[1:] for each in houses.of_offsets(rows)}
    assert cells["never"][:2] == ["2", "100 %"]  # 2.9 K off and not at all
    assert cells["at two or more"][:2] == ["1", "0 %"]  # 3.5 K off
    assert cells["all"][:3] == ["3", "67 %", "87 %"]  # 2 Phi(3/2) - 1, a normal table's 0.8664
    late = [belief(1, n, told=max(n - 2, 0)) for n in range(1, houses.COOKS + 1)]
    assert [each for each in houses.of_offsets(late) if each[0] == "all"] == [], "its pit was another one by the fifth"


def test_a_re_seal_is_noticed_after_it_and_an_alarm_without_one_is_counted() -> None:
    def sealed(number: int, by_k: float, noticed_from: int) -> list[Row]:
        return [
            belief(number, n, offset_true=by_k * (n > houses.RESEALED_BEFORE), noticed=6 if n >= noticed_from else "")
            for n in range(1, houses.COOKS + 1)
        ]

    rows = [*sealed(1, 6.0, 8), *sealed(3, 6.0, 10), *sealed(5, 1.0, 99), *sealed(7, 1.0, 5), *house(0), *house(2)]
    rows += [belief(4, n, noticed=3 if n == 5 else "") for n in range(1, houses.COOKS + 1)]
    cells = {each[0]: each[1:] for each in houses.of_seals(rows)}
    assert cells["all"] == ["4", "25 %", "50 %"]  # the one that was noticed before it happened is not
    assert cells["offset by over 5 K"] == ["2", "50 %", "100 %"]
    assert cells["no re-seal: any alarm in 12 cooks"] == ["3", "", "33 %"]


@pytest.mark.parametrize("known", [ceiling.LEVELS, ("pit",), ("everywhere", "source", "wrap")])
def test_an_oracle_leaves_of_a_piece_exactly_what_is_not_the_houses(known: tuple[str, ...]) -> None:
    twin = deal(5, 2, 0, "calibrated", houses.house_of(5, 0))
    cut, pit = catalog.cut(twin.item.cut), twin.fire.pit
    wrap = next((stage.wrap for stage in twin.stages if stage.wrap), None)
    levels = levels_of(cut, pit, wrap, measured=False)
    says = ceiling.Oracle.about(twin, levels, known).says(levels, (PIT, pit.key, cut.key, twin.put_on_utc))
    to_units = levels.sd[:, None] * levels.mix
    covariance = to_units @ np.linalg.inv(np.eye(len(UNKNOWNS)) + says.precision) @ to_units.T
    left = ceiling.prior(levels) - ceiling.of_house(levels, known)
    scale = np.outer(levels.sd, levels.sd)
    np.testing.assert_allclose(covariance / scale, left / scale, atol=1e-3)
    mean = to_units @ np.linalg.inv(np.eye(len(UNKNOWNS)) + says.precision) @ says.vector
    if known == ceiling.LEVELS:
        assert mean[ROW["offset"]] == pytest.approx(twin.fire.own_offset_k, abs=0.02)


def test_what_a_house_could_know_at_the_most_is_never_less_than_what_its_times_tell() -> None:
    levels = levels_of(catalog.cut("st-louis-ribs"), catalog.pit("kettle"), "foil", measured=False)
    slope = np.random.default_rng(3).normal(size=len(UNKNOWNS)) * 0.05 / levels.sd
    cooks = [ceiling.Asked("st-louis-ribs", levels, slope, 0.02)] * 4
    total = ceiling.variance(cooks[-1], ceiling.prior(levels))
    all_known, times = (
        ceiling.variance(cooks[-1], ceiling.if_earlier(cooks, times_alone=each)) for each in (False, True)
    )
    house_known = ceiling.variance(cooks[-1], ceiling.if_levels(cooks[-1], ceiling.LEVELS))
    assert house_known < all_known < times < total


@pytest.mark.kernel
def test_a_thermometer_on_the_grate_adds_a_look_and_changes_nothing_else() -> None:
    lays = houses.house_of(5, 2)
    assert lays.lays
    twins = (deal(5, 2000 + n, 0, "calibrated", lays) for n in range(12))
    chosen = next(
        twin
        for twin in twins
        if twin.item.cut in {"chicken-half", "country-style-ribs", "chicken-thigh", "back-ribs", "st-louis-ribs"}
        and twin.stream("grate look").random() < GRATE_SHARE
    )
    day = day_of(5, chosen.index, "calibrated", lays)
    without = day_of(5, chosen.index, "calibrated", replace(lays, lays=False))
    (look,) = day.ledger.looks(PIT)
    assert without.ledger.looks(PIT) == ()
    assert [each for each in day.ledger.events if each != look] == list(without.ledger.events)
    fire, at_s = day.twin.fire, (look.at_utc - day.twin.put_on_utc).total_seconds()
    knots = int(day.life.ends_s[-1] // KNOT_S) + 1
    shown_c = np.interp(at_s, np.arange(knots) * KNOT_S, fire.readout_steady_c(day.life.openings, knots))
    over_k = look.value - shown_c - fire.pit.air.offset_k.value
    assert abs(over_k - fire.own_offset_k) < 4.0 * np.hypot(LAID_K, BESIDE_K)
