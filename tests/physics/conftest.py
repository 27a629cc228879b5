"""The library for moist air to compare with, set to SI once: each setting makes it compile anew."""

from __future__ import annotations

from types import ModuleType

import psychrolib
import pytest
from hypothesis import settings

# a busy machine is slow without anything being wrong
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")


@pytest.fixture(scope="session")
def psychro() -> ModuleType:
    """Psychrolib 2.5 in SI units."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib
