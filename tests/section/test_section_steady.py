"""The line solves against general solvers, and that nothing gets lost in them."""

from __future__ import annotations

import numpy as np
import pytest
import trial
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_banded
from tests.oracles.readable.rates import Around, Piece, State, derivative, fields_of
from tests.oracles.readable.steady import Lines, holds_of, prepare, steady

from pitreckon.section.course import COLUMN
from pitreckon.section.laws import STEAM_TAU_S, WATER_CP_J_KGK, latent_heat
from pitreckon.section.members import ROW
from pitreckon.section.tally import DRIPPED, EVAPORATED, GLAZE0, HEAT_IN, HEAT_OUT, POOL, TALLIES

N = 4


class Case:
    """A section in any state: cold and wet to hot and dry, with a pool, a glaze and cells that boil."""

    def __init__(self, shape: str, seed: int, dt: float = 60.0):
        rng = np.random.default_rng(seed)
        self.section = trial.SMALL[shape]()
        self.piece = Piece.of(self.section)
        members = trial.members(N, scale=[0.8, 1.0, 1.0, 1.3], boil_c=[98.0, 100.0, 94.0, 100.0])
        self.p = {name: members.values[i] for name, i in ROW.items()}
        table = trial.course(
            N,
            trial.stage(holds_liquid=[0.0, 1.0, 0.0, 0.0], glaze_solid=[0.0, 0.0, 0.3, 0.0]),
        ).table[0]
        self.stage = {name: table[i] for name, i in COLUMN.items()}
        shape_of = (self.section.cells, N)
        self.temp_c = rng.uniform(5.0, 105.0, shape_of)
        self.water = np.where(self.piece.meat > 0.0, rng.uniform(0.01, 3.7, shape_of), 0.0)
        tally = np.zeros((TALLIES + 2 * self.piece.outer.size, N))
        tally[POOL] = [0.0, 0.02 * self.section.outer_area.sum(), 0.0, 0.0]
        tally[self.piece.glazes] = 0.1
        tally[self.piece.skins] = 1.5
        self.state = self.at(self.temp_c, self.water, tally)
        self.fields = fields_of(self.piece, self.p, self.state)
        self.ahead_s = np.full(N, 0.6 * dt)
        self.steadier = prepare(self.piece, self.p, self.stage, self.ahead_s, self.state, self.fields)
        self.rate = State(
            self.fields.capacity * rng.standard_normal(shape_of),
            np.where(self.piece.meat > 0.0, 1e-3 * rng.standard_normal(shape_of), 0.0),
            rng.standard_normal(tally.shape),
        )

    def at(self, temp_c, water, tally) -> State:
        cold = State(np.zeros_like(temp_c), water, tally)
        return State(temp_c * fields_of(self.piece, self.p, cold).capacity, water, tally)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("shape", [(1, 7), (4, 1), (5, 6)])
def test_lines_are_the_banded_solution(axis, shape):
    rng = np.random.default_rng(1)
    own = rng.uniform(0.5, 2.0, (*shape, N))
    link = rng.uniform(0.0, 30.0, (*(np.array(shape) - np.eye(2, dtype=int)[axis]), N))
    right = rng.standard_normal(own.shape)
    got = Lines.of(axis, own, link).solved(right)
    own, link, right, got = (np.moveaxis(a, axis, 0) for a in (own, link, right, got))
    for line in range(own.shape[1]):
        for m in range(N):
            g = link[:, line, m]
            banded = np.zeros((3, len(own)))
            banded[0, 1:] = banded[2, :-1] = -g
            banded[1] = own[:, line, m]
            banded[1, :-1] += g
            banded[1, 1:] += g
            expected = solve_banded((1, 1), banded, right[:, line, m])
            np.testing.assert_allclose(got[:, line, m], expected, rtol=1e-12, atol=1e-13)


def dense(case: Case, own, cell_value, axis, m, wet):
    """One direction's equations of one member as a full matrix, from the section as it stands."""
    section = case.section
    matrix = np.diag(own[:, m])
    steps = ((1, 0), (0, 1))[axis]
    conductance = (section.gx, section.gy)[axis]
    for i in range(section.nx - steps[0]):
        for j in range(section.ny - steps[1]):
            a, b = i * section.ny + j, (i + steps[0]) * section.ny + j + steps[1]
            mean = 0.5 * (cell_value[a, m] + cell_value[b, m])
            g = conductance[i, j] * mean * case.ahead_s[m] / case.p["scale"][m] ** 2
            g *= min(1.0 - section.bone[a], 1.0 - section.bone[b]) if wet else 1.0
            matrix[[a, b], [a, b]] += g
            matrix[[a, b], [b, a]] -= g
    return matrix


