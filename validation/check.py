"""What a check is: a number that the model gives, the range it ought to be in, and what we expect of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf
from typing import Literal

Verdict = Literal["hit", "miss"]
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Check:
    """One comparison.

    says: what is compared; low, high: the range that counts as a hit (ends included; a sign check has one end);
    measure: gives the model's number; reason: of a miss, in a line
    """

    key: str
    says: str
    unit: str
    low: float
    high: float
    measure: Callable[[], float]
    reason: str = ""

    @property
    def wanted(self) -> str:
        """The range in words."""
        if self.low == -inf:
            return f"at most {self.high:g}"
        if self.high == inf:
            return f"at least {self.low:g}"
        return f"{self.low:g} to {self.high:g}"

    def verdict(self, value: float) -> Verdict:
        """Whether a number is in the range; nan is not."""
        return "hit" if self.low <= value <= self.high else "miss"


@dataclass(frozen=True)
class Group:
    """Checks of one source.

    source: a key of the bibliography, or ``PRACTICE``; role: "fit", "test" or "consulted" (tested, but the
    result was known when a law or a value was chosen)
    gives: by check, the verdict that is expected and the number when this was written
    """

    name: str
    source: str
    role: Literal["fit", "test", "consulted"]
    checks: tuple[Check, ...]
    gives: Mapping[str, tuple[Verdict, float]]


@dataclass(frozen=True)
class Result:
    """A check as it came out."""

    group: Group
    check: Check
    value: float

    @property
    def verdict(self) -> Verdict:
        """Hit or miss."""
        return self.check.verdict(self.value)

    @property
    def expected(self) -> Verdict:
        """What was expected."""
        return self.group.gives[self.check.key][0]


def run(group: Group) -> list[Result]:
    """Every check of a group."""
    return [Result(group, check, check.measure()) for check in group.checks]


def at_least(key: str, says: str, unit: str, low: float, measure: Callable[[], float], reason: str = "") -> Check:
    """A check with a lower end only."""
    return Check(key, says, unit, low, inf, measure, reason)


def at_most(key: str, says: str, unit: str, high: float, measure: Callable[[], float], reason: str = "") -> Check:
    """A check with an upper end only."""
    return Check(key, says, unit, -inf, high, measure, reason)
