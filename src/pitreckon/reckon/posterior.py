"""Members that fit what was seen, of every piece: the update, with its runs of the section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pitreckon.reckon.draws import ITEM_UNKNOWNS, OWN_SHARE, PIT_UNKNOWNS, UNKNOWNS, stream
from pitreckon.reckon.evidence import Evidence, Predicted, stacked
from pitreckon.reckon.prepare import RECORD_S, Ensemble, Track, ensemble
from pitreckon.reckon.update import Aim, Information, Lines, from_others, weigh
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace

Floats = NDArray[np.float64]

FIRST_LEAST, FIRST_MOST = 96, 256
"""Members of the small ensemble through which the straight lines go."""
AGAIN_BELOW = 0.12
"""Share of the members that count, below which a second aim is taken, from what the first one found."""


@dataclass(frozen=True)
class Posterior:
    """A track's members as they were run, with their weights; ``others``: what the other tracks say of its unknowns."""

    ensemble: Ensemble
    trace: Trace
    evidence: Evidence
    others: Information

    @property
    def track(self) -> Track:
        """Whose they are."""
        return self.ensemble.track

    @property
    def weights(self) -> Floats:
        """Sum to 1."""
        return self.evidence.weights


def posterior(tracks: Sequence[Track], members: int) -> list[Posterior]:
    """Run and weigh ``members`` of every track, to its horizon."""
    lines = _lines(tracks, members)
    alike = _alike(tracks)
    others = [from_others(i, lines, alike) for i in range(len(tracks))]
    done = _run(tracks, [_aim(line, other) for line, other in zip(lines, others, strict=True)], others, members, 1)
    poor = [i for i, got in enumerate(done) if got.track.seen and 0.0 < _before_tempering(got) < AGAIN_BELOW * members]
    if poor:
        aims = [_aim(_lines_again(done[i]), others[i]) for i in poor]
        again = _run([tracks[i] for i in poor], aims, [others[i] for i in poor], members, 2)
        for i, got in zip(poor, again, strict=True):
            done[i] = max(done[i], got, key=_before_tempering)
    return done


def _lines(tracks: Sequence[Track], members: int) -> list[Lines]:
    """Straight lines through a small ensemble of the prior, of every track of which something was seen."""
    n = int(np.clip(members // 2, FIRST_LEAST, FIRST_MOST))
    seen = [i for i, track in enumerate(tracks) if track.seen]
    first = [
        ensemble(tracks[i], tracks[i].prior(n), np.ceil(tracks[i].seen.last_s / RECORD_S + 1.0) * RECORD_S)
        for i in seen
    ]
    traces = simulate_all([each.job for each in first])
    found = [_nothing() for _ in tracks]
    for i, each, trace in zip(seen, first, traces, strict=True):
        good = np.isnan(trace.failed_s)
        predicted = tracks[i].seen.predicted(each.draw, trace)
        if good.sum() > len(UNKNOWNS):
            found[i] = Lines.through(each.z[:, good], _of_some(predicted, good), np.full(good.sum(), 1.0 / good.sum()))
    return found


def _nothing() -> Lines:
    return Lines(np.zeros((0, len(UNKNOWNS))), np.zeros(0), np.zeros((0, 0)))


def _of_some(predicted: Predicted, which: NDArray[np.bool_]) -> Predicted:
    return replace(predicted, of_members=predicted.of_members[:, which])


def _lines_again(got: Posterior) -> Lines:
    """Straight lines where the first members that count are; the weights' tips taken off, so that enough do."""
    good = np.isnan(got.trace.failed_s)
    weights = np.where(good, got.evidence.weights, 0.0)
    weights = np.minimum(weights, 5.0 / weights.size)
    predicted = got.track.seen.predicted(got.ensemble.draw, got.trace)
    return Lines.through(got.ensemble.z[:, good], _of_some(predicted, good), weights[good] / weights.sum())


def _aim(line: Lines, others: Information) -> Aim:
    own = line.robust()
    return Aim.at(Information.of(own.slope, own.over, own.covariance).plus(others))


def _run(
    tracks: Sequence[Track], aims: Sequence[Aim], others: Sequence[Information], members: int, turn: int
) -> list[Posterior]:
    """Draw, run and weigh."""
    drawn = []
    for track, aim in zip(tracks, aims, strict=True):
        rng = stream(track.seed, f"aim {turn} {track.label}")
        drawn.append(aim.drawn(track.prior(members), rng))
    ensembles = [ensemble(track, z, track.horizon_s) for track, (z, _) in zip(tracks, drawn, strict=True)]
    traces = simulate_all([replace(each.job, keep_s=_keep_s(each)) for each in ensembles])
    out = []
    for each, trace, (_, ratio), other in zip(ensembles, traces, drawn, others, strict=True):
        seen = each.track.seen
        likelihood = seen.log_likelihood(each.draw, trace) + other.log_factor(each.z)
        predicted = seen.predicted(each.draw, trace) if seen else stacked([], members)
        out.append(Posterior(each, trace, weigh(ratio, likelihood, predicted), other))
    return out


def _keep_s(each: Ensemble) -> float | None:
    """The knot before the present: what-ifs go on from there."""
    knot_s = each.job.drive.knot_s
    now_s = np.floor(each.track.now_s / knot_s) * knot_s
    return float(now_s) if 0.0 <= now_s <= each.job.horizon_s else None


def _before_tempering(got: Posterior) -> float:
    return got.evidence.raw_effective


def _alike(tracks: Sequence[Track]) -> Floats:
    """Correlation of each unknown between any two tracks, (track, track, unknown)."""
    own = np.array([OWN_SHARE[name] for name in ITEM_UNKNOWNS])
    k, of_pit = len(tracks), len(PIT_UNKNOWNS)
    out = np.zeros((k, k, len(UNKNOWNS)))
    for i, one in enumerate(tracks):
        for j, other in enumerate(tracks):
            if i == j:
                out[i, j] = 1.0
                continue
            out[i, j, :of_pit] = one.pit == other.pit
            if one.item.label == other.item.label:
                out[i, j, of_pit:] = 1.0 - own
    return out
