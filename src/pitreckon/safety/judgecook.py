"""Every rule over every piece of a cook, as things stand and as they will."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from pitreckon.errors import InputError
from pitreckon.reckon.forecast import Reckoning
from pitreckon.safety.cautions import CAUTIONS
from pitreckon.safety.history.fromrun import Histories, history_of
from pitreckon.safety.history.history import RECKONED
from pitreckon.safety.rules.judge import PieceSafety, judge_piece
from pitreckon.safety.rules.meat import Handled, Meat


@dataclass(frozen=True)
class Safety:
    """What the rules say of a cook.

    now: every piece by what has happened; ahead: the same pieces by what the members will do until they are eaten
    histories: what both rest on; cautions: to be shown with them
    """

    at_utc: datetime
    now: tuple[PieceSafety, ...]
    ahead: tuple[PieceSafety, ...]
    histories: tuple[Histories, ...]
    cautions: tuple[str, ...] = CAUTIONS


def judge_cook(reckoning: Reckoning, handled: Mapping[str, Handled] | None = None) -> Safety:
    """Hold every rule against every piece.

    reckoning: a cook with its members, from ``pitreckon.reckon.forecast.reckoning``
    handled: what was done to the meat, by the item's label; what is not said is judged both ways

    Raises InputError: an item that the cook does not have
    """
    given = dict(handled or {})
    labels = [run.item.label for run in reckoning.runs]
    stray = next((label for label in given if label not in labels), None)
    if stray is not None:
        raise InputError(f"this cook has no item '{stray}'", f"Its items are {', '.join(labels)}")
    now, ahead, histories = [], [], []
    for run in reckoning.runs:
        meat = Meat.of(run.cut, given.get(run.item.label), reckoning.cook.weather_air_c)
        for track in run.tracks:
            both = history_of(track, reckoning.sifted.ledger)
            so_far = both.until(track.track.now_s)
            here = judge_piece(track.track.label, meat, so_far.all, both.notes, reckoning.cook.rules)
            will = judge_piece(track.track.label, meat, (both.reckoned,), both.notes, reckoning.cook.rules)
            now.append(here)
            ahead.append(_going_on(here, will))
            histories.append(both)
    return Safety(reckoning.outlook.now_utc, tuple(now), tuple(ahead), tuple(histories))


def _going_on(here: PieceSafety, will: PieceSafety) -> PieceSafety:
    """What has been decided stays decided; the rest is as the members go on."""
    decided = {each.rule.key: each for each in here.verdicts if _stays(each.rule.kind, each.verdict, each.basis)}
    verdicts = tuple(decided.get(each.rule.key, each) for each in will.verdicts)
    return replace(will, verdicts=verdicts)


def _stays(kind: str, what: str, basis: str) -> bool:
    return what in {"missed", "not met"} or (what == "met" and basis != RECKONED and kind in {"dwell", "start"})
