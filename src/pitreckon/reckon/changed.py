"""Whether a pit is still the one it was: a new gasket, a move to the wind, that nobody said.

For every cook on a pit the evidence of all lessons is reckoned under "since this cook what is the pit's own is drawn
anew", under "it is the same pit", and under "this one cook is odd" (a stuck probe, another pit named); lessons are
normal lines with known covariances, so each is in closed form. With stated odds before anything was seen, these give
the chance that the pit changed before each cook.

Method: one change point with conjugate normal segments, as in P. Fearnhead, "Exact and efficient Bayesian inference
for multiple changepoint problems" (Statistics and Computing 16, 2006; from memory), with outliers as in G. E. P. Box
and G. C. Tiao, "A Bayesian approach to some outlier problems" (Biometrika 55, 1968; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.linalg import solve_triangular
from scipy.special import logsumexp

from pitreckon.arrays import Floats

ODDS: Final = 1.0 / 30.0
"""Odds, before a cook, that its pit is another one than at the cook before (a new gasket, moved): a judgement."""
ODD: Final = 1.0 / 20.0
"""Odds that a cook tells of something else than its pit and meat (a stuck probe, another pit named): a judgement."""
ODD_TIMES: Final = 16.0
"""How many times as large the errors of such a cook are taken, in variance."""
SURE: Final = 0.5
"""A change is believed and said once it is likelier than not."""


@dataclass(frozen=True)
class Change:
    """A pit that is likely another one than it was.

    pit, kind: its label and its catalog key; chance: that it changed at all since the first lesson of it
    cook, since: the likeliest first cook on the new one, and when its lesson is of
    last: when the latest lesson of the old one is of, if it changed then; by_cook: when, and the chance that it changed
        just before that
    """

    pit: str
    kind: str
    chance: float
    cook: str
    since: datetime
    last: datetime
    by_cook: tuple[tuple[datetime, float], ...]

    def kept(self, one: datetime, other: datetime) -> float:
        """The chance that it is one pit at both moments."""
        low, high = min(one, other), max(one, other)
        return max(1.0 - sum(chance for at, chance in self.by_cook if low < at <= high), 0.0)


@dataclass(frozen=True, eq=False)
class Told:
    """What the lessons of a house told, in the order of their moments.

    at: of each lesson; cook: which it is of; said: it was said and no cook; mine: it is of the pit that is asked about
    rows: which rows of the others are its own; error: variance of that of each line, (lines,); value: of each, (lines,)
    covariance: of the values about nothing, if it is one pit, (lines, lines)
    own: how what is the pit's own enters them, in its spreads, nothing for lessons of other pits, (lines, unknowns)
    share: of the pit's own that two lessons have in common if it is one pit, (lessons, lessons)
    """

    at: Sequence[datetime]
    cook: Sequence[str]
    said: Sequence[bool]
    mine: Sequence[bool]
    rows: Sequence[slice]
    error: Floats
    value: Floats
    covariance: Floats
    own: Floats
    share: Floats


def change_of(pit: str, kind: str, told: Told, not_before: datetime | None) -> Change | None:
    """Whether and when a pit changed; None: there is no telling, or it is likely the same.

    not_before: up to then somebody said that it is the same
    """
    firsts = [(last, at, cook) for (last, _), (at, cook) in pairwise(_cooks(told))]
    asked = [each for each in firsts if not_before is None or each[1] > not_before]
    if not asked:
        return None
    chances = chances_of(told, [at for _, at, _ in asked], told.value[:, None])[:, 0]
    if not chances.sum() >= SURE:
        return None
    last, since, cook = asked[int(np.argmax(chances))]
    by_cook = tuple((at, float(each)) for (_, at, _), each in zip(asked, chances, strict=True))
    return Change(pit, kind, float(chances.sum()), cook, since, last, by_cook)


def chances_of(told: Told, when: Sequence[datetime], values: Floats) -> Floats:
    """The chance that the pit changed just before each of these moments, (moments, draws); nan: there is no telling.

    values: in place of those of ``told``, (lines, draws)
    """
    odd = [told.covariance + np.diag(_if_odd(told, cook)) for cook in _all_cooks(told)]
    cases = [(0.0, told.covariance)]
    cases += [(float(np.log(ODDS)), if_changed(told, at)) for at in when]
    cases += [(float(np.log(ODD)), each) for each in odd]
    scores = np.array([odds + _log_evidence(covariance, values) for odds, covariance in cases])
    return np.asarray(np.exp(scores - logsumexp(scores, axis=0))[1 : 1 + len(when)])


def _cooks(told: Told) -> list[tuple[datetime, str]]:
    """The cooks on the pit, by the first moment of their lessons."""
    found: dict[str, datetime] = {}
    for at, cook, said, mine in zip(told.at, told.cook, told.said, told.mine, strict=True):
        if mine and not said:
            found.setdefault(cook, at)
    return [(at, cook) for cook, at in found.items()]


def _all_cooks(told: Told) -> list[str]:
    """What may be odd: a cook, or what somebody said, on the pit."""
    return list(dict.fromkeys(cook for cook, mine in zip(told.cook, told.mine, strict=True) if mine))


def if_changed(told: Told, at: datetime) -> Floats:
    """The covariance if what is the pit's own was drawn anew just before a moment."""
    out = told.covariance.copy()
    before = [i for i, when in enumerate(told.at) if told.mine[i] and when < at]
    after = [i for i, when in enumerate(told.at) if told.mine[i] and when >= at]
    for i in before:
        for j in after:
            a, b = told.rows[i], told.rows[j]
            common = told.share[i, j] * (told.own[a] @ told.own[b].T)
            out[a, b] -= common
            out[b, a] -= common.T
    return out


def _if_odd(told: Told, cook: str) -> Floats:
    """What is added to the errors' variances if a cook is odd."""
    out = np.zeros(told.value.size)
    for rows, name in zip(told.rows, told.cook, strict=True):
        if name == cook:
            out[rows] = (ODD_TIMES - 1.0) * told.error[rows]
    return out


def _log_evidence(covariance: Floats, values: Floats) -> Floats:
    """Of normal numbers about nothing, up to a constant, (draws,)."""
    try:
        lower = np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError:
        return np.full(values.shape[1], np.nan)
    white = solve_triangular(lower, values, lower=True)
    return np.asarray(-0.5 * np.sum(white**2, axis=0) - np.log(np.diag(lower)).sum())
