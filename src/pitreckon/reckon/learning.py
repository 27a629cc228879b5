"""What a cook told that outlives it: lessons of what was seen of its pieces."""

from __future__ import annotations

from datetime import datetime

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.reckon.draws import wrap_of
from pitreckon.reckon.forecast import Reckoning, reckoning
from pitreckon.reckon.learned import Lesson, lesson_lines
from pitreckon.reckon.posterior import Posterior, relinearised

MEMBERS = 256


def learn(cook: Cook, ledger: Ledger, name: str, *, members: int = MEMBERS, seed: int = 1) -> tuple[Lesson, ...]:
    """The lessons of a cook as far as its ledger goes, reckoned without those of other cooks.

    name: what the cook is called among the others

    Raises InputError: nothing is recorded
    """
    if not len(ledger):
        raise InputError(f"nothing is recorded of {name}: there is nothing to learn from", "Give its ledger")
    return lessons_of(reckoning(cook, ledger, members=members, seed=seed), name)


def lessons_of(done: Reckoning, name: str) -> tuple[Lesson, ...]:
    """The lessons of a cook that was reckoned; of pieces of which nothing was seen there are none."""
    at = done.outlook.now_utc
    lessons = [_lesson(got, name, at) for run in done.runs for got in run.tracks if got.track.observations]
    return tuple(each for each in lessons if each.value.size)


def _lesson(got: Posterior, name: str, at: datetime) -> Lesson:
    track = got.track
    slope, value, sd = lesson_lines(relinearised(got).robust(), track.levels)
    seen = track.observations
    return Lesson(
        cook=name,
        item=track.item.label,
        piece=track.piece,
        at_utc=at,
        cut=track.cut.key,
        pit=track.pit,
        kind=track.cook.pit(track.pit).kind,
        wrap=wrap_of(track.item),
        measured=track.item.thickness_m is not None,
        many=track.item.pieces > 1,
        seen=len(seen.looks) + len(seen.transitions) + len(seen.grate) + sum(s.at_s.size for s in seen.probe.stretches),
        slope=slope,
        value=value,
        sd=sd,
    )
