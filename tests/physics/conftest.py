"""The reference library for moist air, set to SI once: each setting makes it compile itself anew."""

from __future__ import annotations

from types import ModuleType

import psychrolib
import pytest


@pytest.fixture(scope="session")
def psychro() -> ModuleType:
    """Psychrolib 2.5 in SI units."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib
