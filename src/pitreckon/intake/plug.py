"""The plug point of what comes in by itself: an input has a table in the settings file, and takes readings."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import text, word
from pitreckon.ledger.store.records import Entry

Append = Callable[[Sequence[Entry]], Awaitable[Any]]
Now = Callable[[], datetime]
_MOST_CHARACTERS = 200


@dataclass(frozen=True, slots=True)
class Told:
    """A table of the settings file as its page tells it: its title, what it is, and its keys.

    rows: the keys, what they hold, and what counts where they are left out
    """

    title: str
    says: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Input:
    """One way for readings to come in: *it reads its table for a cook, then appends entries till it is told to end*.

    table: its name in the settings file
    read: what that table says for a cook; raises InputError, placed
    run: appends what comes until the event is set, whatever happens to the other side. ``append`` judges, and returns
        once they are durable; ids are given by :mod:`pitreckon.intake.reading`, so that what is sent twice is kept once
    told: how the settings file's page tells it
    library: what it needs that not everybody has, a key of ``extras.LIBRARIES``
    """

    table: str
    read: Callable[[Fields, Cook], Any]
    run: Callable[[Any, Append, asyncio.Event, Now], Awaitable[None]]
    told: tuple[Told, ...]
    library: str = ""


def _line(text: str) -> str:
    if not text.strip() or not text.isprintable() or len(text) > _MOST_CHARACTERS:
        raise InputError("it is blank, too long or no plain text", "Write it on one line")
    return text.strip()


TEXT: Final = text(_line)
SCALE: Final = word(("F", "C"), "no scale")
