"""The update: importance sampling from a linear Gaussian proposal (docs/nomenclature-statistics.md).

Members drawn from the prior seldom fit what was seen. So a small ensemble of them is run first; a linear
observation operator fitted through it tells in which few directions, out of all that is not known, the evidence has
something to say, and where in them the answer about lies. New members are drawn from that proposal (a share of them
still from the prior, so that a bad guess costs little), run, and weighted by prior times likelihood over the density
that they were drawn from: that is right whatever the linear fit is worth, which only decides how many members count
in the end.

What was seen of one piece says something of the others, by the pit and the item they have in common. Their own
simulations do not hold it; it comes by way of the linear operator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp, ndtri

from pitreckon.arrays import Floats
from pitreckon.reckon.evidence import Evidence, Predicted
from pitreckon.reckon.sobol import sobol

RIDGE = 0.02
WORTH_A_DIRECTION = 0.25
"""Information in a direction, over the prior's, from which members are drawn anew in it."""
MOST_DIRECTIONS = 8
WIDER = 1.6
"""How much wider, in variance, the proposal is than the linear fit says."""
FROM_PRIOR = 0.15
MOST_OFF = 3.0
"""Members are not drawn further than this from the prior's middle, in its spreads."""
LEAST_ESS = 0.2
"""Share of the members that must still count after all evidence."""
FITS = 2.0
"""Mean square of misfits over what they ought to be, above which all errors are taken for larger."""
OUTLIER = 3.0
"""A thing seen that is so many of its spreads off what all together give is named."""


@dataclass(frozen=True)
class LinearObs:
    """A linearised observation operator: ``innovation`` is ``slope @ z`` plus errors of this ``covariance``."""

    slope: Floats  # (seen, unknowns)
    innovation: Floats  # (seen,) what was seen less what the prior's middle foretells
    covariance: Floats  # of the errors, what the fit misses included

    @classmethod
    def through(cls, z: Floats, predicted: Predicted, weights: Floats) -> LinearObs:
        """Fit them; ``z`` [unknown, member], ``weights`` (members,) of sum 1."""
        h, w = predicted.of_members, weights
        centre_z, centre = z @ w, h @ w
        dz, dh = z - centre_z[:, None], h - centre[:, None]
        slope = np.linalg.solve((dz * w) @ dz.T + RIDGE * np.eye(z.shape[0]), (dz * w) @ dh.T).T
        rest = dh - slope @ dz
        many = ess(w)
        missed = (rest * w) @ rest.T * (many / max(many - z.shape[0] - 1, many / 4))
        innovation = np.asarray(predicted.value - centre + slope @ centre_z, dtype=np.float64)
        return cls(np.asarray(slope, dtype=np.float64), innovation, np.asarray(predicted.covariance + missed))

    def robust(self) -> LinearObs:
        """With errors enlarged where all of it is too far off to be an accident."""
        if not self.innovation.size:
            return self
        whole = self.slope @ self.slope.T + self.covariance
        square = float(self.innovation @ np.linalg.solve(whole, self.innovation)) / self.innovation.size
        return LinearObs(self.slope, self.innovation, self.covariance * max(1.0, square / FITS))


@dataclass(frozen=True)
class Information:
    """A quadratic log likelihood ``pull @ z - z @ precision @ z / 2``."""

    precision: Floats
    vector: Floats

    @classmethod
    def none(cls, unknowns: int) -> Information:
        """Of nothing."""
        return cls(np.zeros((unknowns, unknowns)), np.zeros(unknowns))

    @classmethod
    def of(cls, slope: Floats, innovation: Floats, covariance: Floats) -> Information:
        """Of a linear operator."""
        weighed = np.linalg.solve(covariance, np.column_stack((slope, innovation)))
        return cls(slope.T @ weighed[:, :-1], slope.T @ weighed[:, -1])

    def plus(self, other: Information) -> Information:
        """Both."""
        return Information(self.precision + other.precision, self.vector + other.vector)

    def log_factor(self, z: Floats) -> Floats:
        """Of every member, ``z`` [unknown, member]."""
        return np.asarray(self.vector @ z - 0.5 * np.einsum("im,ij,jm->m", z, self.precision, z))


def from_others(own: int, lines: Sequence[LinearObs], correlation: Floats) -> Information:
    """What was seen of the other pieces says of this one.

    own: the piece
    lines: of all pieces
    correlation: of the unknowns of two pieces, (piece, piece, unknown, unknown)
    """
    unknowns = correlation.shape[2]
    others = [i for i, line in enumerate(lines) if i != own and line.innovation.size]
    if not others:
        return Information.none(unknowns)
    slope = np.concatenate([lines[i].slope @ correlation[i, own] for i in others])
    innovation = np.concatenate([lines[i].innovation for i in others])
    blocks = [
        [
            lines[i].slope @ (correlation[i, k] - correlation[i, own] @ correlation[own, k]) @ lines[k].slope.T
            + (lines[i].covariance if i == k else 0.0)
            for k in others
        ]
        for i in others
    ]
    return Information.of(slope, innovation, np.block(blocks))


