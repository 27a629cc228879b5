"""What a cook told that outlives it: lessons of what was seen of its pieces."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.bothways import tapped_and_measured
from pitreckon.ledger.condense import condensed
from pitreckon.reckon.baths import told_by_baths
from pitreckon.reckon.beside import Seen, hands_told
from pitreckon.reckon.draws import wrap_of
from pitreckon.reckon.evidence import Observations
from pitreckon.reckon.hands import HandTold
from pitreckon.reckon.howlong import Told, told_of
from pitreckon.reckon.learned import Lesson
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.notbelieved import of_cook, of_track, without_wrong_clocks
from pitreckon.reckon.posterior import Posterior, posterior, relinearised
from pitreckon.reckon.prepare import Track, tracks_of
from pitreckon.reckon.sift import sift

MEMBERS = 256
OF_ALL, LEAST = 1024, 128
"""Where many pieces were looked at by themselves each has fewer members, so that learning takes seconds."""


def learn(cook: Cook, ledger: Ledger, name: str, *, members: int = MEMBERS, seed: int = 1) -> tuple[Lesson, ...]:
    """The lessons of a cook as far as its ledger goes, reckoned without those of other cooks.

    Of pieces of which nothing was seen there are none. name: what the cook is called among the others

    Raises InputError: nothing is recorded
    """
    if not len(ledger):
        raise InputError(f"nothing is recorded of {name}: there is nothing to learn from", "Give its ledger")
    in_time, wrong_clocks = without_wrong_clocks(cook, condensed(ledger))
    sifted = sift(cook, in_time)
    known = sifted.ledger
    at = in_time.last_utc or cook.begin_utc
    tracks = [track for item in cook.items for track in tracks_of(cook, item, known, at, seed)]
    seen = [track for track in tracks if track.observations]
    each = min(members, max(OF_ALL // max(len(seen), 1), LEAST))
    done = posterior(seen, each, ahead=False)
    looked = [_seen(got) for got in done]
    told = told_of(done, [own.lines for own in looked])
    pairs = tapped_and_measured(known)
    baths = told_by_baths(known, cook.altitude_m)
    lessons = [
        replace(
            _lesson(got, name, at, of_it, _sorted((*hands_told(own, looked, pairs), *baths))),
            not_believed=of_track(got),
        )
        for got, own, of_it in zip(done, looked, told, strict=True)
    ]
    # Of an eye a cook can tell something when it tells nothing worth a line of meat and pit, and of a thermometer
    # where nothing was seen of any meat.
    if baths and not lessons:
        lessons = [_bare(tracks[0], name, at, baths)]
    kept = [each for each in lessons if each.value.size or any(hand.beside for hand in each.hands)]
    # What was not believed is said where nothing else was learned, too.
    of_all = [*wrong_clocks, *of_cook(cook, sifted)]
    if not kept:
        of_all += [line for each in lessons for line in each.not_believed]
        kept = [_bare(tracks[0], name, at, ())] if of_all else []
    return tuple(replace(each, not_believed=(*of_all, *each.not_believed)) for each in kept[:1]) + tuple(kept[1:])


def _sorted(hands: tuple[HandTold, ...]) -> tuple[HandTold, ...]:
    return tuple(sorted(hands, key=lambda each: (each.by, each.kind)))


def _bare(track: Track, name: str, at: datetime, baths: tuple[HandTold, ...]) -> Lesson:
    """A lesson of nothing but thermometers, or of nothing at all."""
    empty = Told((), np.zeros((0, len(UNKNOWNS))), np.zeros(0), np.zeros(0))
    return _lesson_of(track, name, at, empty, baths, sum(each.beside for each in baths))


def _hand(seen: Observations) -> str | None:
    """Who took the looks, where it was one person and that is known."""
    hands = {look.by for _, look in seen.looks}
    return hands.pop() or None if len(hands) == 1 else None


def _seen(got: Posterior) -> Seen:
    seen = got.track.observations
    return Seen(relinearised(got), seen.in_order(), seen.whose())


def _lesson(got: Posterior, name: str, at: datetime, told: Told, hands: tuple[HandTold, ...]) -> Lesson:
    seen = got.track.observations
    many = len(seen.looks) + len(seen.transitions) + len(seen.grate) + sum(s.at_s.size for s in seen.probe.stretches)
    return _lesson_of(got.track, name, at, told, hands, many)


def _lesson_of(track: Track, name: str, at: datetime, told: Told, hands: tuple[HandTold, ...], seen: int) -> Lesson:
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
        hand=_hand(track.observations),
        hands=hands,
        seen=seen,
        slope=told.slope,
        value=told.value,
        sd=told.sd,
        what=told.what,
    )
