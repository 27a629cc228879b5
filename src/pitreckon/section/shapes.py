"""Shapes of a piece of meat as finite-volume grids: ``slab``, ``ball``, ``block``, ``drum``, ``rack`` and ``bird``.

Every grid is structured, ``nx`` by ``ny`` nodes, flat index ``i * ny + j``. A node lies *on* every exposed
surface and every mirror plane (half a control volume, so that the face value and the value at the centre are
unknowns of their own). Cells are graded towards every drying face, because a thin drying front decides the accuracy.

All lengths are those of the piece at its catalog size; a member of the ensemble is the same piece scaled.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats, Ints

UPPER, UNDER, SIDE, CAVITY = 0, 1, 2, 3
"""Groups of outer faces: what a wrap covers and what the cook sees is said per group; a bird's cavity is one, too."""

GROUPS = 4
SURFACE_SPACING_M = 0.6e-3
"""Distance of the first node below a drying face [m] where a shape has cells enough for it. ``validation``
holds what finer cells would change: a fraction of a degree and about a minute."""

THICK_SPACING_M, SIDEWAYS = 0.8e-3, 1.5
THICK_HALF_M = 0.025
"""Half thickness from which a piece's core answers in hours."""
"""The same for blocks and drums, whose fronts have further to go; their rims, by this factor, matter less."""


@dataclass(frozen=True)
class Section:
    """A piece of meat as cells. Volumes, conductances and areas are per piece (ball, drum, bird), per metre of
    length (block, rack) or per square metre (slab): only their ratios matter.

    shape: one of slab, ball, block, drum, rack, bird
    nx, ny: nodes in the two directions
    x_m, y_m: node positions [m]
    volume: control volumes, shape (nx*ny,)
    bone: share of each control volume that is bone, shape (nx*ny,)
    gx, gy: face area over node distance, shapes (nx-1, ny) and (nx, ny-1)
    outer_cell, outer_area, outer_group: the outer faces, shape (nb,)
    outer_sideways: whether a face ends a line along x, shape (nb,); the others end lines along y
    core: the cell where a cook puts the probe: the thermal centre, between the bones of a rack
    places: cells on the probe's way from the core to the upper face, core first
    mirrored: the upper group stands for both flat faces (a quarter model)
    """

    shape: str
    nx: int
    ny: int
    x_m: Floats
    y_m: Floats
    volume: Floats
    bone: Floats
    gx: Floats
    gy: Floats
    outer_cell: Ints
    outer_area: Floats
    outer_group: Ints
    outer_sideways: NDArray[np.bool_]
    core: int
    places: Ints
    mirrored: bool

    @property
    def cells(self) -> int:
        """Number of control volumes."""
        return self.nx * self.ny


@dataclass(frozen=True)
class _Axis:
    node: Floats
    face: Floats


def _stretch(xi: Floats, beta: float) -> Floats:
    if beta < 1e-9:
        return xi
    stretched: Floats = np.tanh(beta * xi) / math.tanh(beta)
    return stretched


def _beta_for(first: float, xi_first: float) -> float:
    """Strength of the stretching that puts the last-but-one node ``first`` (of 1) from the end."""
    lo, hi = 0.0, 12.0
    if 1.0 - xi_first <= first:
        return 0.0
    for _ in range(60):
        mid = 0.5 * (lo + hi)
        gap = 1.0 - float(_stretch(np.array([xi_first]), mid)[0])
        lo, hi = (mid, hi) if gap > first else (lo, mid)
    return 0.5 * (lo + hi)


def mirror_to_surface(length_m: float, n: int, spacing_m: float) -> _Axis:
    """Nodes from a mirror plane at 0 to an exposed surface at ``length_m``; the first is on the plane."""
    xi_node = np.linspace(0.0, 1.0, n)
    xi_face = np.concatenate(([0.0], 0.5 * (xi_node[1:] + xi_node[:-1]), [1.0]))
    beta = _beta_for(spacing_m / length_m, float(xi_node[-2]))
    return _Axis(length_m * _stretch(xi_node, beta), length_m * _stretch(xi_face, beta))


def surface_to_surface(length_m: float, n: int, spacing_m: float) -> _Axis:
    """Nodes from one exposed surface at 0 to another at ``length_m``."""
    xi_node: Floats = np.linspace(-1.0, 1.0, n)
    xi_face = np.concatenate(([-1.0], 0.5 * (xi_node[1:] + xi_node[:-1]), [1.0]))
    beta = _beta_for(2.0 * spacing_m / length_m, float(xi_node[-2]))
    half = 0.5 * length_m
    return _Axis(half * (1.0 + _stretch(xi_node, beta)), half * (1.0 + _stretch(xi_face, beta)))


