"""Messages of many houses, pooled: a normal hierarchical model with known loads and unknown spreads.

What is off in house i is ``x_i = L_i c + own``: ``c`` are standard numbers that all houses have in common (the model's
constants, kinds of pits and cuts), ``own`` is normal with the catalog's spreads times the root of a factor, one for the
pit and one for the piece, that is not known. The house's message says of ``x_i`` a quadratic log likelihood, as
``reckon.update.Information``. Given the factors all is closed (Gelman and others, Bayesian Data Analysis, 5.4, from
memory); they are found by the marginal likelihood with ``c`` integrated out, which is REML's where c's prior is wide
(Harville 1977, from memory), and have an error of their own. A message comes with a count, so that a hundred thousand
houses that tell what forty-eight told cost no more than these.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import chdtri

Floats = NDArray[np.float64]

UNUSUAL: Final = 0.05
"""A message that is further off than so many in a hundred would be is doubted, as lessons are within a house."""
LEAST_OF_RANK: Final = 1e-6
"""A direction in which a message says less than so much of what it says in its best says nothing."""
STEP: Final = 0.05
"""Of the differences by which the curvature in the factors is found."""
BOUND: Final = 5.0
"""Logarithms of factors are looked for from minus this to this."""


@dataclass(frozen=True, eq=False)
class Messages:
    """What houses told of k levels; c: how many numbers they have in common.

    precision: (houses, k, k), vector: (houses, k): the quadratic log likelihood of each house's departures
    loads: (houses, k, c); own: spreads of what is a house's own as the catalog has them, (houses, k)
    group: which of the factors holds for each level, (k,)
    """

    precision: Floats
    vector: Floats
    loads: Floats
    own: Floats
    group: NDArray[np.int64]

    def at(self, chosen: NDArray[np.int64]) -> Messages:
        """Some of the houses."""
        fields = (self.precision, self.vector, self.loads, self.own)
        return Messages(*(field[chosen] for field in fields), self.group)

    def moved(self, by: Floats) -> Messages:
        """As if every house were off by so much more, (houses, k)."""
        return replace(self, vector=self.vector + np.einsum("nij,nj->ni", self.precision, by))

    def of_common(self, factors: Floats) -> tuple[Floats, Floats, Floats]:
        """What each says of ``L c`` once its own is integrated out: precision, vector, and the log of the constant."""
        t = self.own**2 * factors[self.group]
        k = t.shape[1]
        inner = np.eye(k) + self.precision * t[:, None, :]
        both = np.linalg.solve(inner, np.concatenate([self.precision, self.vector[:, :, None]], axis=2))
        vector = both[:, :, k]
        constant = 0.5 * np.einsum("ni,ni,ni->n", self.vector, t, vector) - 0.5 * np.linalg.slogdet(inner)[1]
        return both[:, :, :k], vector, constant


@dataclass(frozen=True)
class Pooled:
    """mean, covariance: of the common numbers; factors: of the own variances, with the error of their logarithms."""

    mean: Floats
    covariance: Floats
    factors: Floats
    log_sd: Floats

    @property
    def expected_factors(self) -> Floats:
        """Mean of the factors, their uncertainty included."""
        return self.factors * np.exp(0.5 * self.log_sd**2)


def common_given(messages: Messages, counts: Floats, factors: Floats) -> tuple[Floats, Floats, float]:
    """Mean and covariance of the common numbers given the factors, and the log marginal likelihood of the factors."""
    precision, vector, constant = messages.of_common(factors)
    c = messages.loads.shape[2]
    weighed = np.einsum("n,nij,njc->nic", counts, precision, messages.loads)
    info = np.eye(c) + np.einsum("nic,nid->cd", messages.loads, weighed)
    pull = np.einsum("n,nic,ni->c", counts, messages.loads, vector)
    covariance = np.linalg.inv(info)
    mean = covariance @ pull
    log = float(counts @ constant + 0.5 * pull @ mean - 0.5 * np.linalg.slogdet(info)[1])
    return mean, covariance, log


def pool(messages: Messages, counts: Floats, factor_sd: float) -> Pooled:
    """The common numbers and the factors.

    counts: how many houses told each message, (houses,)
    factor_sd: prior spread of the logarithm of each factor about 0
    """

    def against(log_factors: Floats) -> float:
        prior = 0.5 * float(np.sum((log_factors / factor_sd) ** 2))
        return prior - common_given(messages, counts, np.exp(log_factors))[2]

    groups = int(messages.group.max()) + 1
    bounds = [(-BOUND, BOUND)] * groups
    best = minimize(against, np.zeros(groups), method="L-BFGS-B", bounds=bounds, options={"maxiter": 30}).x
    curved = np.zeros((groups, groups))
    steps = STEP * np.eye(groups)
    for i in range(groups):
        for j in range(groups):
            corners = [a * b * against(best + a * steps[i] + b * steps[j]) for a in (1, -1) for b in (1, -1)]
            curved[i, j] = sum(corners) / (4.0 * STEP * STEP)
    size, axes = np.linalg.eigh(0.5 * (curved + curved.T))
    log_sd = np.sqrt(np.diag((axes / np.maximum(size, factor_sd**-2)) @ axes.T))
    factors = np.exp(best)
    mean, covariance, _ = common_given(messages, counts, factors)
    return Pooled(mean, covariance, factors, log_sd)


def doubts(messages: Messages, found: Pooled) -> Floats:
    """How many times as large each message's errors are to be taken: those that all together do not foretell."""
    precision, vector, _ = messages.of_common(found.factors)
    off = vector - np.einsum("nij,njc,c->ni", precision, messages.loads, found.mean)
    out = np.ones(off.shape[0])
    for n, (of_one, score) in enumerate(zip(precision, off, strict=True)):
        size, axes = np.linalg.eigh(of_one)
        told = size > LEAST_OF_RANK * max(float(size[-1]), 1e-300)
        if size[-1] > 0.0:
            square = float(np.sum((axes[:, told].T @ score) ** 2 / size[told]))
            out[n] = max(1.0, square / float(chdtri(int(told.sum()), UNUSUAL)))
    return out


def doubted(messages: Messages, by: Floats) -> Messages:
    """With errors so many times as large, in variance."""
    return replace(messages, precision=messages.precision / by[:, None, None], vector=messages.vector / by[:, None])


def pool_robustly(messages: Messages, counts: Floats, factor_sd: float) -> Pooled:
    """``pool`` with odd houses doubted, found twice: one that is far off bends the others."""
    heard = messages
    for _ in range(2):
        heard = doubted(messages, doubts(messages, pool(heard, counts, factor_sd)))
    return pool(heard, counts, factor_sd)


def noise_sd(epsilon: float, delta: float, bound: float) -> float:
    """Of the normal noise on each number of a sum, so that it tells next to nothing of whether one house is in it.

    bound: the most that one house can move the sum, as a Euclidean norm. The Gaussian mechanism of (epsilon,
    delta)-differential privacy: Dwork and Roth 2014, theorem A.1, from memory; epsilon at most 1.
    """
    if not 0.0 < epsilon <= 1.0:
        raise ValueError(f"epsilon {epsilon}: this bound holds from 0 to 1")
    return float(bound * np.sqrt(2.0 * np.log(1.25 / delta)) / epsilon)