@dataclass(frozen=True)
class Proposal:
    """What new members are drawn from: a normal distribution in a few directions, the prior in all others."""

    directions: Floats  # (unknowns, r)
    mean: Floats
    spread: Floats

    @classmethod
    def at(cls, information: Information) -> Proposal:
        """Where information of all sources and the prior meet."""
        size, vectors = np.linalg.eigh(information.precision)
        chosen = [i for i in np.argsort(-size)[:MOST_DIRECTIONS] if size[i] >= WORTH_A_DIRECTION]
        directions = vectors[:, chosen]
        mean = (directions.T @ information.vector) / (1.0 + size[chosen])
        spread = np.sqrt(np.minimum(1.0, WIDER / (1.0 + size[chosen])))
        return cls(directions, np.clip(mean, -MOST_OFF, MOST_OFF), spread)

    def sample(self, z: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Members ``z`` of the prior moved there, and their log prior less log density; evenly spread."""
        r, n = self.mean.size, z.shape[1]
        if r == 0:
            return z, np.zeros(n)
        uniform = sobol(rng, r + 1, max(int(np.ceil(np.log2(n))), 0))[:n]
        normal = ndtri(np.clip(uniform[:, :r].T, 1e-6, 1.0 - 1e-6))
        anew = uniform[:, r] >= FROM_PRIOR
        place = np.where(anew, self.mean[:, None] + self.spread[:, None] * normal, normal)
        moved = z + self.directions @ (place - self.directions.T @ z)
        prior = -0.5 * np.sum(place**2, axis=0)
        off = (place - self.mean[:, None]) / self.spread[:, None]
        aimed = -0.5 * np.sum(off**2, axis=0) - np.sum(np.log(self.spread))
        density = np.logaddexp(np.log1p(-FROM_PRIOR) + aimed, np.log(FROM_PRIOR) + prior)
        return moved, prior - density


def weigh(log_ratio: Floats, log_likelihood: Floats, predicted: Predicted) -> Evidence:
    """Weights of members drawn from a ``Proposal``; the likelihood of evidence that contradicts itself is tempered.

    log_ratio: log prior less log density, (members,)
    log_likelihood: of all evidence, -inf for members that failed, (members,)
    predicted: the piece's own evidence as numbers, to tell outliers
    """
    n = log_ratio.size
    bad = ~np.isfinite(log_likelihood)
    if bad.all():
        return Evidence(np.full(n, 1.0 / n), 0.0, 0.0, 0.0)
    said = np.where(bad, 0.0, log_likelihood)
    base = np.where(bad, 0.0, log_ratio)
    out = np.where(bad, -np.inf, 0.0)
    raw = ess(_normal(out + base + said))
    least = max(2.0, LEAST_ESS * (n - bad.sum()))
    weights = _tempered_weights(out, base + said, least)
    exponent = 1.0
    if predicted.value.size:
        nis = _nis(predicted, weights)
        if nis > FITS:  # all errors are larger than was thought
            exponent = FITS / nis
            weights = _tempered_weights(out, base + exponent * said, least)
    return Evidence(weights, ess(weights), exponent, raw, _outliers(predicted, weights), before=_normal(out + base))


def _tempered_weights(out: Floats, log_weight: Floats, least: float) -> Floats:
    """Weights so that ``least`` members count: a power of them where need be.

    Its lower end, no weights at all, leaves the members as they were drawn, which is what the linear operator makes
    of the evidence.
    """
    weights = _normal(out + log_weight)
    if ess(weights) >= least:
        return weights
    return _normal(out + _tempering_exponent(out, log_weight, least) * log_weight)


def _nis(predicted: Predicted, weights: Floats) -> float:
    """Normalised innovation squared at the best place the members have, over the errors: its mean."""
    miss = predicted.value - predicted.of_members @ weights
    return float(miss @ np.linalg.solve(predicted.covariance, miss)) / miss.size


def temper(log_likelihood: Floats, share: float) -> Floats:
    """Weights by a likelihood tempered until a share of the members still counts."""
    said = np.where(np.isfinite(log_likelihood), log_likelihood, -1e3)
    base = np.zeros(said.size)
    if ess(_normal(said)) >= share * said.size:
        return _normal(said)
    return _normal(_tempering_exponent(base, said, share * said.size) * said)


def _tempering_exponent(base: Floats, said: Floats, least: float) -> float:
    """The exponent of the likelihood at which ``least`` members still count."""
    low, high = 0.0, 1.0
    for _ in range(30):
        exponent = 0.5 * (low + high)
        low, high = (exponent, high) if ess(_normal(base + exponent * said)) >= least else (low, exponent)
    return low


def _outliers(predicted: Predicted, weights: Floats) -> tuple[tuple[str, float], ...]:
    mean = predicted.of_members @ weights
    spread2 = np.einsum("km,m->k", (predicted.of_members - mean[:, None]) ** 2, weights)
    off = np.abs(predicted.value - mean) / np.sqrt(np.diag(predicted.covariance) + spread2)
    return tuple(name for name, far in zip(predicted.names, off, strict=True) if far > OUTLIER)


def _normal(log_w: Floats) -> Floats:
    return np.asarray(np.exp(log_w - logsumexp(log_w)))


def ess(weights: Floats) -> float:
    """Effective sample size: one over the sum of squares of weights that sum to 1."""
    return float(1.0 / np.sum(weights * weights))
