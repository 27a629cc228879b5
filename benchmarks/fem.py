"""The heat part alone through a finite-element library (scikit-fem): bilinear elements, backward Euler.

The whole problem (a drying front, liquid in a wrap, a glaze, boiling) is not what such a library is asked for: its
assembly would have to be rebuilt by hand for two fields with sources on the boundary. So it solves less than the
kernel: conduction, convection and radiation in the block, on the kernel's own nodes, the radiation linearised and
conductivity taken at the step's start.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from benchmarks.cases import record_s
from pitreckon.section.course import COLUMN
from pitreckon.section.members import ROW
from pitreckon.section.shapes import SIDE, UPPER
from pitreckon.section.simulate import Job

Floats = NDArray[np.float64]
SIGMA, ZERO = 5.670374419e-8, 273.15
CW = 4190.0


def heat_part(job: Job, i: int, dt: float) -> tuple[Floats, int]:
    """Core temperature at every record [degC] and number of steps, of member ``i`` with steps of ``dt`` [s]."""
    from scipy.sparse.linalg import splu  # noqa: PLC0415
    from skfem import Basis, BilinearForm, ElementQuad1, FacetBasis, LinearForm, MeshQuad  # noqa: PLC0415
    from skfem.helpers import dot, grad  # noqa: PLC0415

    section, p = job.section, job.members.values[:, i]
    table, air = job.course.table[:, :, i], job.drive.air_c[:, i]
    scale = p[ROW["scale"]]
    x_m, y_m = scale * section.x_m, scale * section.y_m
    mesh = MeshQuad.init_tensor(x_m, y_m)
    basis = Basis(mesh, ElementQuad1())
    upper = FacetBasis(mesh, ElementQuad1(), facets=mesh.facets_satisfying(lambda x: np.isclose(x[1], y_m[-1])))
    side = FacetBasis(mesh, ElementQuad1(), facets=mesh.facets_satisfying(lambda x: np.isclose(x[0], x_m[-1])))
    capacity = p[ROW["dry_density"]] * (p[ROW["dry_cp"]] + CW * p[ROW["water"]])
    wet_k = p[ROW["k_base"]] + p[ROW["k_water"]] * p[ROW["water"]]

    mass = BilinearForm(lambda u, v, _: u * v).assemble(basis)
    conduct = BilinearForm(lambda u, v, w: (wet_k + p[ROW["k_temp"]] * w["t"]) * dot(grad(u), grad(v)))
    exchange = BilinearForm(lambda u, v, w: w["h"] * u * v)
    supply = LinearForm(lambda v, w: w["q"] * v)

    core = int(np.argmin(np.hypot(*mesh.p)))
    temp_c = np.full(mesh.p.shape[1], p[ROW["start_c"]])
    seen, steps = [temp_c[core]], 0
    ends = [min(float(v), job.horizon_s) for v in table[:-1, COLUMN["value"]]] + [job.horizon_s]
    begins = [0.0, *ends[:-1]]
    for number, (begin, end) in enumerate(zip(begins, ends, strict=True)):
        s = table[number]
        for k in range(round((end - begin) / dt)):
            t = begin + (k + 1) * dt
            late = t / job.drive.knot_s
            here = float(np.interp(late, np.arange(air.size), air))
            if number > 0:
                here -= s[COLUMN["lid_dip_k"]] * np.exp(-(t - begin) / s[COLUMN["lid_recovery_s"]])
            if s[COLUMN["off_pit"]] > 0.0:
                here = s[COLUMN["air_c"]]
            field = basis.interpolate(temp_c)
            matrix = mass * (capacity / dt) + conduct.assemble(basis, t=field)
            right = mass @ temp_c * (capacity / dt)
            for faces, group in ((upper, UPPER), (side, SIDE)):
                conv, emis = s[COLUMN[f"convection_{group}"]], s[COLUMN[f"emissivity_{group}"]]
                face_k, wall_k = np.asarray(faces.interpolate(temp_c)) + ZERO, here + s[COLUMN["wall_offset_k"]] + ZERO
                slope = 4.0 * emis * SIGMA * face_k**3
                radiated = emis * SIGMA * (wall_k**4 - face_k**4) + slope * (face_k - ZERO)
                matrix = matrix + exchange.assemble(faces, h=conv + slope)
                right = right + supply.assemble(faces, q=conv * here + radiated)
            temp_c = splu(matrix.tocsc()).solve(right)
            steps += 1
            if round(t) % round(record_s(job)) == 0:
                seen.append(temp_c[core])
    return np.array(seen), steps
