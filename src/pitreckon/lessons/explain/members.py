"""The members that fit a finished cook, as equals: what its story is told from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats, Ints
from pitreckon.cook import Cook
from pitreckon.ledger import Ledger
from pitreckon.ledger.condense import condensed
from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.reckon.posterior import posterior
from pitreckon.reckon.prepare import Ensemble, Track, ensemble, tracks_of
from pitreckon.reckon.quantiles import systematic_resample
from pitreckon.reckon.sift import sift
from pitreckon.section.course import Drive
from pitreckon.section.simulate import Job

POSTERIOR: Final = 256
"""Members that are weighed by what was seen."""
TOLD: Final = 96
"""Members that are drawn from those by weight, and tell the story."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """Members of a piece that fit all that was seen of its cook, each counting the same.

    made: the weighed ensemble; chosen: the members drawn from it, by number, (members,); some are there more than once
    """

    made: Ensemble
    chosen: Ints

    @property
    def track(self) -> Track:
        """Whose they are."""
        return self.made.track

    @property
    def unknowns(self) -> Floats:
        """Their unknowns, (unknowns, members)."""
        return np.ascontiguousarray(self.made.z[:, self.chosen])

    def of(self, name: str) -> Floats:
        """One of their parameters, (members,)."""
        return np.asarray(self.made.job.members[name][self.chosen])

    def job(self, horizon_s: float, snapshot_s: float | None = None) -> Job:
        """The run of their cook as it went. horizon_s: until then; snapshot_s: what is kept [s since put-on]"""
        job = self.made.job
        drive = Drive(np.ascontiguousarray(job.drive.air_c[:, self.chosen]), job.drive.knot_s, job.drive.known_until_s)
        return replace(
            job,
            members=job.members.take(self.chosen),
            drive=drive,
            course=job.course.take(self.chosen),
            mass=None if job.mass is None else job.mass[self.chosen],
            horizon_s=np.ceil(horizon_s / drive.knot_s) * drive.knot_s,
            snapshot_s=snapshot_s,
        )


def fitting(cook: Cook, ledger: Ledger, done: FinishedItem, seed: int, threads: int | None = None) -> Fitting:
    """The members that fit a finished item: of the piece of it of which most was seen."""
    now = ledger.last_utc
    assert now is not None  # it is finished, so something was recorded
    known = sift(cook, condensed(ledger)).ledger
    tracks = [track for item in cook.items for track in tracks_of(cook, item, known, now, seed)]
    seen = [track for track in tracks if track.observations or track.item.label == done.item.label]
    got = posterior(seen, POSTERIOR, threads, ahead=False)
    mine = [each for each in got if each.track.item.label == done.item.label]
    best = max(mine, key=lambda each: (len(each.track.acts), len(each.track.observations.looks), each.track.stands_for))
    chosen = systematic_resample(best.weights, TOLD)
    whole = ensemble(best.track, best.ensemble.z, best.track.horizon_s)
    return Fitting(whole, chosen)
