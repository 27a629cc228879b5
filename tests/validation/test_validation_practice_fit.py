"""The calibrator on models whose answer is known, and the way from constants to cooks."""

from __future__ import annotations

import contextlib
import tomllib
from math import nan

import numpy as np
import pytest
from scipy.optimize import minimize
from validation.practice import adapter, gaussnewton, objective, outcome, parameters, runs, table
from validation.practice.objective import standard

from pitreckon import catalog
from pitreckon.section import constants as section_constants
from pitreckon.section.constants import constant

pytestmark = pytest.mark.kernel


RNG = np.random.default_rng(16)
A = RNG.normal(size=(12, 4))
B = A @ np.array([0.8, -0.5, 0.3, 0.0]) + 0.3 * RNG.normal(size=12)


def linear(points):
    """Misfits of a straight model."""
    return [A @ x - B for x in points]


def test_a_straight_model_gives_the_posterior_of_the_textbook():
    """Bayes' linear model with a standard normal prior: covariance (A'A + I)^-1, mean covariance A'b (from memory)."""
    found = gaussnewton.search(linear, np.zeros(4), k=np.inf)
    covariance = np.linalg.inv(A.T @ A + np.eye(4))
    assert found.settled
    np.testing.assert_allclose(found.x, covariance @ A.T @ B, atol=1e-6)
    np.testing.assert_allclose(found.covariance, covariance, rtol=1e-8)
    sd = np.sqrt(np.diag(covariance))
    np.testing.assert_allclose(gaussnewton.correlations(found.covariance), covariance / np.outer(sd, sd), rtol=1e-8)


def test_the_robust_search_ends_where_a_general_minimiser_does():
    """Against SciPy's BFGS on the same objective, with one row far off."""
    far = B.copy()
    far[3] += 9.0

    def misfits(points):
        return [A @ x - far for x in points]

    found = gaussnewton.search(misfits, np.zeros(4), most=60)
    wanted = minimize(lambda x: gaussnewton.objective(x, A @ x - far, 1.345), np.zeros(4), method="BFGS", tol=1e-10)
    np.testing.assert_allclose(found.x, wanted.x, atol=5e-3)
    plain = gaussnewton.search(misfits, np.zeros(4), k=np.inf)
    clean = gaussnewton.search(linear, np.zeros(4))
    assert np.linalg.norm(found.x - clean.x) < 0.6 * np.linalg.norm(plain.x - clean.x)


def test_two_starts_of_a_bent_model_end_in_one_and_the_objective_falls():
    def bent(points):
        return [np.exp(0.4 * (A @ x)) - np.exp(0.4 * B) for x in points]

    one, two = (gaussnewton.search(bent, start, most=60) for start in (np.zeros(4), np.array([1.0, 1.0, -1.0, -1.0])))
    for found in (one, two):
        assert all(b < a for a, b in zip(found.objectives, found.objectives[1:], strict=False))
    assert gaussnewton.distance(one, two).max() < 0.2


def test_a_number_that_nothing_asks_for_keeps_its_prior():
    blind = gaussnewton.search(lambda points: [np.array([x[0] - 1.0]) for x in points], np.array([0.0, 1.0]))
    assert blind.x[1] == pytest.approx(0.0, abs=0.02)
    assert blind.covariance[1, 1] == pytest.approx(1.0)


def test_a_row_counts_as_a_quarter():
    assert standard(1.0) == pytest.approx(1.645 / 2.0)
    assert standard(nan) == standard(objective.NEVER_HALF_BANDS)


def test_parameters_go_to_and_fro():
    offered, missing = parameters.match()
    names = [p.name for p, _ in parameters.read()]
    assert len(set(names)) == len(names) == len(offered) + len(missing)
    for p in offered:
        assert p.low < p.prior < p.high, p.name
        for x in (-0.7, 0.0, 0.4):
            if p.low < p.value(x) < p.high:
                assert p.x(p.value(x)) == pytest.approx(x, abs=1e-9)
        assert p.value(-1e3) == p.low


def test_every_universal_of_the_table_is_offered_or_named(monkeypatch):
    without = {name: figure for name, figure in section_constants.CONSTANTS.items() if name != "drip_m_s"}
    monkeypatch.setattr(section_constants, "CONSTANTS", without)
    _, missing = parameters.match()
    assert any(name.startswith("run-off") for name in missing)


def test_overridden_constants_are_back_afterwards():
    before = (
        dict(section_constants.CONSTANTS),
        catalog.wrap("foil"),
        catalog.pit("kettle"),
        catalog.cut("boston-butt"),
    )
    changes = {
        "constant:drip_m_s": 1e-6,
        "wrap:foil.leak_kg_m2_s_pa": 1e-10,
        "pit:kettle.air.offset_k": -3.0,
        "cut:boston-butt.thickness": 1.1,
    }
    with adapter.override(changes):
        assert constant("drip_m_s") == 1e-6
        assert catalog.wraps()["foil"].leak_kg_m2_s_pa.value == catalog.wrap("foil").leak_kg_m2_s_pa.value == 1e-10
        assert catalog.pit("kettle").air.offset_k.value == -3.0
        thick = catalog.cut("boston-butt").shape
        assert thick.volume_m3 == pytest.approx(before[3].shape.volume_m3)
        assert thick.height_m.value == pytest.approx(1.1 * before[3].shape.height_m.value)
    assert (
        dict(section_constants.CONSTANTS),
        catalog.wrap("foil"),
        catalog.pit("kettle"),
        catalog.cut("boston-butt"),
    ) == before
    with contextlib.suppress(RuntimeError), adapter.override(changes):
        raise RuntimeError("a fault in the middle")
    assert (
        dict(section_constants.CONSTANTS),
        catalog.wrap("foil"),
        catalog.pit("kettle"),
        catalog.cut("boston-butt"),
    ) == before


