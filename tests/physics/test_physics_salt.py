"""Salt diffusion against Pitreckon's research notes, 9, and conservation."""

from __future__ import annotations

from math import erf

import pytest
from scipy.integrate import quad
from tests.oracles import salt as oracle_salt

from pitreckon.errors import RangeError
from pitreckon.physics import salt


@pytest.mark.parametrize(("hours", "millimetre"), [(1, 1.7), (4, 3.3), (12, 5.7), (24, 8.1), (48, 11.5)])
def test_penetration(hours: float, millimetre: float) -> None:
    # computed from the measured 1.90e-10 m2/s (pork loin, 5 degC)
    found = salt.penetration_depth(salt.diffusivity_nacl(5.0), hours * 3600.0)
    assert found * 1e3 == pytest.approx(millimetre, abs=0.051)


@pytest.mark.parametrize("activation", [0.0, 20e3, 30e3])
def test_diffusivity_at_5_is_the_measured_one(activation: float) -> None:
    # Springer chapter 978-1-4939-2578-0_47: (1.90 +/- 0.28)e-10 m2/s
    assert salt.diffusivity_nacl(5.0, activation) == 1.90e-10
    assert salt.diffusivity_nacl(20.0, activation) >= 1.90e-10


def test_dose_is_conserved() -> None:
    # by quadrature with scipy: all the salt is somewhere below the face
    reach = salt.penetration_depth(2e-10, 86400.0)
    held, _ = quad(lambda x: oracle_salt.salt_from_dose_crank(x, 0.05, 2e-10, 86400.0), 0.0, 10.0 * reach)
    assert held == pytest.approx(0.05, rel=1e-9)
    outer, _ = quad(lambda x: oracle_salt.salt_from_dose_crank(x, 0.05, 2e-10, 86400.0), 0.0, reach)
    assert outer / held == pytest.approx(erf(1.0), rel=1e-9)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: salt.diffusivity_nacl(60.0), "temp_c = 60 degC"),
        (lambda: salt.diffusivity_nacl(5.0, -1.0), "activation_j_mol = -1"),
        (lambda: salt.penetration_depth(1.0, 10.0), "diffusivity_m2_s = 1"),
        (lambda: salt.penetration_depth(1e-10, 0.0), "seconds = 0 s"),
        (lambda: oracle_salt.salt_from_dose_crank(0.0, -1.0, 1e-10, 10.0), "dose_kg_m2 = -1"),
    ],
)
def test_out_of_range(call, named: str) -> None:
    with pytest.raises(RangeError) as caught:
        call()
    assert named in str(caught.value)
