"""From the last reckoning to the one as things stand now: nothing is run again that has not changed.

A look or a reading changes no member's course, only how likely the member is: the members that are there are weighed
anew, by all that is known now of their own piece and of the others, and their futures moved by lines (``pace``). Run
again are only pieces that something was done to, whose pit went another way than they were run with, or of whose
members too few are left. What is weighed alone is a first answer within a fraction of a second.

The answer is as good as that of a whole reckoning and not the same to the last digit. Whatever was run, and when, is
named with it, so that the same can be had again (``web.live.questions.Again``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from pitreckon.ledger import Ledger
from pitreckon.ledger.condense import condensed
from pitreckon.reckon.forecast import Reckoning, outlook_of
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.posterior import Posterior, drawn, linearise, others_of, paced, relinearised
from pitreckon.reckon.prepare import Track, tracks_of, with_house
from pitreckon.reckon.sift import Sifted, sift
from pitreckon.reckon.strayed import acts_on_pit, late_s, overdue, strayed_k_s
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.update import LEAST_ESS, Information, LinearObs, weigh

STRAYED_K_S: Final = 25.0 * 60.0
"""A pit that went another way than its members by so much wants them run again [K s]: it moves what comes by one to
three minutes."""
LATE_S: Final = 240.0
"""Members whose running stage was over before now by so much on average have gone on to the next one too long [s]."""
POORER: Final = 0.5
"""Members are drawn again when fewer count than this share of those that did when they were drawn."""
WHOLE_AFTER: Final = timedelta(minutes=15)
"""The whole is reckoned again after so long, whatever happened."""


@dataclass(frozen=True)
class Onward:
    """A reckoning that goes on from another.

    base: what the next one goes on from: the other one, with what was run again in its place
    ran: the tracks that were run again; left: those that should be and were not, as nothing was to be run
    """

    reckoning: Reckoning
    base: Reckoning
    ran: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


def onward(
    last: Reckoning,
    ledger: Ledger,
    now: datetime,
    *,
    run: bool = True,
    threads: int | None = None,
    lessons: Lessons | None = None,
) -> Onward | None:
    """The reckoning as of ``now``; None: it wants a whole one.

    last: of the same cook, as it was run: a whole one, or the ``base`` of one that went on from it
    ledger: with all that is new, and without what was taken back
    run: False: nothing is run; then it is None too where something was done since
    threads: of the kernel; lessons: as ``last`` had them
    """
    if not timedelta(0) <= now - last.outlook.now_utc < WHOLE_AFTER:
        return None
    sifted = sift(last.cook, condensed(ledger.until(now)))
    found = _found(last, sifted, now)
    if not run and any(each.changed for each in found):
        return None
    learned = None if lessons is None else lessons.before(last.cook.begin_utc)
    tracks = [each.track for each in found]
    lines = _lines(found, last.outlook.members, threads)
    others = others_of(tracks, lines, learned)
    done = [
        None if each.was is None or each.changed else _weighed(each, each.was, line, other)
        for each, line, other in zip(found, lines, others, strict=True)
    ]
    again = [i for i, got in enumerate(done) if got is None or _wants_more(found[i], got)]
    if run and again:
        _sharpen(lines, found, again, last.outlook.members, threads)
        others = others_of(tracks, lines, learned)
        told = [lines[i] for i in again], [others[i] for i in again]
        for i, got in zip(again, drawn([tracks[i] for i in again], *told, last.outlook.members, threads), strict=True):
            done[i] = got
    new = set(again) if run else set()
    runs = _runs(last, [got if i in new else _until_now(got) for i, got in enumerate(done) if got is not None])
    outlook = outlook_of(last.cook, sifted, runs, now, (last.outlook.members, last.outlook.seed))
    reckoning = Reckoning(last.cook, sifted, replace(outlook, thinking_again=bool(again) and not run), runs)
    names = tuple(tracks[i].label for i in again)
    if not new:
        return Onward(reckoning, last, (), names)
    kept = [done[i] if i in new else each.was for i, each in enumerate(found)]
    base = replace(last, runs=_runs(last, [got for got in kept if got is not None]))
    return Onward(reckoning, base, names)


@dataclass(frozen=True)
class _Found:
    """A track as it is now. was: it as it was, None: it was not told apart; changed: its course is another one"""

    track: Track
    was: Posterior | None
    changed: bool


def _found(last: Reckoning, sifted: Sifted, now: datetime) -> list[_Found]:
    """Every track now, in the order of the cook."""
    found = []
    for run in last.runs:
        tracks = tracks_of(last.cook, run.item, sifted.ledger, now, last.outlook.seed)
        tracks = with_house(tracks, run.main.track.observations.hands, run.main.track.strays)
        old = {each.track.label: each for each in run.tracks}
        for track in tracks:
            was = old.get(track.label)
            found.append(_Found(track, was, was is None or _done_to(track, was.track)))
    return found


def _done_to(track: Track, was: Track) -> bool:
    """Has something been done to a piece or its pit since, or been taken back, or is it of another number of pieces, or
    is another course before it since it was felt?"""

    def done(each: Track) -> tuple[object, ...]:
        return each.acts, each.put_on, each.stands_for, each.stages, acts_on_pit(each)

    return done(track) != done(was)


def _lines(found: Sequence[_Found], members: int, threads: int | None) -> list[LinearObs]:
    """What was seen of each track as a linear operator: the one it had, through its members, or through new ones."""
    lines: list[LinearObs | None] = []
    for each in found:
        was = each.was
        if was is None or each.changed:
            lines.append(None)
        elif was.line is not None and was.track.observations == each.track.observations:
            lines.append(was.line)
        else:
            lines.append(relinearised(_as_of(each.track, was)))
    missing = [i for i, line in enumerate(lines) if line is None]
    new = iter(linearise([found[i].track for i in missing], members, threads))
    return [next(new) if line is None else line for line in lines]


def _sharpen(
    lines: list[LinearObs], found: Sequence[_Found], again: Sequence[int], members: int, threads: int | None
) -> None:
    """New lines for what is run again and was seen anew: few of its old members may lie where they count."""
    old = [i for i in again if not found[i].changed and lines[i] is not _line_of(found[i])]
    for i, line in zip(old, linearise([found[i].track for i in old], members, threads), strict=True):
        lines[i] = line


def _line_of(each: _Found) -> LinearObs | None:
    return None if each.was is None else each.was.line


def _as_of(track: Track, was: Posterior) -> Posterior:
    """Its members as they were run, with the track as it is now."""
    return replace(was, ensemble=replace(was.ensemble, track=track))


def _weighed(each: _Found, was: Posterior, line: LinearObs, others: Information) -> Posterior:
    """The members of a track, weighed by all that is known of it now."""
    track = each.track
    old = _as_of(track, was)
    seen, draw, trace = track.observations, old.ensemble.draw, old.as_run
    same = seen == was.track.observations and _same(others, was.others)
    if same:
        return replace(old, line=line)
    before = was.evidence.weights if was.evidence.before is None else was.evidence.before
    with np.errstate(divide="ignore"):
        ratio = np.log(before)
    likelihood = seen.log_likelihood(draw, trace) + others.log_factor(old.ensemble.z)
    evidence = weigh(ratio, likelihood, seen.predicted(draw, trace))
    return paced(Posterior(old.ensemble, trace, evidence, others, line=line))


def _same(one: Information, other: Information) -> bool:
    return bool(np.array_equal(one.precision, other.precision) and np.array_equal(one.vector, other.vector))


def _wants_more(each: _Found, got: Posterior) -> bool:
    """Are its members to be run again, though nothing was done to it?"""
    was = each.was
    assert was is not None
    count = got.evidence.ess_untempered
    if count < LEAST_ESS * got.weights.size and count < POORER * was.evidence.ess_untempered:
        return True
    return strayed_k_s(each.track, was) > STRAYED_K_S or late_s(got) > LATE_S


def _runs(last: Reckoning, done: Sequence[Posterior]) -> tuple[ItemRun, ...]:
    """By item, in the order of the cook."""
    return tuple(ItemRun.of(tuple(got for got in done if got.track.item.label == run.item.label)) for run in last.runs)


def _until_now(got: Posterior) -> Posterior:
    """A stage that is still on has not ended before now, in any member; what comes after it is as much later."""
    found = overdue(got)
    if found is None:
        return got
    stage, late = found
    ends = got.trace.stage_end_s.copy()
    ends[stage:] += late
    return replace(got, trace=replace(got.trace, stage_end_s=ends), unmoved=got.as_run)
