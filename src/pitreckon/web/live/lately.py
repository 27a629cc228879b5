"""What a worker has reckoned of cooks lately, from which updates, first answers and what-ifs go on."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from pitreckon.web.live.asked import Again, Asked, Moment

if TYPE_CHECKING:
    from pitreckon.reckon.forecast import Reckoning


@dataclass(frozen=True)
class Lately:
    """The last reckoning of a cook.

    asked, again: what it answers and how it was reckoned
    base, moments: what the next one goes on from, and when that was run: the whole, then parts of it
    """

    asked: Asked
    again: Again
    done: Reckoning
    base: Reckoning
    moments: tuple[Moment, ...]

    @classmethod
    def whole(cls, asked: Asked, again: Again, done: Reckoning) -> Lately:
        """One that goes on from nothing."""
        return cls(asked, again, done, done, ((asked.seq, again.now),))

    def leads_to(self, asked: Asked) -> bool:
        """Is it of the same cook, as that was before?"""
        return replace(self.asked, seq=asked.seq) == asked


@dataclass
class Kept:
    """Those of several cooks.

    room_bytes: for their ensembles; the last one is always kept
    of: by the cook's id, the latest last, each with its size
    """

    room_bytes: int = 0
    of: dict[str, tuple[Lately, int]] = field(default_factory=dict)

    def keep(self, lately: Lately) -> Lately:
        """Keep the last of its cook, and give it back; those that were asked for longest ago make room for it."""
        self.of.pop(lately.asked.cook_id, None)
        self.of[lately.asked.cook_id] = (lately, size_of(lately))
        while len(self.of) > 1 and sum(size for _, size in self.of.values()) > self.room_bytes:
            del self.of[next(iter(self.of))]
        return lately

    def forget(self, cook_id: str) -> bool:
        """Let a cook go. Was it there?"""
        return self.of.pop(cook_id, None) is not None

    def before(self, asked: Asked) -> Lately | None:
        """The last of the cook that is asked about, if its plan and its house were the same."""
        found = self.of.get(asked.cook_id)
        return found[0] if found is not None and found[0].leads_to(asked) else None


def size_of(lately: Lately) -> int:
    """What its ensembles take, their arrays that is; what both hold counts once [bytes]."""
    sizes: list[int] = []
    pickle.dumps((lately.base, lately.done), protocol=5, buffer_callback=lambda array: sizes.append(array.raw().nbytes))
    return sum(sizes)
