"""How far things have gone another way than the members of a track were run with."""

from __future__ import annotations

from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.ledger import Act, Reading
from pitreckon.reckon.pace import aims_of
from pitreckon.reckon.pitair import KNOT_S, after_a_lid
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Track, lids_of

STANDS_S: Final = 600.0
"""A reading stands for the time since the one before, and for no more than this [s]."""


def acts_on_pit(track: Track) -> tuple[Act, ...]:
    """What was done to the pits that it has been on."""
    return tuple(act for _, pit in track.pits for act in track.ledger.acts(pit))


def strayed_k_s(track: Track, was: Posterior) -> float:
    """By how much the pit was off what the members were run with since they were, over that time [K s].

    The sum of what was read less what they foretold, whose swings make up for each other; readings right after a lid
    was open say nothing of the pit. Infinite where the pit was not read before and is now.
    """
    known, new = _read(was.track), _read(track)
    if not new:
        return 0.0
    if not known:
        return np.inf
    since = known[-1].at_utc
    fresh = [reading for reading in new if reading.at_utc > since]
    if len(new) - len(fresh) != len(known):
        return np.inf  # earlier ones came in late, or were taken back
    at = np.array([reading.at_utc.timestamp() for reading in fresh]) - track.zero
    value = np.array([reading.value_c for reading in fresh])
    lasts = np.minimum(np.diff(at, prepend=since.timestamp() - track.zero), STANDS_S)
    off = np.where(after_a_lid(at, lids_of(track, track.pit)), 0.0, value - _foretold(was, at))
    return float(abs(np.sum(off * lasts)))


def _read(track: Track) -> tuple[Reading, ...]:
    return track.ledger.readings("pit air", track.pit)


def _foretold(was: Posterior, at_s: Floats) -> Floats:
    """What the readout would show, by the members as they were run [degC], (times,)."""
    air, draw = was.ensemble.air_c, was.ensemble.draw
    knots = np.clip(np.rint(at_s / KNOT_S).astype(np.int64), 0, air.shape[0] - 1)
    beside: Floats = draw.grate_k + draw.spot_k
    return np.asarray((air[knots] - beside) @ was.weights)


def overdue(got: Posterior) -> tuple[int, Floats] | None:
    """The stage that is still on, and by how much it was over before now in every member [s]; None: there is none."""
    track = got.track
    aims = aims_of(track.stages, there=True)
    if not aims or not track.stages[aims[0]].running:
        return None
    return aims[0], np.nan_to_num(np.maximum(track.now_s - got.trace.stage_end_s[aims[0]], 0.0))


def late_s(got: Posterior) -> float:
    """By how much the members' running stage was over before now, on average [s]."""
    found = overdue(got)
    return 0.0 if found is None else float(found[1] @ got.weights)
