"""Is supper ready by its hour, and still good then? The two statements of the outlook, and what would help most."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.reckon import Outlook
from pitreckon.reckon.statements import WORTH_NAMING, Statement, statements
from pitreckon.reckon.whatif import LEAVE, WhatIf
from pitreckon.units import format_percent
from pitreckon.web.views.reader import ClockWords

ASKS: Final = ("Ready by {at}", "Still at its best at {at}")
"""In the order of the statements."""
HELPS: Final = 0.1
"""A what-if that makes supper surer by less than this is not worth naming."""


@dataclass(frozen=True, slots=True)
class Promise:
    """asks: what is promised, with its hour; word: how sure; chance: the number behind it, "" for a fact

    whose: what stands in the way, with its number, and remedy, what to do about it; "" for nothing
    """

    asks: str
    word: str
    chance: str
    whose: str
    remedy: str
    sure: bool

    @property
    def much(self) -> str:
        """The number, and what stands in the way where no remedy names that on a line of its own."""
        if not self.whose or self.remedy:
            return self.chance
        return f"{self.chance}, {self.whose.rsplit(' ', 2)[0]}"  # its own number stands with it, further down


@dataclass(frozen=True, slots=True)
class Supper:
    """promises: ready by, still at its best at; help: what would make it surer, "" for nothing."""

    promises: tuple[Promise, ...]
    help: str


def supper_of(outlook: Outlook, options: Sequence[WhatIf], clock: ClockWords) -> Supper | None:
    """What is said of serving. None: there is no hour, or all is served.

    options: what could be done now, the best first
    """
    promises = promises_of(statements(outlook, clock.short), clock)
    if not promises:
        return None
    return Supper(promises, "" if all(each.sure for each in promises) else _help(options, clock))


def promises_of(said: Sequence[Statement], clock: ClockWords) -> tuple[Promise, ...]:
    """Both statements as the page shows them."""
    say = clock.preferences.say
    return tuple(
        Promise(
            say(asks, at=each.when),
            say(each.words),
            "" if each.chance is None else format_percent(each.chance),
            each.whose,
            clock.retold(each.remedy),
            each.chance is None or each.chance >= WORTH_NAMING,
        )
        for asks, each in zip(ASKS, said, strict=False)
        if each.when  # none: it was served
    )


def _help(options: Sequence[WhatIf], clock: ClockWords) -> str:
    """The best that could be done, where it makes supper much surer than leaving all as it is."""
    as_it_is = next((option.on_time for option in options if option.what == LEAVE), None)
    best = options[0] if options else None
    if best is None or best.what == LEAVE or as_it_is is None or (best.on_time or 0.0) < as_it_is + HELPS:
        return ""
    set_c = next((act.air_c for act in best.acts if act.act == "set pit"), None)
    what = clock.retold(best.what)
    return what if set_c is None else f"{what}: {clock.preferences.temperature(set_c)}"