@pytest.mark.parametrize("kind", ["cut", "pit"])
def test_a_set_up_that_the_catalog_does_not_have_waits(kind):
    from dataclasses import replace

    setup = table.setups()["butt250"]
    assert adapter.missing(setup) is None
    assert adapter.missing(replace(setup, **{kind: "moon"})) == f"{kind} moon"


@pytest.mark.kernel
def test_a_cook_is_the_same_alone_and_beside_others():
    setups = [table.setups()[key] for key in ("wing300", "wing375", "thigh300")]
    together = adapter.run([adapter.build(s) for s in setups])
    for setup, curve in zip(setups, together, strict=True):
        alone = adapter.run([adapter.build(setup)])[0]
        np.testing.assert_array_equal(alone.channels["core_c"], curve.channels["core_c"])
        assert alone.time_s[-1] == 3600.0 * setup.hours


@pytest.mark.kernel
def test_a_cook_is_near_the_one_that_the_other_checks_cook():
    """The same butt the way of ``lab``: set air, humidity ratio 0.015, no dip when it goes on."""
    from validation import thumb
    from validation.practice.measure import measure

    curve = adapter.run([adapter.build(table.setups()["butt250"])])[0]
    assert measure(curve, "time_to 200F", "h") == pytest.approx(thumb.butt().end_h(0), rel=0.05)


@pytest.mark.kernel
def test_numbers_are_kept_and_found_again(tmp_path):
    rows = [row for row in table.rows() if row.setup in {"wing375", "thigh350"} and row.form == "value"]
    store = runs.Store(tmp_path / "runs.sqlite")
    keys = ["wing375", "thigh350"]
    first = runs.numbers_of([({}, keys)], rows, store)
    assert (store.made, store.found) == (2, 0)
    again = runs.Store(tmp_path / "runs.sqlite")
    assert runs.numbers_of([({}, keys)], rows, again) == first
    assert (again.made, again.found) == (0, 2)
    other = runs.numbers_of([({"pit:pellet-cooker.surface.wall_offset_k": 20.0}, keys)], rows, again)
    assert again.made == 2
    assert all(other[0][name] < first[0][name] for name in first[0] if name[1].startswith("time_to"))


@pytest.mark.kernel
def test_cooks_that_a_parameter_cannot_touch_are_not_cooked_again():
    rows = [row for row in table.rows() if row.key in {"wing375.175", "thigh350kettle.175"}]
    free = [p for p in parameters.match()[0] if p.name in {"kettle walls", "pellet walls"}]
    misfits = objective.Objective(free, rows, ())
    z = misfits([np.zeros(2), np.array([1.0, 0.0]), np.array([0.0, 1.0])])
    assert misfits.cooked == 4  # each cook twice, not three times
    at = {p.name: i + 1 for i, p in enumerate(free)}
    kettle = next(i for i, row in enumerate(rows) if "kettle" in row.key)
    assert z[at["pellet walls"]][kettle] == z[0][kettle]
    assert z[at["kettle walls"]][kettle] < z[0][kettle]


def test_the_result_is_data(tmp_path):
    free = [
        p for p in parameters.match()[0] if p.name in {"transport", "gelatin rate", "pellet walls", "butt collagen"}
    ]
    found = gaussnewton.search(linear, np.zeros(4), k=np.inf)
    made = outcome.Outcome("a command", 'a "seed"', free, ["nothing (constant:nothing)"], found, np.zeros(4), 12, 0)
    outcome.write(made, tmp_path)
    data = tomllib.loads((tmp_path / "universals.toml").read_text("utf-8"))
    assert data["made"]["seed"] == 'a "seed"'
    assert data["made"]["not_offered"] == ["nothing (constant:nothing)"]
    assert [entry["name"] for entry in data["universal"]] == data["correlations"]["names"]
    matrix = np.array(data["correlations"]["matrix"])
    np.testing.assert_allclose(np.diag(matrix), 1.0)
    chosen = [i for i, p in enumerate(free) if p.kind == "universal"]
    wanted = gaussnewton.correlations(found.covariance)[np.ix_(chosen, chosen)]
    np.testing.assert_allclose(matrix, wanted, atol=1e-4)
    for i, entry in zip(chosen, data["universal"], strict=True):
        assert entry["value"] == pytest.approx(free[i].value(found.x[i]), rel=1e-4)
    assert tomllib.loads((tmp_path / "pits.toml").read_text("utf-8"))["pit"][0]["name"] == "pellet walls"
    assert tomllib.loads((tmp_path / "cuts.toml").read_text("utf-8"))["cut"][0]["name"] == "butt collagen"
    again = tmp_path / "again"
    outcome.write(made, again)
    assert all((again / path.name).read_bytes() == path.read_bytes() for path in tmp_path.glob("*.*"))