def mirror_to_mirror(length_m: float, n: int) -> _Axis:
    """Even nodes between two mirror planes, the first and the last on them."""
    node = np.linspace(0.0, length_m, n)
    return _Axis(node, np.concatenate(([0.0], 0.5 * (node[1:] + node[:-1]), [length_m])))


def slab(thickness_m: float, *, n: int = 25, spacing_m: float = SURFACE_SPACING_M) -> Section:
    """A wide thin piece, both faces exposed; per square metre of one face."""
    y = surface_to_surface(thickness_m, n, spacing_m)
    outer = [(0, 1.0, UNDER), (n - 1, 1.0, UPPER)]
    middle = int(np.argmin(np.abs(y.node - 0.5 * thickness_m)))
    return _assemble("slab", _Axis(np.zeros(1), np.array([0.0, 1.0])), y, _flat, outer, middle, mirrored=False)


def ball(diameter_m: float, *, n: int = 25, spacing_m: float = SURFACE_SPACING_M) -> Section:
    """A round piece; radius along the second axis."""
    r = mirror_to_surface(0.5 * diameter_m, n, spacing_m)
    area = 4.0 * math.pi * r.face[-1] ** 2
    x = _Axis(np.zeros(1), np.array([0.0, 1.0]))
    return _assemble("ball", x, r, _round, [(n - 1, area, UPPER)], 0, mirrored=True)


def block(
    thickness_m: float, width_m: float, *, nx: int = 10, ny: int = 10, spacing_m: float = THICK_SPACING_M
) -> Section:
    """A quarter of the section of a long piece; x across the width, y through the thickness."""
    x = mirror_to_surface(0.5 * width_m, nx, SIDEWAYS * spacing_m)
    y = mirror_to_surface(0.5 * thickness_m, ny, spacing_m)
    outer = [(i * ny + ny - 1, w, UPPER) for i, w in enumerate(np.diff(x.face))]
    outer += [((nx - 1) * ny + j, w, SIDE) for j, w in enumerate(np.diff(y.face))]
    return _assemble("block", x, y, _flat, outer, 0, mirrored=True)


def drum(
    height_m: float, diameter_m: float, *, nx: int = 10, ny: int = 10, spacing_m: float = THICK_SPACING_M
) -> Section:
    """A quarter of a squat round piece; x is the radius, y the half height."""
    r = mirror_to_surface(0.5 * diameter_m, nx, SIDEWAYS * spacing_m)
    z = mirror_to_surface(0.5 * height_m, ny, spacing_m)
    ring = math.pi * np.diff(r.face**2)
    outer = [(i * ny + ny - 1, w, UPPER) for i, w in enumerate(ring)]
    rim = 2.0 * math.pi * r.face[-1]
    outer += [((nx - 1) * ny + j, rim * w, SIDE) for j, w in enumerate(np.diff(z.face))]
    return _assemble("drum", r, z, _turned, outer, 0, mirrored=True)


def rack(
    thickness_m: float,
    bone_spacing_m: float,
    bone_half_width_m: float,
    bone_half_height_m: float,
    bone_depth_m: float,
    *,
    nx: int = 5,
    ny: int = 17,
    spacing_m: float = SURFACE_SPACING_M,
) -> Section:
    """The unit cell from the middle of a rib bone to the middle of the gap between two; y from bone face up.

    ``bone_depth_m`` is the height of the bone's centre above the bone face. The core is in the gap, at half
    the thickness: where a cook slides the probe in between the bones.
    """
    x = mirror_to_mirror(0.5 * bone_spacing_m, nx)
    y = surface_to_surface(thickness_m, ny, spacing_m)
    outer = [(i * ny + ny - 1, w, UPPER) for i, w in enumerate(np.diff(x.face))]
    outer += [(i * ny, w, UNDER) for i, w in enumerate(np.diff(x.face))]
    middle = (nx - 1) * ny + int(np.argmin(np.abs(y.node - 0.5 * thickness_m)))
    bone = _ellipse_share(x, y, bone_depth_m, bone_half_width_m, bone_half_height_m)
    return _assemble("rack", x, y, _flat, outer, middle, mirrored=False, bone=bone)


