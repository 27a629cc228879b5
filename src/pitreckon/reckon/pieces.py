"""Several pieces of one item: when the first and the last of them come to a mark."""

from collections.abc import Sequence

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.reckon.draws import stream
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.quantiles import systematic_resample

DRAWS = 512
RIDGE = 0.05


def first_and_last(tracks: Sequence[Posterior], times: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Draws of when the first and the last piece of an item get there.

    Pieces that are reckoned by themselves bring their own times. Those that are not stand as one ensemble: a straight
    line through it parts a time into what its pieces have in common and what is each one's own, and the own part is
    drawn anew for each. Draws of all tracks go in the order of the common part: what makes all late makes them late
    together.

    tracks: all tracks of one item
    times: of each the time of every member [s], on one clock; nan or inf: not reached

    Returns two arrays of ``DRAWS`` equally likely times [s]; inf: not reached.
    """
    columns = []
    for track, when in zip(tracks, times, strict=True):
        rng = stream(track.track.seed, f"pieces {track.track.label}")
        columns.append(_draws(track, np.where(np.isnan(when), np.inf, when), rng))
    every = np.concatenate(columns, axis=1)
    return every.min(axis=1), every.max(axis=1)


def _draws(track: Posterior, when: Floats, rng: np.random.Generator) -> Floats:
    """Times of the pieces that a track stands for, (draws, pieces), in the order of what they have in common."""
    many, z = track.track.stands_for, track.ensemble.z
    chosen = systematic_resample(track.weights, DRAWS)
    good = np.isfinite(when) & (track.weights > 0.0)
    if good.sum() <= len(UNKNOWNS) // 2:
        return np.repeat(np.sort(when[chosen])[:, None], many, axis=1)
    w = np.where(good, track.weights, 0.0) / track.weights[good].sum()
    middle = z @ w
    dz, dt = z - middle[:, None], np.where(good, when, 0.0) - when[good] @ w[good]
    slope = np.linalg.solve((dz * w) @ dz.T + RIDGE * np.eye(z.shape[0]), (dz * w) @ dt)
    spread = np.sqrt(np.einsum("im,m->i", dz * dz, w))  # of what the evidence leaves open
    # A member is one piece; what it shares with its fellows is drawn, and from that each of them.
    alone = track.track.levels.alone
    fresh = rng.standard_normal((len(UNKNOWNS), DRAWS)) * spread[:, None]
    one = dz[:, chosen]
    shared = np.sqrt(1.0 - alone)[:, None] * (np.sqrt(1.0 - alone)[:, None] * one + np.sqrt(alone)[:, None] * fresh)
    order = np.argsort(slope @ shared, kind="stable")
    own_size = float(np.linalg.norm(slope * np.sqrt(alone) * spread))
    others = (when[chosen] + slope @ (shared - one))[:, None] + own_size * rng.standard_normal((DRAWS, many - 1))
    return np.column_stack((when[chosen], others))[order]
