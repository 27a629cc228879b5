"""Air at the grate minute by minute, of which a thick piece's kernel has every other one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats


@dataclass(frozen=True)
class Air:
    """Read like an array (minutes, members) [degC]. on_knots: what the kernel has; between: the minutes between."""

    on_knots: Floats
    between: Floats

    @classmethod
    def of(cls, air_c: Floats, *, thinned: bool) -> Air:
        """Of all minutes; thinned: the kernel has every other one, the first with them."""
        if not thinned:
            return cls(np.ascontiguousarray(air_c), air_c[:0])
        return cls(np.ascontiguousarray(air_c[::2]), np.ascontiguousarray(air_c[1::2]))

    @property
    def shape(self) -> tuple[int, int]:
        """Minutes and members."""
        return len(self.on_knots) + len(self.between), int(self.on_knots.shape[1])

    def __getitem__(self, minutes: int | NDArray[np.int64]) -> Floats:
        """At a minute, (members,), or at several, (minutes, members); minutes below nothing are from the end."""
        if not len(self.between):
            return np.asarray(self.on_knots[minutes])
        at = np.asarray(minutes) % self.shape[0]
        after = self.between[np.minimum(at // 2, len(self.between) - 1)]
        return np.asarray(np.where((at % 2 == 0)[..., None], self.on_knots[at // 2], after))

    def take(self, index: NDArray[np.int64]) -> Air:
        """Some of the members."""
        return Air(np.ascontiguousarray(self.on_knots[:, index]), np.ascontiguousarray(self.between[:, index]))

    def plus(self, more_k: Floats) -> Air:
        """Warmer by so much, (minutes,), in every member."""
        if not len(self.between):
            return Air(self.on_knots + more_k[:, None], self.between)
        return Air(self.on_knots + more_k[::2, None], self.between + more_k[1::2, None])
