"""Crews for tests: workers that are no processes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pitreckon.web.live.crew import Crew


class Hired:
    """Where the workers that a test has made come from. cores: that they share"""

    def __init__(self, workers: Iterable[Any], cores: int = 1) -> None:
        self._workers = list(workers)
        self._left = list(self._workers)
        self.cores = cores

    @property
    def most(self) -> int:
        return len(self._workers)

    def hire(self) -> Any:
        return self._left.pop(0)

    def close(self) -> None:
        """Nothing runs."""


def crew_with(*workers: Any, cores: int = 1) -> Crew:
    """A crew of these."""
    return Crew(Hired(workers, cores))
