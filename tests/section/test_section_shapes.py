"""Grids add up to the bodies they stand for."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trial
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon import catalog
from pitreckon.section import material, shapes

lengths = st.floats(0.02, 0.3)
counts = st.integers(4, 30)
few = settings(max_examples=examples(25), deadline=None, derandomize=True)


@few
@given(thick=lengths, n=counts)
def test_slab(thick, n):
    s = shapes.slab(thick, n=n)
    assert s.volume.sum() == pytest.approx(thick, rel=1e-12)
    assert s.outer_area.sum() == pytest.approx(2.0)


@few
@given(diameter=lengths, n=counts)
def test_ball(diameter, n):
    s = shapes.ball(diameter, n=n)
    assert s.volume.sum() == pytest.approx(pi * diameter**3 / 6.0, rel=1e-12)
    assert s.outer_area.sum() == pytest.approx(pi * diameter**2, rel=1e-12)


@few
@given(thick=lengths, width=lengths, nx=counts, ny=counts)
def test_block_is_a_quarter(thick, width, nx, ny):
    s = shapes.block(thick, width, nx=nx, ny=ny)
    assert s.volume.sum() == pytest.approx(thick * width / 4.0, rel=1e-12)
    assert s.outer_area.sum() == pytest.approx((thick + width) / 2.0, rel=1e-12)
    assert s.outer_area[s.outer_group == shapes.UPPER].sum() == pytest.approx(width / 2.0, rel=1e-12)
    assert s.outer_area[s.outer_group == shapes.SIDE].sum() == pytest.approx(thick / 2.0, rel=1e-12)


@few
@given(high=lengths, diameter=lengths, nx=counts, ny=counts)
def test_drum_is_the_upper_half(high, diameter, nx, ny):
    s = shapes.drum(high, diameter, nx=nx, ny=ny)
    assert s.volume.sum() == pytest.approx(pi * diameter**2 * high / 8.0, rel=1e-12)
    top = s.outer_area[s.outer_group == shapes.UPPER].sum()
    assert top == pytest.approx(pi * diameter**2 / 4.0, rel=1e-12)
    assert s.outer_area.sum() - top == pytest.approx(pi * diameter * high / 2.0, rel=1e-12)


@few
@given(thick=st.floats(0.02, 0.06), spacing=st.floats(0.02, 0.06), nx=st.integers(6, 12), ny=st.integers(20, 40))
def test_rack(thick, spacing, nx, ny):
    s = shapes.rack(thick, spacing, 0.006, 0.005, 0.008, nx=nx, ny=ny)
    assert s.volume.sum() == pytest.approx(0.5 * thick * spacing, rel=1e-12)
    for group in (shapes.UPPER, shapes.UNDER):
        assert s.outer_area[s.outer_group == group].sum() == pytest.approx(0.5 * spacing, rel=1e-12)
    assert np.all((s.bone >= 0.0) & (s.bone <= 1.0))
    # Half an ellipse.
    assert (s.volume * s.bone).sum() == pytest.approx(0.5 * pi * 0.006 * 0.005, rel=0.01)


@few
@given(long=lengths, cavity=st.floats(0.02, 0.1), wall=st.floats(0.01, 0.1), nx=counts, ny=counts)
def test_bird_is_half_a_hollow_body(long, cavity, wall, nx, ny):
    across = cavity + 2.0 * wall
    s = shapes.bird(long, across, cavity, nx=nx, ny=ny)
    assert s.volume.sum() == pytest.approx(pi * (across**2 - cavity**2) * long / 8.0, rel=1e-12)
    area = {group: s.outer_area[s.outer_group == group].sum() for group in range(shapes.GROUPS)}
    assert area[shapes.UPPER] == pytest.approx(pi * across * long / 2.0, rel=1e-12)
    assert area[shapes.CAVITY] == pytest.approx(pi * cavity * long / 2.0, rel=1e-12)
    assert area[shapes.SIDE] == pytest.approx(pi * (across**2 - cavity**2) / 4.0, rel=1e-12)
    assert shapes.half_thickness(s) == pytest.approx(0.5 * wall)
    assert s.places[-1] // s.ny == s.nx - 1  # the probe goes in through the skin


@pytest.mark.parametrize("shape", trial.SMALL)
def test_conductances_and_cells_are_sound(shape):
    s = trial.SMALL[shape]()
    assert s.gx.shape == (s.nx - 1, s.ny)
    assert s.gy.shape == (s.nx, s.ny - 1)
    assert np.all(s.gx > 0.0)
    assert np.all(s.gy > 0.0)
    assert np.all(s.volume > 0.0)
    assert s.volume.shape == s.bone.shape == (s.cells,)
    assert s.places[0] == s.core
    assert s.bone[s.core] == 0.0


@pytest.mark.parametrize("key", sorted(catalog.cuts()))
def test_first_spacing_of_every_cut_is_near_the_wanted(key):
    """Within a tenth, or finer where even cells already are."""
    s = material.section_of(catalog.cut(key))
    thick = s.shape in ("block", "drum")
    wanted = shapes.THICK_SPACING_M if thick else shapes.SURFACE_SPACING_M
    axes = [(s.y_m, wanted)] + ([(s.x_m, shapes.SIDEWAYS * wanted)] if thick else [])
    if s.shape == "bird":  # its skin is met across the body, as a drum's side is
        axes = [(s.y_m, shapes.SIDEWAYS * shapes.THICK_SPACING_M)]
    for axis, spacing in axes:
        first = float(axis[-1] - axis[-2])
        even = float(axis[-1] - axis[0]) / (axis.size - 1)
        assert first <= 1.1 * spacing
        assert first >= min(0.9 * spacing, 0.9 * even)


@pytest.mark.parametrize("key", sorted(catalog.cuts()))
def test_bone_of_every_cut_lies_inside(key):
    s = material.section_of(catalog.cut(key))
    assert s.bone[s.outer_cell].max() == 0.0
    assert s.bone[s.core] == 0.0