@pytest.mark.parametrize("shape", trial.SMALL)
def test_steadied_rates_are_those_of_full_matrices(shape):
    case = Case(shape, 2)
    piece, s, fields = case.piece, case.steadier, case.fields
    got = steady(piece, case.p, s, case.rate)
    slope = np.where(fields.excess > -1e9, 0.5 * (1.0 + fields.excess / np.sqrt(fields.excess**2 + 0.04)), 0.0)
    mobility = (fields.transport * slope + fields.diffusion) * np.clip(case.water / 0.1, 0.0, 1.0)
    meat = np.where(piece.meat > 0.0, piece.meat, 1.0)[:, 0]
    for m in range(N):
        water = case.rate.water[:, m].copy()
        # What the water carries at the surface's temperature is put aside while the heat is worked on.
        carried = piece.meat[:, 0] * WATER_CP_J_KGK * case.p["dry_density"][m] * case.temp_c[piece.outer, m].mean()
        heat = case.rate.heat[:, m] - carried * water
        for axis, faces in enumerate((piece.sideways, ~piece.sideways)):
            own = piece.volume * fields.capacity + (s.boil_heat if axis == 1 else 0.0)
            np.add.at(own, piece.outer[faces], s.face_heat[faces])
            matrix = dense(case, own, fields.conductivity, axis, m, wet=False)
            warming = np.linalg.solve(matrix, case.section.volume * heat)
            heat = fields.capacity[:, m] * warming
            for face in np.flatnonzero(faces):
                cell = piece.outer[face]
                water[cell] -= (
                    s.face_steam[face, m] * warming[cell] * piece.per_meat[cell, 0] / case.p["dry_density"][m]
                )
        water -= piece.per_meat[:, 0] * s.boil_steam[:, m] * warming / case.p["dry_density"][m]
        for axis, faces in enumerate((piece.sideways, ~piece.sideways)):
            own = (case.section.volume * meat)[:, None] * np.ones(N) + (s.boil_dry if axis == 1 else 0.0)
            np.add.at(own, piece.outer[faces], s.face_water[faces] + s.face_ooze[faces])
            water = np.linalg.solve(dense(case, own, mobility, axis, m, wet=True), case.section.volume * meat * water)
        heat = heat + carried * water
        np.testing.assert_allclose(got.heat[:, m], heat, rtol=1e-9, atol=1e-9 * np.abs(heat).max())
        np.testing.assert_allclose(got.water[:, m], water, rtol=1e-9, atol=1e-9 * np.abs(water).max())


@pytest.mark.parametrize("shape", trial.SMALL)
def test_no_look_ahead_changes_nothing(shape):
    case = Case(shape, 3, dt=0.0)
    got = steady(case.piece, case.p, case.steadier, case.rate)
    for name in ("heat", "water", "tally"):
        np.testing.assert_allclose(getattr(got, name), getattr(case.rate, name), rtol=1e-13, atol=0.0)


@given(shape=st.sampled_from(sorted(trial.SMALL)), seed=st.integers(0, 2**32 - 1), dt=st.floats(0.1, 3600.0))
def test_what_went_in_is_there_or_was_counted(shape, seed, dt):
    case = Case(shape, seed, dt)
    case.rate.tally[:] = 0.0
    got = steady(case.piece, case.p, case.steadier, case.rate)
    volume = case.piece.volume
    water_in = holds_of(case.piece) * case.p["dry_density"]
    for went_in, there, counted in (
        (volume * case.rate.heat, volume * got.heat, got.tally[HEAT_OUT]),
        (water_in * case.rate.water, water_in * got.water, got.tally[EVAPORATED] + got.tally[DRIPPED]),
    ):
        size = (np.abs(went_in) + np.abs(there)).sum(axis=0) + np.abs(counted)
        assert np.all(np.abs((went_in - there).sum(axis=0) - counted) <= 1e-12 * size)
    assert not got.tally[HEAT_IN].any()
    # What runs off goes to the pool of a piece that has one, and nowhere else.
    np.testing.assert_allclose(got.tally[POOL], case.stage["holds_liquid"] * got.tally[DRIPPED], rtol=1e-12)
    assert not got.tally[GLAZE0:].any()


