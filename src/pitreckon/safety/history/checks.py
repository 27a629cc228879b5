"""What a thermometer is allowed: by a check in ice water or boiling water, or without one.

Without a check it may be off by ``UNCHECKED_K``: a thermocouple of type K, class 2, is within 2.5 K up to 333 degC
(IEC 60584-1, from memory), and the instrument that reads it within 1 K (EN 13485 class 1, and the FDA Food Code
4-203.11 for food thermometers, both from memory); errors of two parts that know nothing of each other come to the root
of their squares, 2.7 K. With a check its readings are corrected by what it was off there.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.safety.wording import difference

UNCHECKED_K: Final = 3.0
"""What a thermometer that nobody has checked may be off by, counted against the piece [K]."""
ONE_BATH_K, TWO_BATHS_K = 1.5, 1.0
"""What is left after a check in one bath, and in both: the tip's depth in the bath, the weather's pressure, the last
digit, the drift of a day (common practice, no source) [K]."""
UNFIT_K: Final = 10.0
"""A thermometer that is so far off in a bath is broken, and is not to be judged by [K]."""
ICE_C: Final = 0.0
BETWEEN_C: Final = 50.0
"""What reads less was in ice water, what reads more in boiling water [degC]."""


@dataclass(frozen=True)
class Allowed:
    """An instrument. error_k: what it may be off by; baths: (true, read) [degC]; fit: it may be judged by.

    learned_k: of ``error_k``, what is there because the house has learned that it is off
    """

    error_k: float
    baths: tuple[tuple[float, float], ...] = ()
    fit: bool = True
    notes: tuple[str, ...] = ()
    learned_k: float = 0.0

    def true_c(self, read_c: Floats) -> Floats:
        """What a reading stands for [degC]: by the line through two baths, or shifted by what it was off in one."""
        if not self.baths:
            return read_c
        if len(self.baths) == 1:
            true, read = self.baths[0]
            return np.asarray(read_c - (read - true))
        (true_a, read_a), (true_b, read_b) = self.baths
        return np.asarray(true_a + (read_c - read_a) * (true_b - true_a) / (read_b - read_a))


UNCHECKED: Final = Allowed(UNCHECKED_K)


def as_learned(allowed: Allowed, off_k: float, give_k: float) -> Allowed:
    """What an instrument is allowed that nobody checked today, where the house has learned how far it is off.

    What it read is never corrected by that: a rule is judged by what was read, and what is learned counts only where it
    asks for more than is allowed anyway.

    off_k: how far it is believed to read over the truth [K]; give_k: by how much that may be wrong [K]
    """
    needs_k = abs(off_k) + give_k
    if allowed.baths or needs_k <= allowed.error_k:
        return allowed
    side, far = ("high" if off_k > 0.0 else "low"), difference(abs(off_k), 1)
    note = f"the thermometer in hand is known to read {far} {side}: its readings are allowed {difference(needs_k, 1)}"
    return replace(allowed, error_k=needs_k, notes=(*allowed.notes, note), learned_k=needs_k - allowed.error_k)


def allowed_by(reads_c: Iterable[float], altitude_m: float, what: str = "probe") -> Allowed:
    """What an instrument is allowed that read this in ice water and in boiling water.

    reads_c: of its checks, any number of either bath [degC]; none: it was not checked
    altitude_m: above the sea, for the boiling point [m]
    what: its name in the notes
    """
    reads = list(reads_c)
    if not reads:
        return UNCHECKED
    boil_c = boiling_point(pressure_isa(altitude_m))
    baths, spread, words, fit = [], 0.0, [], True
    for name, true_c, mine in (
        ("ice water", ICE_C, [r for r in reads if r < BETWEEN_C]),
        ("boiling water", boil_c, [r for r in reads if r >= BETWEEN_C]),
    ):
        if not mine:
            continue
        read_c = float(np.mean(mine))
        spread = max(spread, 0.5 * (max(mine) - min(mine)))
        baths.append((true_c, read_c))
        off_k = read_c - true_c
        fit &= abs(off_k) <= UNFIT_K
        words.append(f"{difference(abs(off_k), 1)} too {'high' if off_k > 0.0 else 'low'} in {name}")
    left_k = (TWO_BATHS_K if len(baths) == 2 else ONE_BATH_K) + spread
    then = "its readings are corrected by that" if fit else "it is not fit to judge by, and its readings are left out"
    return Allowed(left_k, tuple(baths), fit, (f"the {what} was {' and '.join(words)}: {then}",))
