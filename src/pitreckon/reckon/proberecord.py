"""A probe's record, cut where it was moved or fell out, and thinned to what it can tell."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.special import logsumexp

from pitreckon.arrays import Floats
from pitreckon.ledger import Reading
from pitreckon.reckon.hands import Bias, as_rare
from pitreckon.reckon.looks import PLACE_SHARES, measured_log_likelihood
from pitreckon.text.said import said

JUMP_K, FASTEST_K_PER_S = 5.0, 0.10
"""A tip that stays where it is in meat warms by less than 6 K a minute; a jump of a few kelvins may be a contact
(common practice, no source)."""
LONG_GAP_S = 900.0
"""After a gap like this a jump proves nothing: the meat had time."""
SETTLED_S = 300.0
"""A stretch shorter than this, or of fewer than three readings, is a tip on its way."""
NEAR_AIR_K, TOO_HOT_C = 25.0, 104.0
"""A tip within this of the pit's air after a jump, or hotter than wet meat can be, is out of the meat."""
STUCK_S = 3600.0
"""A value that does not move by the last digit for so long, in meat on a fire, is an instrument's."""
STUCK_BAND_C = (15.0, 68.0)
"""Between these a piece is warming or cooling; at the stall it may well stand still."""
EVERY_S = 600.0
MOST = 36
NOISE_SD_K, BIAS_SD_K, MODEL_SD_K, MODEL_S = 0.5, 1.0, 2.0, 5400.0
"""Errors of a reading, of a tip's calibration, and of the model along a record, which last for an hour or two: two
thousand readings are no two thousand facts (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A stretch of a record in which the tip stayed where it was: times since put-on [s], temperatures [degC].

    value_c: as read, less what the probe is known to be off by; bias_sd_k: what it may be off by beside that [K]
    Two of them are equal where all their numbers are.
    """

    at_s: Floats
    value_c: Floats
    bias_sd_k: float = BIAS_SD_K

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Stretch):
            return NotImplemented
        same = np.array_equal(self.at_s, other.at_s) and np.array_equal(self.value_c, other.value_c)
        return same and self.bias_sd_k == other.bias_sd_k

    def __hash__(self) -> int:
        return hash((self.at_s.tobytes(), self.value_c.tobytes()))

    def covariance(self) -> Floats:
        """Of the misfit of its readings at one place."""
        gap = np.abs(self.at_s[:, None] - self.at_s[None, :])
        together = self.bias_sd_k**2 + MODEL_SD_K**2 * np.exp(-gap / MODEL_S)
        return np.asarray(together + NOISE_SD_K**2 * np.eye(self.at_s.size))

    def log_likelihood(self, temperatures: Floats) -> Floats:
        """In every member, wherever the tip may sit; ``temperatures`` [reading, place, member]."""
        covariance = self.covariance()
        places = [
            measured_log_likelihood(temperatures[:, p] - self.value_c[:, None], covariance) + np.log(share)
            for p, share in enumerate(PLACE_SHARES)
        ]
        return np.asarray(logsumexp(np.stack(places), axis=0))


@dataclass(frozen=True)
class ProbeRecord:
    """Stretches that can be trusted, and what was found out about the rest: (seconds since put-on, words)."""

    stretches: tuple[Stretch, ...]
    notes: tuple[tuple[float, str], ...]


def probe_record(
    readings: Sequence[tuple[float, Reading]], pit: Sequence[tuple[float, float]], baths: Bias | None = None
) -> ProbeRecord:
    """Cut and thin a probe's readings, in order of time; ``pit`` has the pit's readings as (seconds, degC).

    baths: what it read in ice and boiling water alone tells of how far it is off; None: it was not in any
    """
    if not readings:
        return ProbeRecord((), ())
    at_s = np.array([t for t, _ in readings])
    value_c = np.array([r.value_c for _, r in readings])
    step_s, rise = np.diff(at_s), np.diff(value_c)
    jumps = (np.abs(rise) > JUMP_K + FASTEST_K_PER_S * step_s) & (step_s < LONG_GAP_S)
    cuts = [0, *(np.flatnonzero(jumps) + 1).tolist(), at_s.size]
    off = Bias(0.0, BIAS_SD_K)
    if baths is not None:
        before_k = as_rare(BIAS_SD_K, baths.mean)
        weight = before_k**2 / (before_k**2 + baths.sd**2)
        off = Bias(weight * baths.mean, float(np.sqrt(weight)) * baths.sd)
    stretches: list[Stretch] = []
    notes: list[tuple[float, str]] = []
    for first, last in pairwise(cuts):
        own_s, own_c = at_s[first:last], value_c[first:last]
        if first > 0 and (own_s.size < 3 or own_s[-1] - own_s[0] < SETTLED_S):
            continue
        if _in_air(own_s, own_c, pit, jumped=first > 0):
            notes.append((float(own_s[0]), said("reads like the air and not like meat: fallen out, not used")))
            continue
        stuck = _stuck_from(own_s, own_c)
        if stuck is not None:
            notes.append((float(own_s[stuck]), said("has stood still on one number: stuck, not used")))
            own_s, own_c = own_s[: stuck + 1], own_c[: stuck + 1]
        if first > 0:
            notes.append((float(own_s[0]), said("jumped: taken as moved to another place")))
        stretches.append(_thin(own_s, own_c, off))
    return ProbeRecord(tuple(stretches), tuple(notes))


def _in_air(at_s: Floats, value_c: Floats, pit: Sequence[tuple[float, float]], *, jumped: bool) -> bool:
    middle = float(np.median(value_c))
    if middle > TOO_HOT_C:
        return True
    if not jumped or not pit:
        return False
    times, airs = np.array(pit).T
    air = float(np.interp(at_s.mean(), times, airs))
    return abs(middle - air) < NEAR_AIR_K


def _stuck_from(at_s: Floats, value_c: Floats) -> int | None:
    """First reading of a long run of one value at the record's end, if there is one."""
    other = np.flatnonzero(value_c != value_c[-1])
    first = int(other[-1]) + 1 if other.size else 0
    warming = STUCK_BAND_C[0] < value_c[-1] < STUCK_BAND_C[1]
    return first if warming and at_s[-1] - at_s[first] >= STUCK_S and at_s.size - first > 3 else None


def _thin(at_s: Floats, value_c: Floats, off: Bias) -> Stretch:
    """Readings at least ``EVERY_S`` apart and no more than ``MOST``, the last one among them."""
    every = max(EVERY_S, (at_s[-1] - at_s[0]) / MOST)
    chosen = [at_s.size - 1]
    for i in range(at_s.size - 2, -1, -1):
        if at_s[chosen[-1]] - at_s[i] >= every - 1.0:
            chosen.append(i)
    index = np.array(chosen[::-1])
    return Stretch(at_s[index], value_c[index] - off.mean, off.sd)
