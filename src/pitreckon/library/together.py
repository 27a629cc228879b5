"""Several pieces on one pit: what they share of it and of their kind is drawn once, what is each one's own for each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pitreckon.arrays import Ints
from pitreckon.reckon.draws import stream
from pitreckon.reckon.prepare import Ensemble, Track, ensemble


def pieces_on_pits(track: Track, members: int, pieces: int, horizon_s: float) -> Ensemble:
    """The pieces of an item on each of so many possible pits, pit after pit; shape (members x pieces,).

    On one pit all have the same air but for the place where each lies; a cut, a butcher and a hand that are the same
    make them alike as ``reckon.levels`` has it. One piece on each pit is the ensemble of a forecast, to the bit.
    """
    shared = track.prior(members)
    if pieces == 1:
        return ensemble(track, shared, horizon_s)
    alone = track.levels.alone[:, None]
    own = stream(track.seed, f"pieces of {track.label}").standard_normal((alone.size, members * pieces))
    z = np.sqrt(1.0 - alone) * np.repeat(shared, pieces, axis=1) + np.sqrt(alone) * own
    each = ensemble(track, z, horizon_s)
    first = ensemble(track, np.ascontiguousarray(z[:, ::pieces]), horizon_s)
    air_c = first.job.drive.air_c - np.asarray(first.draw.spot_k)  # at no place of its own
    air_c = np.repeat(air_c, pieces, axis=1) + np.asarray(each.draw.spot_k)
    return replace(each, job=replace(each.job, drive=replace(each.job.drive, air_c=air_c)))


def numbers(members: int, pieces: int) -> tuple[Ints, Ints]:
    """Of each member: the number of its possible pit, from 0, and of the piece on that, from 1."""
    return np.repeat(np.arange(members), pieces), np.tile(np.arange(1, pieces + 1), members)
