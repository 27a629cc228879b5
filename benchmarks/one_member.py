"""The section's equations for one member in double precision: what a general solver is given as its right side.

The same cells and laws as the kernel's, written as a user of such a solver would: one vector, one compiled function,
loops over cells that vectorise. The state is enthalpy and water of every cell, interleaved along the shorter direction
(a narrow band), then the liquid standing in the wrap, the glaze of every face and the vapour that each gave off bare,
on which its skin grows. The slow reactions are left out: they do not act back, and so much less work is in the general
solvers' favour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy import sparse

from pitreckon.section import laws
from pitreckon.section.compiler import Apart, set_up
from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW
from pitreckon.section.shapes import UPPER
from pitreckon.section.simulate import Job

Floats = NDArray[np.float64]
COMPILED: dict[str, Any] = {
    "cache": True,
    "error_model": "numpy",
    "fastmath": {"contract"},
    "pipeline_class": Apart,
}
set_up()

CW, ZERO = laws.WATER_CP_J_KGK, laws.CELSIUS_ZERO_K
SIGMA, STEAM_TAU = laws.SIGMA_W_M2K4, laws.STEAM_TAU_S
INV_DRY, FILM, GLAZE_HOLD = 1.0 / laws.DRY_LIMIT, laws.POOL_FILM_KG_M2, laws.GLAZE_HOLD
MOST_VAPOUR, NOT_NONE = laws.MOST_VAPOUR, laws.NOT_NONE
SCALE, WATER0, DENSITY, DRY_CP = ROW["scale"], ROW["water"], ROW["dry_density"], ROW["dry_cp"]
K_BASE, K_TEMP, K_WATER, BONE_K, BONE_C = (
    ROW[name] for name in ("k_base", "k_temp", "k_water", "bone_k", "bone_capacity")
)
TRANSPORT, DIFFUSION, SHIFT, DROP, DRIP, DRINK = (
    ROW[name] for name in ("transport", "diffusion", "hold_shift", "hold_drop", "drip", "drink")
)
SKIN_B, SKIN_R, SKIN_E, SKIN_N = (ROW[name] for name in ("skin_b", "skin_r", "skin_e", "skin_n"))
PRESSURE, BOIL = ROW["pressure_pa"], ROW["boil_c"]
OFF_PIT, AIR, VAPOUR, WALL, DIP, RECOVERY = (
    COLUMN[name] for name in ("off_pit", "air_c", "vapour_pa", "wall_offset_k", "lid_dip_k", "lid_recovery_s")
)
HOLDS, GLAZE_W, GLAZE_S = (COLUMN[name] for name in ("holds_liquid", "glaze_water", "glaze_solid"))
LIQUID, VALUE = COLUMN["liquid"], COLUMN["value"]
CONV, EMIS = COLUMN["convection_0"], COLUMN["emissivity_0"]
STEFAN, THROUGH = COLUMN["vapour_0"], COLUMN["through_0"]
UNUSED_PER_S = 1e-6
"""Speed at which what acts on nothing (water of bone, a glaze where there is none, a skin under foil) goes to where it
is: a solver that differences a column without any effect tries ever larger steps in it, until they overflow."""
CELLS_H_SCALE = 3.5e6
"""Typical heat capacity [J/m3 K]: makes a tolerance in kelvin one in enthalpy."""


@njit(**COMPILED)
def rates(t, y, dy, opened, p, s, air, knot_s, cells, faces, where, room):
    """Time derivative ``dy`` of ``y`` at ``t`` [s].

    ``opened``: when the lid was last open [s], inf for never; ``p``, ``s``: parameters and stage; ``cells``: rows
    volume, bone, conductance to the next cell along x and along y; ``faces``: area; ``where``: ny, then each cell's
    place in ``y``, then cell and group of each face; ``room``: fields and flows, flows with ``ny`` zeros before, then
    what each face had given off when the stage began.
    """
    nc, ny = cells.shape[1], where[0]
    volume, bone, gx, gy = cells[0], cells[1], cells[2], cells[3]
    h, x, T, C, K, D, B, E, F, W = (
        room[0], room[1], room[2], room[3], room[4], room[5], room[6], room[7], room[8], room[9],
    )  # fmt: skip
    QX, QY, JX, JY, kept = room[10], room[11], room[12], room[13], room[14]
    for c in range(nc):
        h[c] = y[2 * where[1 + c]]
        x[c] = y[2 * where[1 + c] + 1] if bone[c] < 1.0 else 0.0
        kept[c] = x[c]
    melt = laws.melt_factor(p[SHIFT])
    for c in range(nc):
        b = bone[c]
        meat = 1.0 - b
        cap = meat * p[DENSITY] * (p[DRY_CP] + CW * x[c]) + b * p[BONE_C]
        here = h[c] / cap
        warm = laws.limited(here, -20.0, 140.0)
        C[c], T[c] = cap, here
        K[c] = meat * (p[K_BASE] + p[K_TEMP] * warm + p[K_WATER] * x[c]) + b * p[BONE_K]
        moves, lost = laws.transport_and_holding(warm, melt)
        D[c] = p[TRANSPORT] * moves
        B[c] = p[DIFFUSION] * laws.diffusion_shape(laws.limited(here, 0.0, 120.0))
        E[c] = x[c] - p[WATER0] * (1.0 - p[DROP] * lost)
        F[c] = laws.free_water(E[c])
        W[c] = laws.limited(x[c] * INV_DRY, 0.0, 1.0)
    shrink = 1.0 / p[SCALE]
    for c in range(nc - ny):
        QX[c + ny], JX[c + ny] = passed(c, c + ny, gx[c] * shrink * shrink, p[DENSITY], bone, T, K, D, B, E, F, W)
    for c in range(nc - 1):
        QY[c + ny], JY[c + ny] = passed(c, c + 1, gy[c] * shrink * shrink, p[DENSITY], bone, T, K, D, B, E, F, W)
    hottest = -1e9
    for c in range(nc):
        r = c + ny
        per = 1.0 / volume[c]
        h[c] = per * (QY[r - 1] - QY[r] + QX[r - ny] - QX[r])
        meat = 1.0 - bone[c]
        x[c] = per / meat * (JY[r - 1] - JY[r] + JX[r - ny] - JX[r]) if meat > 0.0 else 0.0
        hottest = max(hottest, T[c])
    if hottest > p[BOIL]:
        for c in range(nc):
            meat = 1.0 - bone[c]
            lat = laws.latent_heat(T[c])
            steam = C[c] * max(T[c] - p[BOIL], 0.0) / STEAM_TAU * W[c] / lat if meat > 0.0 else 0.0
            h[c] -= steam * (lat + CW * T[c])
            x[c] -= steam / (meat * p[DENSITY]) if meat > 0.0 else 0.0
    late = t / knot_s
    k = min(max(int(late), 0), air.shape[0] - 1)
    around = air[k] + (air[min(k + 1, air.shape[0] - 1)] - air[k]) * min(late - k, 1.0)
    around -= s[DIP] * np.exp(-(t - opened) / s[RECOVERY]) if t >= opened else 0.0
    around = s[AIR] if s[OFF_PIT] > 0.0 else around
    dy[2 * nc] = surface(
        around,
        y[2 * nc :],
        dy[2 * nc :],
        p,
        s,
        bone,
        volume,
        faces,
        where[1 + nc :],
        room[15],
        T,
        E,
        kept,
        h,
        x,
        shrink,
    )
    for c in range(nc):
        dy[2 * where[1 + c]] = h[c]
        dy[2 * where[1 + c] + 1] = x[c] if bone[c] < 1.0 else -UNUSED_PER_S * y[2 * where[1 + c] + 1]


@njit(**COMPILED, inline="always")
def passed(a, b, g, density, bone, T, K, D, B, E, F, W):
    """Heat [W] and water [kg/s over dry density] from cell ``a`` to ``b``."""
    pull = (D[a] + D[b]) * (F[a] - F[b]) + (B[a] + B[b]) * (E[a] - E[b])
    given = max(pull, 0.0) * W[a] + min(pull, 0.0) * W[b]
    moved = 0.5 * g * min(1.0 - bone[a], 1.0 - bone[b]) * given
    return 0.5 * (g * (K[a] + K[b]) * (T[a] - T[b]) + CW * density * moved * (T[a] + T[b])), moved


@njit(**COMPILED)
def surface(air, y, dy, p, s, bone, volume, faces, where, given, T, E, x_now, dh, dx, shrink):
    """Add what passes the outer faces; fills the rates of glaze and skin, returns that of the liquid in the wrap."""
    nb = faces.shape[0]
    film = FILM * faces.sum()
    wet = laws.limited(y[0] * p[SCALE] / film, 0.0, 1.0) * s[HOLDS]
    pool_rate = 0.0
    wall = air + s[WALL] + ZERO
    for n in range(nb):
        c, g = where[n], where[nb + n]
        meat = 1.0 - bone[c]
        coated = 1.0 if g == UPPER and s[GLAZE_S] > 0.0 else 0.0
        glaze = max(y[1 + n], 0.0)
        act = laws.surface_activity(max(x_now[c], 0.0), p[SKIN_B])
        act += (1.0 - act) * wet
        liquid = wet / (act + NOT_NONE)  # the share of the vapour that comes from liquid in the wrap
        act += (glaze / (glaze + GLAZE_HOLD * s[GLAZE_S] + 1e-12) - act) * coated
        grown = laws.skin_resistance(max(y[1 + nb + n], 0.0), p[SKIN_R], p[SKIN_E], p[SKIN_N])
        press = p[PRESSURE]
        pv = min(act * laws.saturation_pressure(laws.limited(T[c], 0.0, 140.0)), MOST_VAPOUR * press)
        drives = laws.log_ratio(press, min(s[VAPOUR], MOST_VAPOUR * press), pv)
        bare = s[STEFAN + g] * drives
        if drives > 0.0:  # what condenses meets no skin
            bare /= 1.0 + grown * s[STEFAN + g] * (1.0 - coated)
        vapour = bare + s[THROUGH + g] * drives
        squeezed = p[DRIP] * max(E[c], 0.0) + p[DRINK] * wet * min(E[c], 0.0)
        ooze = p[DENSITY] * squeezed * meat
        ts = T[c] + ZERO
        heat = s[CONV + g] * (air - T[c]) + s[EMIS + g] * SIGMA * (wall**4 - ts**4)
        own = vapour * (1.0 - liquid) * (1.0 - coated) + ooze
        reach = faces[n] * shrink
        dh[c] += reach / volume[c] * (heat - vapour * laws.latent_heat(T[c]) - CW * T[c] * own)
        if meat > 0.0:
            dx[c] -= reach / (volume[c] * meat) * own / p[DENSITY]
        pool_rate += reach * s[HOLDS] * (ooze - vapour * liquid * (1.0 - coated))
        dy[1 + n] = -vapour * coated - UNUSED_PER_S * y[1 + n] * (1.0 - coated)
        dy[1 + nb + n] = max(bare, 0.0) * (1.0 - liquid) * (1.0 - coated)
        if s[STEFAN + g] == 0.0:
            dy[1 + nb + n] = -UNUSED_PER_S * (y[1 + nb + n] - given[n])
    return pool_rate - UNUSED_PER_S * y[0] * (1.0 - s[HOLDS])


@dataclass
class Member:
    """One member of a job, ready for a solver: ``slope(t, y, dy)`` is its right side in the stage it is in."""

    job: Job
    i: int

    def __post_init__(self) -> None:
        section = self.job.section
        nx, ny, self.nc, self.nb = section.nx, section.ny, section.cells, section.outer_cell.size
        self.size = 2 * self.nc + 1 + 2 * self.nb
        self.p = np.ascontiguousarray(self.job.members.values[:, self.i])
        self.air = np.ascontiguousarray(self.job.drive.air_c[:, self.i])
        self.table = np.ascontiguousarray(self.job.course.table[:, :, self.i])
        self.cells = np.zeros((4, self.nc))
        self.cells[0], self.cells[1] = section.volume, section.bone
        self.cells[2].reshape(nx, ny)[: nx - 1] = section.gx
        self.cells[3].reshape(nx, ny)[:, : ny - 1] = section.gy
        order = np.arange(self.nc).reshape(nx, ny)
        self.place = (order if ny <= nx else np.arange(self.nc).reshape(ny, nx).T).ravel()
        self.where = np.concatenate(([ny], self.place, section.outer_cell, section.outer_group)).astype(np.int64)
        self.room = np.zeros((16, self.nc + ny))
        self.stage, self.opened = 0, np.inf
        self.evaluations = 0

    def slope(self, t: float, y: Floats, dy: Floats) -> None:
        """Fill ``dy``."""
        self.evaluations += 1
        rates(
            t, y, dy, self.opened, self.p, self.table[self.stage], self.air, self.job.drive.knot_s, self.cells,
            self.job.section.outer_area, self.where, self.room,
        )  # fmt: skip

    def derivative(self, t: float, y: Floats) -> Floats:
        """The same as a new vector."""
        dy = np.zeros_like(y)
        self.slope(t, y, dy)
        return dy

    def fresh(self) -> Floats:
        """The state at put-on."""
        p, bone = self.p, self.cells[1]
        y = np.zeros(self.size)
        water = np.where(bone < 1.0, p[WATER0], 0.0)
        capacity = (1.0 - bone) * p[DENSITY] * (p[DRY_CP] + CW * water) + bone * p[BONE_C]
        y[2 * self.place] = capacity * p[ROW["start_c"]]
        y[2 * self.place + 1] = water
        return y

    def enter(self, stage: int, t: float, y: Floats) -> None:
        """Begin a stage at ``t``: lid, glaze and liquid as the kernel has them; the skin stays as it has grown."""
        self.stage, self.opened = stage, np.inf if stage == 0 else t
        s = self.table[stage]
        mass = self.job.mass[self.i] if self.job.mass is not None else 0.0
        y[2 * self.nc] = (y[2 * self.nc] if s[HOLDS] > 0.0 else 0.0) + s[LIQUID] * mass
        y[2 * self.nc + 1 : 2 * self.nc + 1 + self.nb] = s[GLAZE_W]
        self.room[15, : self.nb] = y[2 * self.nc + 1 + self.nb :]

    def spans(self) -> list[tuple[float, float]]:
        """Begin and end of every stage [s]."""
        ends = [min(float(v), self.job.horizon_s) for v in self.table[:-1, VALUE]] + [self.job.horizon_s]
        return list(zip([0.0, *ends[:-1]], ends, strict=True))

    def seen(self, y: Floats) -> tuple[Floats, Floats]:
        """Core temperature [degC] and water lost as a share of the raw piece, of states (times, size)."""
        p, bone = self.p, self.cells[1]
        water = y[:, 2 * self.place + 1]
        core = self.job.section.core
        b = bone[core]
        capacity = (1.0 - b) * p[DENSITY] * (p[DRY_CP] + CW * water[:, core]) + b * p[BONE_C]
        held = self.cells[0] * (1.0 - bone)
        mass = self.job.mass[self.i] if self.job.mass is not None else 1.0
        lost = p[DENSITY] * (held * np.where(bone < 1.0, p[WATER0], 0.0) - held * water).sum(axis=1) / mass
        return y[:, 2 * self.place[core]] / capacity, lost

    def tolerances(self, tol: float) -> Floats:
        """Absolute tolerances for a relative one: the same share of 100 K, 1 kg/kg and a like share of the rest."""
        atol = np.full(self.size, tol)
        atol[2 * self.place] = tol * 100.0 * CELLS_H_SCALE
        return atol

    def pattern(self) -> sparse.csr_matrix:
        """Which rates depend on what: a cell on itself and its neighbours.

        The liquid in the wrap depends on every face; that row is left out but for its diagonal, since it would make the
        matrix dense and hardly matters to a Newton step.
        """
        section = self.job.section
        grid = np.arange(self.nc).reshape(section.nx, section.ny)
        pairs = [(grid, grid), (grid[1:], grid[:-1]), (grid[:-1], grid[1:])]
        pairs += [(grid[:, 1:], grid[:, :-1]), (grid[:, :-1], grid[:, 1:])]
        rows, columns = [], []
        for a, b in pairs:
            for i in range(2):
                for j in range(2):
                    rows.append(2 * self.place[a.ravel()] + i)
                    columns.append(2 * self.place[b.ravel()] + j)
        outer = 2 * self.place[section.outer_cell]
        glaze = 2 * self.nc + 1 + np.arange(self.nb)
        pool, skin = np.full(self.nb, 2 * self.nc), glaze + self.nb
        for of_face in (glaze, skin):
            for i in range(2):
                rows += [outer + i, of_face]
                columns += [of_face, outer + i]
            rows += [of_face, of_face]
            columns += [of_face, pool]
        rows += [outer, outer + 1, glaze, skin, pool[:1]]
        columns += [pool, pool, skin, glaze, pool[:1]]
        r, c = np.concatenate(rows), np.concatenate(columns)
        full = sparse.csr_matrix((np.ones(r.size), (r, c)), shape=(self.size, self.size))
        full.data[:] = 1.0
        return full