def surface_response(case: Case, what: str):
    """By differences: how heat and vapour that leave by the outer faces rise with their temperature or water."""
    piece, around = case.piece, Around(np.full(N, 120.0), np.full(N, 120.0), case.stage)
    nudge = 1e-3 if what == "temp" else 1e-4

    def left(sign):
        temp_c, water = case.temp_c.copy(), case.water.copy()
        cells = np.unique(piece.outer)
        (temp_c if what == "temp" else water)[cells] += 0.5 * sign * nudge
        state = case.at(temp_c, water, case.state.tally)
        rate = derivative(piece, case.p, around, state, fields_of(piece, case.p, state))
        return rate.tally

    return (left(1.0) - left(-1.0)) / nudge


@pytest.mark.parametrize("shape", trial.SMALL)
def test_faces_take_what_the_physics_takes(shape):
    """Below boiling, against differences of the rates: within 15 % for heat, vapour and drying.

    The line solves leave out that hot vapour carries its own heat along, and use a rough slope of the vapour pressure;
    both only steady the scheme.
    """
    case = Case(shape, 5)
    case.temp_c = np.full_like(case.temp_c, 55.0)
    case.water = np.where(case.piece.meat > 0.0, 0.2, 0.0) * np.ones(N)
    case.state = case.at(case.temp_c, case.water, case.state.tally)
    case.fields = fields_of(case.piece, case.p, case.state)
    s = prepare(case.piece, case.p, case.stage, np.ones(N), case.state, case.fields)
    by_temp, by_water = surface_response(case, "temp"), surface_response(case, "water")
    carried = WATER_CP_J_KGK * case.temp_c[0] / latent_heat(case.temp_c[0])
    heat = by_temp[HEAT_OUT] - by_temp[HEAT_IN]
    np.testing.assert_allclose(s.face_heat.sum(axis=0), heat, rtol=0.15)
    assert np.all(s.face_heat.sum(axis=0) < heat * (1.0 + carried))
    bare = [0, 1, 3]  # on the glazed member the meat's own vapour is that of the faces below
    np.testing.assert_allclose(s.face_steam.sum(axis=0)[bare], by_temp[EVAPORATED][bare], rtol=0.15, atol=1e-12)
    # With liquid in the wrap the vapour of the meat falls by the share once more than its activity does.
    drying = s.face_water.sum(axis=0) * case.p["dry_density"]
    np.testing.assert_allclose(drying[[0, 3]], by_water[EVAPORATED][[0, 3]], rtol=0.15)


@pytest.mark.parametrize("shape", trial.SMALL)
@pytest.mark.parametrize("water", [0.2, 3.6])
def test_faces_shed_what_the_physics_sheds(shape, water):
    """Juice by differences of the rates: run-off where there is too much of it, drinking where liquid stands."""
    case = Case(shape, 7)
    case.temp_c = np.full_like(case.temp_c, 75.0)
    case.water = np.where(case.piece.meat > 0.0, water, 0.0) * np.ones(N)
    case.state = case.at(case.temp_c, case.water, case.state.tally)
    case.fields = fields_of(case.piece, case.p, case.state)
    s = prepare(case.piece, case.p, case.stage, np.ones(N), case.state, case.fields)
    shed = surface_response(case, "water")[DRIPPED]
    assert (shed > 0.0).any()
    np.testing.assert_allclose(s.face_ooze.sum(axis=0) * case.p["dry_density"], shed, rtol=1e-6, atol=1e-15)


@pytest.mark.parametrize("shape", trial.SMALL)
def test_boiling_takes_what_the_physics_takes(shape):
    """A kelvin above boiling turns into steam within the steam's time constant, and only where there is water."""
    case = Case(shape, 6)
    s = prepare(case.piece, case.p, case.stage, np.full(N, STEAM_TAU_S), case.state, case.fields)
    hot = (case.temp_c > case.p["boil_c"]) & (case.piece.meat > 0.0)
    assert hot.any()
    assert not s.boil_heat[~hot].any()
    wet = np.clip(case.water / 0.1, 0.0, 1.0)
    expected = (case.piece.volume * case.fields.capacity * wet)[hot]
    np.testing.assert_allclose(s.boil_heat[hot], 1.05 * expected, rtol=1e-12)
    per_kg = latent_heat(case.temp_c) + WATER_CP_J_KGK * case.temp_c
    np.testing.assert_allclose(s.boil_steam[hot] * per_kg[hot], s.boil_heat[hot], rtol=1e-12)
    # Where there is little water, steam goes with it: by differences of the throttle.
    little = hot & (case.water < 0.1)
    over = case.temp_c - case.p["boil_c"]
    steam = case.piece.volume * case.fields.capacity * over / latent_heat(case.temp_c)
    np.testing.assert_allclose(s.boil_dry[little], (steam / 0.1 / case.p["dry_density"])[little], rtol=1e-12)
    assert not s.boil_dry[~little].any()
