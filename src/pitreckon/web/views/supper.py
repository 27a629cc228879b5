"""Is supper ready by its hour, and still good then? In words; the two are told apart, and what would help is named."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.reckon import ItemOutlook, Outlook
from pitreckon.reckon.whatif import LEAVE, WhatIf
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.scene import Scene

WORDS: Final = ((0.9, "yes"), (0.7, "likely"), (0.4, "doubtful"), (0.1, "hardly"), (0.0, "no"))
HELPS: Final = 0.1
"""A what-if that makes supper surer by less than this is not worth naming."""
DONE_KINDS: Final = ("rest", "hold")


@dataclass(frozen=True, slots=True)
class Promise:
    """asks: what is promised, with its hour; word: how sure; whose: the item that is least sure, "" for all alike."""

    asks: str
    word: str
    whose: str
    sure: bool


@dataclass(frozen=True, slots=True)
class Supper:
    """promises: ready by, still good at; help: what would make it surer, "" for nothing."""

    promises: tuple[Promise, ...]
    help: str


def supper_of(scene: Scene, outlook: Outlook, options: Sequence[WhatIf], clock: ClockWords) -> Supper | None:
    """What can be said of serving; None: there is no hour, or all is served."""
    if outlook.serve_utc is None:
        return None
    say = clock.preferences.say
    waiting = [item for item in outlook.items if scene.standing(item.label) != "served"]
    if not waiting:
        return None
    at = clock.short(outlook.serve_utc)
    ready = [(_ready_by(item, outlook), item.label) for item in waiting]
    good = [(_good_at(item, outlook), item.label) for item in waiting]
    promises = (
        _promise(say("Ready by {at}", at=at), ready, clock),
        _promise(say("Still good at {at}", at=at), good, clock),
    )
    return Supper(promises, "" if all(each.sure for each in promises) else _help(options, clock))


def word_of(chance: float) -> str:
    """A chance as an answer to a question."""
    return next(word for least, word in WORDS if chance >= least)


def _promise(asks: str, chances: list[tuple[float, str]], clock: ClockWords) -> Promise:
    chance, label = min(chances)
    sure = chance >= WORDS[0][0]
    alike = all(word_of(each) == word_of(chance) for each, _ in chances)
    return Promise(asks, clock.preferences.say(word_of(chance)), "" if alike else label, sure)


def _ready_by(item: ItemOutlook, outlook: Outlook) -> float:
    """Chance that all its pieces are ready at serving; what rests or is held warm is ready."""
    assert outlook.serve_utc is not None
    if sum(stage.now for stage in item.stages if stage.kind == "hold") > 0.5:
        return 1.0
    return item.last_ready.chance_by((outlook.serve_utc - item.put_on_utc).total_seconds())


def _good_at(item: ItemOutlook, outlook: Outlook) -> float:
    """Chance that it is not past its best at serving."""
    assert outlook.serve_utc is not None
    past = item.marks["past_best"]
    return 1.0 - past.chance_by((outlook.serve_utc - item.put_on_utc).total_seconds())


def _help(options: Sequence[WhatIf], clock: ClockWords) -> str:
    """The change that makes supper surest, where it makes it much surer than doing nothing."""
    chances = {option.what: option.on_time for option in options if option.on_time is not None}
    as_it_is = chances.get(LEAVE)
    best = max(options, key=lambda option: option.on_time or 0.0, default=None)
    if best is None or as_it_is is None or (best.on_time or 0.0) < as_it_is + HELPS or best.what == LEAVE:
        return ""
    set_c = next((act.air_c for act in best.acts if act.act == "set pit"), None)
    return best.what if set_c is None else f"{best.what}: {clock.preferences.temperature(set_c)}"