def bird(
    length_m: float,
    diameter_m: float,
    cavity_m: float,
    *,
    nx: int = 14,
    ny: int = 8,
    spacing_m: float = THICK_SPACING_M,
) -> Section:
    """Half of a hollow round body, a bird on its back; x is the radius from cavity to skin, y half its length.

    What the cook sees is the skin all round; the ends are sides, the cavity has air of its own. The core is in the
    middle of the wall, as deep in the breast as a cook slides the probe.
    """
    wall = surface_to_surface(0.5 * (diameter_m - cavity_m), nx, spacing_m)
    r = _Axis(0.5 * cavity_m + wall.node, 0.5 * cavity_m + wall.face)
    z = mirror_to_surface(0.5 * length_m, ny, SIDEWAYS * spacing_m)
    outer = [((nx - 1) * ny + j, 2.0 * math.pi * r.face[-1] * w, UPPER) for j, w in enumerate(np.diff(z.face))]
    outer += [(j, 2.0 * math.pi * r.face[0] * w, CAVITY) for j, w in enumerate(np.diff(z.face))]
    outer += [(i * ny + ny - 1, w, SIDE) for i, w in enumerate(math.pi * np.diff(r.face**2))]
    middle = int(np.argmin(np.abs(wall.node - 0.5 * wall.node[-1]))) * ny
    return _assemble("bird", r, z, _turned, outer, middle, mirrored=True, sideways=(UPPER, CAVITY))


def _ellipse_share(x: _Axis, y: _Axis, centre_m: float, a_m: float, b_m: float, fine: int = 16) -> Floats:
    """Share of each control volume inside an ellipse centred on the mirror plane x = 0."""
    inner = (np.arange(fine) + 0.5) / fine
    px = (x.face[:-1, None] + np.diff(x.face)[:, None] * inner)[:, None, :, None]
    py = (y.face[:-1, None] + np.diff(y.face)[:, None] * inner)[None, :, None, :]
    inside = (px / a_m) ** 2 + ((py - centre_m) / b_m) ** 2 <= 1.0
    share: Floats = inside.mean(axis=(2, 3))
    return share.ravel()


def _flat(x: _Axis, y: _Axis) -> tuple[Floats, Floats, Floats]:
    dx, dy = np.diff(x.face), np.diff(y.face)
    gx = dy[None, :] / np.diff(x.node)[:, None]
    gy = dx[:, None] / np.diff(y.node)[None, :]
    return dx[:, None] * dy[None, :], gx, gy


def _turned(r: _Axis, z: _Axis) -> tuple[Floats, Floats, Floats]:
    dz, ring = np.diff(z.face), math.pi * np.diff(r.face**2)
    gr = 2.0 * math.pi * r.face[1:-1, None] * dz[None, :] / np.diff(r.node)[:, None]
    gz = ring[:, None] / np.diff(z.node)[None, :]
    return ring[:, None] * dz[None, :], gr, gz


def _round(_x: _Axis, r: _Axis) -> tuple[Floats, Floats, Floats]:
    shell = 4.0 / 3.0 * math.pi * np.diff(r.face**3)
    g = 4.0 * math.pi * r.face[1:-1] ** 2 / np.diff(r.node)
    return shell[None, :], np.zeros((0, r.node.size)), g[None, :]


def _assemble(shape, x, y, metric, outer, core, *, mirrored, bone=None, sideways=(SIDE,)) -> Section:  # type: ignore[no-untyped-def]
    volume, gx, gy = metric(x, y)
    nx, ny = x.node.size, y.node.size
    row, depth = divmod(core, ny)
    on_the_way = (0.0, 1 / 3, 2 / 3, 1.0)
    if UPPER in sideways:
        places = np.array([round(row + (nx - 1 - row) * f) * ny + depth for f in on_the_way])
    else:
        places = np.array([row * ny + round(depth + (ny - 1 - depth) * f) for f in on_the_way])
    group = np.array([g for _, _, g in outer], dtype=np.int64)
    return Section(
        shape=shape,
        nx=nx,
        ny=ny,
        x_m=x.node,
        y_m=y.node,
        volume=volume.ravel(),
        bone=np.zeros(nx * ny) if bone is None else bone,
        gx=np.ascontiguousarray(gx),
        gy=np.ascontiguousarray(gy),
        outer_cell=np.array([c for c, _, _ in outer], dtype=np.int64),
        outer_area=np.array([a for _, a, _ in outer], dtype=np.float64),
        outer_group=group,
        outer_sideways=np.isin(group, sideways),
        core=core,
        places=places,
        mirrored=mirrored,
    )


def half_thickness(section: Section) -> float:
    """Shortest way from the core to a face, in the section's own size [m]."""
    if section.shape == "bird":
        return 0.5 * float(section.x_m[-1] - section.x_m[0])
    if not section.mirrored:
        return 0.5 * float(section.y_m[-1])
    return float(min(section.y_m[-1], section.x_m[-1]) if section.nx > 1 else section.y_m[-1])
