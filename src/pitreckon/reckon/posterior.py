"""Members that fit what was seen, of every piece: the update, with its runs of the section."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.reckon.draws import stream
from pitreckon.reckon.evidence import Evidence, stacked
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.pace import Pace, pace_of
from pitreckon.reckon.prepare import RECORD_S, Ensemble, Track, ensemble
from pitreckon.reckon.update import LEAST_ESS, Information, LinearObs, Proposal, from_others, temper, weigh
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import Trace

FIRST_LEAST, FIRST_MOST = 96, 160
"""Members of the small ensemble that the linear operator is fitted through."""
STRONG, NEARER = 6.0, 1
"""Information, over the prior's, from which it is linearised again where the first one points, and how often."""
HALF = 0.5
"""Share of an ensemble that counts for its fit: those nearer to what was seen count more."""
AGAIN_BELOW = 0.08
"""Share of the members that count, below which a second proposal is made, from what the first one found."""


@dataclass(frozen=True)
class Posterior:
    """A track's members, with their weights and their futures as all evidence has them.

    trace: as they were run, and moved by ``pace`` where there is one; others: what the other tracks say of the unknowns
    unmoved: as they were run, where ``pace`` has moved them; line: what was seen of it as a linear operator
    """

    ensemble: Ensemble
    trace: Trace
    evidence: Evidence
    others: Information
    pace: Pace | None = None
    unmoved: Trace | None = None
    line: LinearObs | None = None

    @property
    def as_run(self) -> Trace:
        """The members as they were run."""
        return self.trace if self.unmoved is None else self.unmoved

    @property
    def track(self) -> Track:
        """Whose they are."""
        return self.ensemble.track

    @property
    def weights(self) -> Floats:
        """Sum to 1."""
        return self.evidence.weights


def posterior(
    tracks: Sequence[Track],
    members: int,
    threads: int | None = None,
    lessons: Lessons | None = None,
    *,
    ahead: bool = True,
) -> list[Posterior]:
    """Run and weigh ``members`` of every track, to its horizon, on so many threads (all cores by default).

    ahead: False: no further than something was seen, for those who ask nothing of what comes
    """
    lines = linearise(tracks, members, threads)
    return drawn(tracks, lines, others_of(tracks, lines, lessons), members, threads, ahead=ahead)


def others_of(tracks: Sequence[Track], lines: Sequence[LinearObs], lessons: Lessons | None) -> list[Information]:
    """What was seen of the others, and what the house has learned, says of each track; ``lines``: of all of them."""
    used = lessons if lessons is not None and lessons.used else None
    heard = [*lines, *(used.lines if used else ())]
    correlation = _correlation(tracks, used)
    return [from_others(i, heard, correlation) for i in range(len(tracks))]


def drawn(
    tracks: Sequence[Track],
    lines: Sequence[LinearObs],
    others: Sequence[Information],
    members: int,
    threads: int | None = None,
    *,
    ahead: bool = True,
) -> list[Posterior]:
    """Members of each track, drawn where its line and the others point, run and weighed; see ``posterior``."""
    run = partial(_run, members=members, threads=threads, ahead=ahead)
    done = run(tracks, [_proposal(line, other) for line, other in zip(lines, others, strict=True)], others, turn=1)
    poor = [
        i for i, got in enumerate(done) if got.track.observations and 0.0 < _ess_untempered(got) < AGAIN_BELOW * members
    ]
    if poor:
        proposals = [_proposal(relinearised(done[i]), others[i]) for i in poor]
        again = run([tracks[i] for i in poor], proposals, [others[i] for i in poor], turn=2)
        for i, got in zip(poor, again, strict=True):
            done[i] = max(done[i], got, key=_ess_untempered)
    done = [replace(got, line=line) for got, line in zip(done, lines, strict=True)]
    return [paced(got) for got in done] if ahead else done


def paced(got: Posterior) -> Posterior:
    """With the futures where lines have them, if too few members fit what was seen for their own to be trusted."""
    if got.evidence.ess_untempered >= LEAST_ESS * got.weights.size:
        return got
    track, each, seen = got.track, got.ensemble, got.track.observations
    likelihood = seen.log_likelihood(each.draw, got.trace) + got.others.log_factor(each.z)
    predicted = seen.predicted(each.draw, got.trace) if seen else stacked([], likelihood.size)
    pace = pace_of(
        *(got.trace, track.stages, each.draw.members, each.z, got.weights, likelihood, predicted, got.others),
        *(track.now_s, track.zero),
    )
    if pace is None:
        return got
    return replace(got, trace=pace.applied(got.trace, track.stages), pace=pace, unmoved=got.trace)


