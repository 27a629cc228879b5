"""An outlook in a cook's words, for every door: when to be back, what to do there, how the meat looks.

``Clock`` says an instant as the one who asks reads it: zone, 12 or 24 hours.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from pitreckon.cook.scales import word_for
from pitreckon.reckon.outlook import NextLook, Outlook, Task
from pitreckon.text.said import instant, joined, said, temperature
from pitreckon.units import Scale, format_percent

Clock = Callable[[datetime], str]

AT_ONCE: Final = timedelta(minutes=1)
DOING: Final = {
    "put on": "put on",
    "wrap": "wrap",
    "unwrap": "unwrap",
    "sauce": "sauce",
    "put back": "put back on the pit",
    "take off": "take off",
    "hold": "put in the hold",
    "light": "light",
    "feed": "feed the fire",
    "water": "top up the water pan",
    "ash": "knock the ash down",
    "shut down": "shut down",
}
STANDING: Final = {
    "open": "in the smoke",
    "wrapped": "wrapped",
    "sauced": "sauced",
    "rest": "resting",
    "hold": "held warm",
}
TOO_DARK_FROM: Final = 1.25
CAUTION: Final = (
    "A forecast, not a promise of safety: check the thickest part with a thermometer, and follow your local "
    "food code and health department."
)


def sentences(outlook: Outlook, clock: Clock) -> str:
    """Until when the cook is free, and by when to be back; what is due or overdue now is said to be.

    Times are rounded to the safe side: free until the whole minute before, back by the whole minute before. Where the
    two are all but one they are one.
    """
    now = outlook.now_utc
    free, back = outlook.free_until_utc, outlook.be_back_utc
    if free is None or back is None:
        if any(item.windows for item in outlook.items):
            return said("No trip is in sight yet: reckon again when the log says more.")
        return said("Nothing waits for you at the pit: you are free.")
    if free <= now + AT_ONCE:
        if back <= now + 2 * AT_ONCE:
            return said("You are not free: be back now.")
        return said("You are not free: something is due. Be back by {at}.", at=clock(whole_minute(back)))
    if back - free <= 2 * AT_ONCE:
        return said("You are free until {at}.", at=clock(whole_minute(free)))
    until, by = clock(whole_minute(free)), clock(whole_minute(back))
    return said("You are free until {until}. Be back by {by}.", until=until, by=by)


LOOK_WORDS: Final = {"colour": "the colour", "probe feel": "how a probe goes in", "spot temperature": "a thermometer"}
LOOK_JOINS: Final = (" and ", ", again at ")
LOOK_LINE: Final = "{kinds} at {when}: the window shrinks from {wide} to about {narrow} min"


def next_look_words(look: NextLook, clock: Clock, say: Callable[[str], str] = str) -> str:
    """``a thermometer at 15:20, again at 15:50: the window shrinks from 95 to about 50 min``.

    say: a message in the reader's language
    """
    kinds, when = (say(each) for each in LOOK_JOINS)
    wide, narrow = (max(round(seconds / 300.0) * 5, 5) for seconds in (look.width_s, look.after_s))
    return say(LOOK_LINE).format(
        kinds=kinds.join(say(LOOK_WORDS[kind]) for kind in look.kinds),
        when=when.join(clock(at) for at in look.at_utc),
        wide=wide,
        narrow=narrow,
    )


def doing_words(task: Task) -> str:
    """What to do: ``wrap in foil``; beside the meat what the cook called it."""
    if task.act == "do":
        return task.note
    return in_wrap(DOING[task.act], task.wrap)


def in_wrap(doing: str, wrap: str | None) -> str:
    """``wrap in foil``"""
    return said("{doing} in {wrap}", doing=said(doing), wrap=said(wrap)) if wrap else said(doing)


def waiting_words(until: str, until_core_c: float | None, scale: Scale) -> str:
    """What to wait for, in words after "when"; "" for nothing."""
    if until_core_c is None:
        return until
    return said("the core is at {core}", core=temperature(until_core_c, scale=scale))


def task_words(task: Task, clock: Clock, scale: Scale, *, several_pits: bool, coming_next: bool) -> str:
    """What to do on a trip, what to wait for, how likely it is so far then, and on the next trip what if it is not."""
    head = f"{task.item} ({task.pit})" if several_pits and task.pit else task.item
    if not task.until and task.until_core_c is None:
        words = said("{item}: {doing}", item=head, doing=doing_words(task))
        return joined(", ", [words, task.note]) if task.note and task.act != "do" else words
    until = waiting_words(task.until, task.until_core_c, scale)
    words = said("{item}: {doing} when {what}", item=head, doing=doing_words(task), what=until)
    if task.again_utc is None:
        return words
    chance = format_percent(task.open)
    if not coming_next:
        return said("{job} ({chance} likely by then)", job=words, chance=chance)
    again = instant(task.again_utc, clock(task.again_utc))
    return said("{job} ({chance} likely by then; if not yet, again at {at})", job=words, chance=chance, at=again)


def colour_word(level: float) -> str:
    """A colour level in words; a set colour is called too dark only when it has all but got there."""
    return word_for("colour", level if level >= TOO_DARK_FROM else min(level, 1.0))


def whole_minute(at: datetime) -> datetime:
    """The whole minute before or at an instant."""
    return at.replace(second=0, microsecond=0)
