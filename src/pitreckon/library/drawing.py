"""Figures of the library: bare axes, hours, the reader's scale; and the section that labelled arrays were made of."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, TypeGuard

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.extras import loading
from pitreckon.section.shapes import Section

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from xarray import Dataset

INK, SMOKE, PALE, PAPER = "#1d1a17", "#6d665e", "#d9d4cc", "#ffffff"
HOUR_S: Final = 3600.0
WIDE: Final = 7.0
"""Of every figure [in]."""


def figure(tall: float, rows: int = 1, columns: int = 1, **grid: Any) -> tuple[Figure, Any]:
    """An empty figure, and its axes, (rows, columns). tall: its height [in]

    Raises MissingExtraError: Matplotlib is not installed
    """
    with loading("matplotlib", "a picture"):
        from matplotlib.figure import Figure  # noqa: PLC0415  half a second, and not everybody has it

    made = Figure(figsize=(WIDE, tall), facecolor=PAPER, layout="constrained")
    axes = made.subplots(rows, columns, squeeze=False, **grid)
    for each in axes.flat:
        bare(each)
    return made, axes


def bare(axes: Axes) -> None:
    """Axes with hair lines."""
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(SMOKE)
        axes.spines[side].set_linewidth(0.8)
    axes.tick_params(colors=INK, width=0.8, length=3, labelsize=9)


def in_scale(temp_c: Any, degrees: str) -> Any:
    """Temperatures [degC] in the scale that is asked for."""
    return 1.8 * temp_c + 32.0 if degrees == "F" else temp_c


def is_simulation(what: Any) -> TypeGuard[Dataset]:
    """Are these the labelled arrays of a simulation?"""
    return hasattr(what, "data_vars") and "temperature" in what and "core_cell" in what.attrs


def needs_simulation(what: Any) -> Dataset:
    """The same. Raises InputError: they are something else."""
    if not is_simulation(what):
        raise InputError(f"a {type(what).__name__} is no simulation", "Give what pitreckon.simulate returned")
    return what


def section_of(arrays: Dataset) -> Section:
    """The section that labelled arrays were made of, as far as a picture needs it: places, bone, core, shape."""
    said = arrays.attrs
    nx, ny = int(said["cells_x"]), int(said["cells_y"])
    x, y = (arrays[name].to_numpy().reshape(nx, ny) for name in ("x", "y"))
    core = int(said["core_cell"])
    group = arrays["face_group"].to_numpy()
    return Section(
        shape=str(said["shape"]), nx=nx, ny=ny, x_m=x[:, 0].copy(), y_m=y[0].copy(),
        volume=arrays["volume"].to_numpy(), bone=arrays["bone"].to_numpy(),
        gx=np.zeros((0, ny)), gy=np.zeros((nx, 0)),
        outer_cell=arrays["face_cell"].to_numpy(), outer_area=arrays["face_area"].to_numpy(), outer_group=group,
        outer_sideways=np.zeros(group.size, dtype=bool), core=core, places=np.array([core]),
        mirrored=bool(said["mirrored"]),
    )  # fmt: skip


def band(values: Floats, weights: Floats | None = None) -> Floats:
    """5, 50 and 95 % of members that are there, (3, times), of values (times, members); nan where under half are."""
    out = np.full((3, values.shape[0]), np.nan)
    weights = np.full(values.shape[1], 1.0 / values.shape[1]) if weights is None else weights
    for n, row in enumerate(values):
        there = np.isfinite(row) & (weights > 0.0)
        if weights[there].sum() >= 0.5 * weights.sum():
            order = np.argsort(row[there])
            share = np.cumsum(weights[there][order])
            middle = (share - 0.5 * weights[there][order]) / share[-1]
            out[:, n] = np.interp((0.05, 0.5, 0.95), middle, row[there][order])
    return out