def linearise(tracks: Sequence[Track], members: int, threads: int | None) -> list[LinearObs]:
    """A linear operator for every track of which something was seen: through a small ensemble of the prior.

    Where the evidence is strong, what is far from it does not matter and is seldom straight: once more, through members
    drawn where the first one points.
    """
    n = int(np.clip(members // 2, FIRST_LEAST, FIRST_MOST))
    found = [_nothing() for _ in tracks]
    seen = [i for i, track in enumerate(tracks) if track.observations]
    priors = [tracks[i].prior(n) for i in seen]
    for i, line in zip(seen, _linearise_at([tracks[i] for i in seen], priors, threads), strict=True):
        found[i] = line
    for turn in range(NEARER):
        strong = [i for i in seen if _strength(found[i]) >= STRONG]
        near = []
        for i in strong:
            proposal = _proposal(found[i], Information.none(len(UNKNOWNS)))
            z, _ = proposal.sample(tracks[i].prior(n), stream(tracks[i].seed, f"nearer {turn} {tracks[i].label}"))
            near.append(z)
        for i, line in zip(strong, _linearise_at([tracks[i] for i in strong], near, threads), strict=True):
            found[i] = line
    return found


def _strength(line: LinearObs) -> float:
    """Information in the best-known direction, over the prior's."""
    own = line.robust()
    if not own.innovation.size:
        return 0.0
    return float(np.linalg.eigvalsh(Information.of(own.slope, own.innovation, own.covariance).precision)[-1])


def _linearise_at(tracks: Sequence[Track], zs: Sequence[Floats], threads: int | None) -> list[LinearObs]:
    """Run each track's members as far as something was seen, and fit an operator through them."""
    ensembles = [ensemble(track, z, _seen_s(track)) for track, z in zip(tracks, zs, strict=True)]
    out = []
    for each, trace in zip(ensembles, simulate_all([each.job for each in ensembles], threads=threads), strict=True):
        good = np.isnan(trace.failed_s)
        if good.sum() <= len(UNKNOWNS):
            out.append(_nothing())
            continue
        seen = each.track.observations
        predicted = seen.predicted(each.draw, trace).of(good)
        likelihood = seen.log_likelihood(each.draw, trace)[good]
        out.append(LinearObs.through(each.z[:, good], predicted, temper(likelihood, HALF)))
    return out


def _nothing() -> LinearObs:
    return LinearObs(np.zeros((0, len(UNKNOWNS))), np.zeros(0), np.zeros((0, 0)))


def relinearised(got: Posterior) -> LinearObs:
    """A linear operator where the members that count are; the likelihood tempered so that enough do."""
    good = np.isnan(got.as_run.failed_s)
    predicted = got.track.observations.predicted(got.ensemble.draw, got.as_run).of(good)
    likelihood = got.track.observations.log_likelihood(got.ensemble.draw, got.as_run)[good]
    return LinearObs.through(got.ensemble.z[:, good], predicted, temper(likelihood, HALF))


def _proposal(line: LinearObs, others: Information) -> Proposal:
    own = line.robust()
    return Proposal.at(Information.of(own.slope, own.innovation, own.covariance).plus(others))


def _run(
    tracks: Sequence[Track],
    proposals: Sequence[Proposal],
    others: Sequence[Information],
    *,
    members: int,
    turn: int,
    threads: int | None,
    ahead: bool,
) -> list[Posterior]:
    """Draw, run and weigh."""
    drawn = []
    for track, proposal in zip(tracks, proposals, strict=True):
        rng = stream(track.seed, f"aim {turn} {track.label}")
        drawn.append(proposal.sample(track.prior(members), rng))
    ensembles: list[Ensemble] = []

    def jobs() -> Iterator[Job]:
        for track, (z, _) in zip(tracks, drawn, strict=True):
            ensembles.append(each := ensemble(track, z, track.horizon_s if ahead else _seen_s(track)))
            yield replace(each.job, snapshot_s=_snapshot_s(each))

    traces = simulate_all(jobs(), threads=threads)
    out = []
    for each, trace, (_, ratio), other in zip(ensembles, traces, drawn, others, strict=True):
        seen = each.track.observations
        likelihood = seen.log_likelihood(each.draw, trace) + other.log_factor(each.z)
        predicted = seen.predicted(each.draw, trace) if seen else stacked([], members)
        out.append(Posterior(each, trace, weigh(ratio, likelihood, predicted), other))
    return out


def _seen_s(track: Track) -> float:
    """How far something was seen of a track [s since put-on], with one record more."""
    return float(np.ceil(track.observations.last_s / RECORD_S + 1.0) * RECORD_S)


def _snapshot_s(each: Ensemble) -> float | None:
    """The knot before the present: what-ifs go on from there."""
    knot_s = each.job.drive.knot_s
    now_s = np.floor(each.track.now_s / knot_s) * knot_s
    return float(now_s) if 0.0 <= now_s <= each.job.horizon_s else None


def _ess_untempered(got: Posterior) -> float:
    return got.evidence.ess_untempered


def _correlation(tracks: Sequence[Track], lessons: Lessons | None) -> Floats:
    """Correlation of the unknowns of any two tracks, then lessons, (track, track, unknown, unknown)."""
    k, learned = len(tracks), len(lessons.used) if lessons else 0
    out = np.zeros((k + learned, k + learned, len(UNKNOWNS), len(UNKNOWNS)))
    if lessons:
        out[k:, k:] = lessons.among
    for i, one in enumerate(tracks):
        out[i, i] = np.eye(len(UNKNOWNS))
        for j, other in enumerate(tracks[:i]):
            alike = {"same_pit": one.pit == other.pit, "same_item": one.item.label == other.item.label}
            out[i, j] = one.levels.correlation(other.levels, **alike)
            out[j, i] = out[i, j].T
        if lessons:
            place = (one.pit, one.cook.pit(one.pit).kind, one.item.cut, one.put_on)
            for j, lesson in enumerate(lessons.used, start=k):
                out[j, i] = lessons.correlation(lesson, one.levels, place)
                out[i, j] = out[j, i].T
    return out
