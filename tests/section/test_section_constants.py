"""The model's constants are data, and a program can put others in their place without touching a file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trial

from pitreckon import catalog
from pitreckon.catalog import constants as shelf
from pitreckon.catalog.form import read_document
from pitreckon.errors import InputError
from pitreckon.physics.surface import MEAT_EMISSIVITY, OSWIN_HALF
from pitreckon.section import material
from pitreckon.section.constants import CONSTANTS, constant, values_with
from pitreckon.section.course import Course, Drive, Until
from pitreckon.section.members import Members
from pitreckon.section.simulate import simulate
from pitreckon.section.surroundings import convection, surround

pytestmark = pytest.mark.kernel


def test_every_constant_has_a_width_and_a_source():
    assert len(CONSTANTS) > 20
    for name, each in CONSTANTS.items():
        assert each.of in shelf.OF, name
        assert each.spread > 0.0, name
        assert each.source, name
    assert constant("emissivity") == MEAT_EMISSIVITY
    # Fitted with the others from that prior on; it has stayed within its spread.
    assert constant("skin_b") == pytest.approx(OSWIN_HALF, rel=CONSTANTS["skin_b"].spread)


def test_an_unknown_constant_is_named():
    with pytest.raises(KeyError, match="there is no constant hold_up; there are transport_m2_s"):
        values_with(hold_up=1.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[a]\nvalue = 1.0\nspread = 0.1\nof = 'value'\n", "a is no constant"),
        ("[a]\nvalue = 'x'\nspread = 0.1\nof = 'value'\nsource = 'from memory'\n", "'x' is not a number"),
        ("[a]\nvalue = 1.0\nspread = 0.1\nof = 'width'\nsource = 'from memory'\n", "'width' is not known here"),
        ("[a]\nvalue = 0.0\nspread = 0.1\nof = 'logarithm'\nsource = 'from memory'\n", "such a spread means nothing"),
        ("[a]\nvalue = 1.0\nspread = 0.1\nof = 'value'\nsource = 'todo'\n", "not one of the set forms"),
    ],
)
def test_a_faulty_file_is_refused(tmp_path, text, said):
    path = tmp_path / "meat.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=said):
        shelf._constant("a", read_document(path))


@pytest.mark.kernel
def test_constants_vary_from_member_to_member_without_compiling_anew():
    """As a calibrator does it: universals as arrays over members, one run; each column is the run of its own values."""
    cut, n = catalog.cut("st-louis-ribs"), 4
    draws = {
        "skin_r_m2s_kg": np.array([300.0, 1200.0, 1200.0, 4000.0]),
        "transport_m2_s": np.array([3e-7, 1e-7, 3e-7, 9e-7]),
        "conductivity_factor": np.array([1.03, 1.0, 0.9, 1.1]),
        "gelatin_ea_j_mol": np.array([64e3, 64e3, 80e3, 50e3]),
    }
    leak, gap = np.array([1e-10, 1.3e-10, 3e-10, 1e-9]), np.array([10.0, 22.0, 22.0, 60.0])
    section = material.section_of(cut)

    def run(values, leak, gap, many):
        members = Members.of(many, material.parameters_of(cut, trial.SEA_LEVEL_PA, values))
        film = convection(material.size_m(cut) * members["scale"], 1.0, 135.0, trial.SEA_LEVEL_PA)
        stages = [
            surround(
                air_c=135.0, pressure_pa=trial.SEA_LEVEL_PA, convection_w_m2k=film, emissivity=values["emissivity"],
                open_fraction=cut.surface.open_fraction.value, mirrored=section.mirrored, wrap=wrap,
                wrap_leak=leak if wrap else None, gap_w_m2k=gap if wrap else None,
            ) | {"vapour_pa": 2400.0, "until": until, "value": 3600.0}
            for wrap, until in ((None, Until.MINUTES), (catalog.wrap("foil"), Until.NEVER))
        ]  # fmt: skip
        return simulate(section, members, Drive(np.full((2, many), 135.0)), Course.of(many, stages), horizon_s=9000.0)

    together = run(values_with(**draws), leak, gap, n)
    assert np.ptp(together["core_c"][-1]) > 1.0
    for m in range(n):
        alone = run(values_with(**{k: float(v[m]) for k, v in draws.items()}), float(leak[m]), float(gap[m]), 1)
        np.testing.assert_array_equal(alone["core_c"][:, 0], together["core_c"][:, m])


@pytest.mark.kernel
def test_a_bird_of_the_catalog_s_form_is_cooked_whole():
    """Its wall answers within an hour or two, where a ball of its weight would take much longer; wrapped or bare."""
    half = catalog.cut("chicken-half")
    figures = [catalog.Figure(value, None, "from memory") for value in (1.8, 0.19, 0.135, 0.065, 0.1, 0.08)]
    whole = replace(half, key="whole", shape=catalog.Bird(*figures))
    assert whole.shape.volume_m3 * catalog.DENSITY_KG_M3 == pytest.approx(1.8, rel=0.25)
    section = material.section_of(whole)
    around = surround(
        air_c=163.0,
        pressure_pa=trial.SEA_LEVEL_PA,
        convection_w_m2k=8.0,
        emissivity=0.9,
        open_fraction=0.5,
        mirrored=section.mirrored,
        cavity=material.cavity_share(whole),
    )
    assert around["convection_3"] == pytest.approx(0.8)
    trace = simulate(
        section,
        Members.of(1, material.parameters_of(whole, trial.SEA_LEVEL_PA) | {"core_done_c": 74.0}),
        Drive(np.full((2, 1), 163.0)),
        Course.of(1, [around | {"vapour_pa": 2400.0, "until": Until.NEVER}]),
        horizon_s=4 * 3600.0,
    )
    assert 0.7 < trace.mark("core_done")[0] / 3600.0 < 2.5
    assert np.abs(trace.balance).max() < 1e-6
