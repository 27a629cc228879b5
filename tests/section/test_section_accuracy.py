"""How far the cells and steps that are used lie from finer ones: two cuts, bare and then in foil.

Measured when this was written, eight members: ribs over 3.5 h differ by 0.22 degC in the core, 1.2 min in a
mark of the core and 0.02 percentage points of loss; a butt over 7 h by 0.90 degC, 1.4 min and 0.01 points.
Most of it is the core's node, which lies nearer the true centre in the finer section. Finer steps alone
change the core by 0.01 degC and a mark by 0.24 min. The butt runs for 2 h here, to keep the test short.
"""

from __future__ import annotations

import numpy as np
import pytest
import trial

from pitreckon import catalog
from pitreckon.section import material
from pitreckon.section.course import Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import surround

N = 8


def cooked(key, air_c, hours, core_done_c, finer, substeps):
    cut = catalog.cut(key)
    section = material.section_of(cut, finer=finer)
    parameters = dict(material.parameters_of(cut, trial.SEA_LEVEL_PA))
    rng = np.random.default_rng(2)
    spread = {"transport": 0.3, "diffusion": 0.4, "drip": 0.3, "skin_b": 0.2, "scale": 0.08}
    for name, width in spread.items():
        parameters[name] = parameters[name] * np.exp(width * rng.standard_normal(N))
    parameters |= {"core_done_c": core_done_c, "tender_at": 0.02}
    parameters["colour_rate"] *= 4.0  # so that a colour sets within the hours
    foil = catalog.wraps()["foil"]

    def stage(wrap=None, **over):
        around = surround(
            air_c=air_c,
            pressure_pa=trial.SEA_LEVEL_PA,
            convection_w_m2k=10.0,
            emissivity=0.9,
            open_fraction=cut.surface.open_fraction.value,
            mirrored=section.mirrored,
            wrap=wrap,
        )
        return around | {"vapour_pa": 2400.0} | over

    knots = np.arange(round(60 * hours) + 1)
    air = np.repeat((air_c + 4.0 * np.sin(knots / 7.0))[:, None], N, axis=1)
    return simulate(
        section,
        Members.of(N, parameters),
        Drive(air),
        trial.course(
            N,
            stage(until=Until.CLOCK, value=0.55 * hours * 3600.0, lid_dip_k=20.0),
            stage(foil, until=Until.NEVER, lid_dip_k=30.0),
        ),
        horizon_s=3600.0 * hours,
        mass=np.full(N, material.raw_mass_of(cut, section)),
        substeps=substeps,
    )


def compared(used, finer):
    """Largest differences: core [degC], marks [min], loss [share]; and how many marks both have."""
    core = np.abs(used["core_c"] - finer["core_c"]).max()
    marks = np.abs(used.marks_s - finer.marks_s) / 60.0
    assert np.array_equal(np.isnan(used.marks_s), np.isnan(finer.marks_s))
    return core, np.nanmax(marks), np.abs(used.loss - finer.loss).max(), np.isfinite(marks).sum()


def test_steps_are_fine_enough():
    case = ("st-louis-ribs", 135.0, 3.5, 70.0)
    core, marks, loss, count = compared(cooked(*case, 1.0, 1), cooked(*case, 1.0, 4))
    assert count >= 2 * N
    assert core < 0.1
    assert marks < 0.5
    assert loss < 5e-4


@pytest.mark.slow
@pytest.mark.parametrize(
    ("case", "substeps"),
    [(("st-louis-ribs", 135.0, 3.5, 70.0), 4), (("boston-butt", 121.0, 2.0, 10.0), 1)],
    ids=["ribs", "butt"],
)
def test_cells_are_fine_enough(case, substeps):
    core, marks, loss, count = compared(cooked(*case, 1.0, 1), cooked(*case, 2.0, substeps))
    assert count >= N
    assert core < 1.0
    assert marks < 4.0
    assert loss < 2e-3
