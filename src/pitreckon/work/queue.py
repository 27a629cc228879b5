"""Those who wait to be served: who comes next, where several may be served at once. Pure: it knows no clock of its own.

By urgency; then by rank; then whoever had a turn longest ago; then in the order in which they came. So nobody has two
turns before another who waits for the same has one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar


@dataclass(eq=False)
class Waiter:
    """A place among those who wait.

    name: one for all that belong together (a cook, a person); urgency, rank: the lower ones come first
    since_s: when it came, by the line's clock [s]
    """

    name: str
    urgency: int = 0
    rank: int = 0
    since_s: float = 0.0
    number: int = field(default=0, init=False)


W = TypeVar("W", bound=Waiter)


class Line(Generic[W]):
    """The line. It is for one thread."""

    def __init__(self, urgency: Callable[[W], int] = lambda waiter: waiter.urgency) -> None:
        """urgency: of somebody who waits, as things stand; as they came, if it is not said."""
        self._urgency = urgency
        self._waiting: list[W] = []
        self._served: dict[str, int] = {}
        self._number = 0

    def __len__(self) -> int:
        return len(self._waiting)

    def __contains__(self, waiter: W) -> bool:
        return waiter in self._waiting

    def join(self, waiter: W) -> None:
        """It waits from now on, behind all of its like."""
        self._number += 1
        waiter.number = self._number
        self._waiting.append(waiter)

    def leave(self, waiter: W) -> None:
        """It waits no more, and had no turn; nothing happens where it did not wait."""
        if waiter in self._waiting:
            self._waiting.remove(waiter)

    def in_order(self) -> list[W]:
        """All who wait, in the order in which they would be served as things stand."""
        return sorted(self._waiting, key=self._place)

    def serve(self, waiter: W) -> None:
        """It has its turn."""
        self._waiting.remove(waiter)
        self._number += 1
        self._served[waiter.name] = self._number

    def forget_turns(self) -> None:
        """Nobody has had more than another: for when nobody waits and nobody is served."""
        self._served.clear()

    def before(self, waiter: W) -> int:
        """How many who wait come before it."""
        return sum(self._place(each) < self._place(waiter) for each in self._waiting)

    def _place(self, waiter: W) -> tuple[int, int, int, int]:
        return self._urgency(waiter), waiter.rank, self._served.get(waiter.name, 0), waiter.number
