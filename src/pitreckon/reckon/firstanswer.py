"""A first answer to a look, from members that are reckoned already, within a fraction of a second.

A look or a reading changes no member's course, only how likely the member is: the members of the last outlook are
weighed anew, and their futures moved by lines as in the full update (``pace``). What a full one does besides, drawing
members where the new evidence points, comes after it. An act changes what is simulated: to that there is no first
answer.
"""

from dataclasses import replace
from datetime import datetime

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.ledger import Ledger
from pitreckon.ledger.condense import condensed
from pitreckon.reckon.forecast import Reckoning, outlook_of
from pitreckon.reckon.pace import aims_of
from pitreckon.reckon.posterior import Posterior, paced
from pitreckon.reckon.prepare import Track, tracks_of, with_hands
from pitreckon.reckon.sift import sift
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.update import weigh
from pitreckon.section.trace import Trace


def first_answer(last: Reckoning, ledger: Ledger, now: datetime) -> Reckoning | None:
    """The reckoning with what was seen since, or None: something was done since, which wants a full one.

    last: of the same cook; ledger: with all that is new, and without what was taken back
    now: not before the last one's moment
    """
    if now < last.outlook.now_utc:
        return None
    sifted = sift(last.cook, condensed(ledger.until(now)))
    if sifted.ledger.all_acts != last.sifted.ledger.all_acts:
        return None
    runs = []
    for run in last.runs:
        tracks = tracks_of(last.cook, run.item, sifted.ledger, now, last.outlook.seed)
        tracks = with_hands(tracks, run.main.track.observations.hands)
        if [track.label for track in tracks] != [each.track.label for each in run.tracks]:
            return None  # a piece is told apart that was not
        runs.append(ItemRun.of(tuple(_weighed(track, old) for track, old in zip(tracks, run.tracks, strict=True))))
    drawn = last.outlook.members, last.outlook.seed
    outlook = replace(outlook_of(last.cook, sifted, runs, now, drawn), thinking_again=True)
    return Reckoning(last.cook, sifted, outlook, tuple(runs))


def _weighed(track: Track, old: Posterior) -> Posterior:
    """The old members of a track, weighed by all that is known of it now."""
    seen, draw, trace = track.observations, old.ensemble.draw, old.as_run
    if seen == old.track.observations:
        return replace(old, ensemble=replace(old.ensemble, track=track), trace=_until_now(old.trace, track))
    before = old.evidence.weights if old.evidence.before is None else old.evidence.before
    with np.errstate(divide="ignore"):
        ratio = np.log(before)
    likelihood = seen.log_likelihood(draw, trace) + old.others.log_factor(old.ensemble.z)
    evidence = weigh(ratio, likelihood, seen.predicted(draw, trace))
    moved = paced(Posterior(replace(old.ensemble, track=track), trace, evidence, old.others))
    return replace(moved, trace=_until_now(moved.trace, track))


def _until_now(trace: Trace, track: Track) -> Trace:
    """A stage that is still on has not ended before now, in any member; what comes after it is as much later."""
    aims = aims_of(track.stages)
    if not aims or not track.stages[aims[0]].running:
        return trace
    ends = trace.stage_end_s.copy()
    late: Floats = np.maximum(track.now_s - ends[aims[0]], 0.0)
    ends[aims[0] :] += np.nan_to_num(late)
    return replace(trace, stage_end_s=ends)
