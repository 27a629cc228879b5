"""What the cook has seen goes before what is reckoned: a colour that is there, a probe that slides in.

A stage ends by the cook's own judgement. Where the last look of the kind that it waits for says that it is there, the
act is due now, however late the members have it: the look may be one that they cannot explain (a flare, sugar that
burnt, a rack over the fire), and then it is the forecast that is wrong. A core temperature is left to the members: one
tip may have missed the coldest place. A probe that slides in ends a stage that waits for something else, too: ``felt``.
"""

from dataclasses import replace
from datetime import datetime

import numpy as np

from pitreckon.cook import Cook
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Ledger, Look
from pitreckon.reckon.felt import NOT_YET
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.windows import ComingAct
from pitreckon.text.said import clock_time, said


def seen_there(run: ItemRun, pieces: int, ledger: Ledger, now: datetime) -> Look | None:
    """The look by which what the running stage waits for is there; None: no last look says so.

    pieces: of the item in this course; a look at one of several says nothing of the others
    """
    index = next((i for i, stage in enumerate(run.stages) if stage.running and stage.ended_utc is None), None)
    if index is None:
        return None
    until = run.stages[index].plan.until
    if until.ends_by not in {"colour", "tender"}:
        return None
    begun = max([stage.ended_utc for stage in run.stages[:index] if stage.ended_utc] + [run.put_on_utc])
    own = {got.track.piece for got in run.tracks} | {None} if pieces == 1 else {None}
    looks = [
        look
        for look in ledger.looks(run.item.label)
        if begun < look.at_utc <= now
        and look.piece in own
        and (look.kind == NOT_YET or LOOK_KINDS[look.kind].confirms == until.ends_by)
    ]
    if not looks or looks[-1].kind == NOT_YET or LOOK_KINDS[looks[-1].kind].step(looks[-1].value) < until.level:
        return None
    return looks[-1]


def by_eye(coming: ComingAct, now_s: float) -> ComingAct:
    """An act that can be done now, because the cook has seen it so. now_s: since put-on [s]"""
    return replace(coming, opens_s=np.fmin(coming.opens_s, now_s))


def eye_words(look: Look, cook: Cook, now: datetime) -> str:
    """``probe feel 'slides in' at 15:20``."""
    kind = LOOK_KINDS[look.kind]
    at = clock_time(look.at_utc, cook.zone_info, now)
    return said("{look} '{word}' at {at}", look=said(look.kind), word=said(kind.word(look.value)), at=at)
