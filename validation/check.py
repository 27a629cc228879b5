"""What a check is: a number that the model gives, the range it ought to be in, and what part it plays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Literal

Verdict = Literal["hit", "miss"]
Role = Literal["fit", "test", "consulted", "out of reach"]
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Check:
    """One comparison.

    says: what is compared; low, high: the range that counts as a hit (ends included; a sign check has one end);
    measure: gives the model's number; reason: of a miss, in a line; role: where it is not its group's;
    bound: gives the same number where nothing evaporates, see ``Result.out_of_reach``
    """

    key: str
    says: str
    unit: str
    low: float
    high: float
    measure: Callable[[], float]
    reason: str = ""
    role: Role | None = None
    bound: Callable[[], float] | None = None

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
    """

    name: str
    source: str
    role: Role
    checks: tuple[Check, ...]


@dataclass(frozen=True)
class Result:
    """A check as it came out; bound: its number where nothing evaporates, of a check that asks for it."""

    group: Group
    check: Check
    value: float
    bound: float | None = None

    @property
    def verdict(self) -> Verdict:
        """Hit or miss."""
        return self.check.verdict(self.value)

    @property
    def out_of_reach(self) -> bool:
        """Is it proven that no law of the surface reaches the range with this set-up?

        Evaporation only takes heat. So where the number misses, and misses to the same side with nothing evaporating,
        though less, the set-up cannot be the one that was measured.
        """
        if self.bound is None:
            return False
        return self.value > self.bound > self.check.high or self.value < self.bound < self.check.low

    @property
    def role(self) -> Role:
        """The part it plays: its own, else its group's; out of reach only where that is proven."""
        return "out of reach" if self.out_of_reach else self.check.role or self.group.role


def run(group: Group) -> list[Result]:
    """Every check of a group."""
    return [
        Result(group, check, check.measure(), None if check.bound is None else check.bound()) for check in group.checks
    ]


def at_least(key: str, says: str, unit: str, low: float, measure: Callable[[], float], reason: str = "") -> Check:
    """A check with a lower end only."""
    return Check(key, says, unit, low, inf, measure, reason)


def at_most(key: str, says: str, unit: str, high: float, measure: Callable[[], float], reason: str = "") -> Check:
    """A check with an upper end only."""
    return Check(key, says, unit, -inf, high, measure, reason)
