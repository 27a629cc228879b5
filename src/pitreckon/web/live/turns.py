"""Who asks to have something reckoned, and how urgent it is."""

from dataclasses import dataclass
from enum import IntEnum
from typing import Final


class Urgency(IntEnum):
    """What comes before what, of all cooks and people together."""

    FIRST = 0
    """The first answer to a look, from what is kept: a tenth of a second."""
    LOOK = 1
    """The whole answer to a look or an act."""
    READINGS = 2
    """Readings that came in, and the hour."""
    PEOPLE = 3
    """What somebody waits for on a page: a day's plan, a record, a card."""
    EXTRAS = 4
    """What-ifs, what changed and why, what the house asks by itself."""


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks.

    name: one for a person or a cook; rank: the lower ones come first; most: questions of theirs that may wait, None:
    any number
    """

    name: str
    rank: int = 0
    most: int | None = None

    @classmethod
    def of(cls, person_id: str, *, may_record: bool) -> "Asker":
        """A person: whoever may record comes before those who only look."""
        return cls(person_id, 0 if may_record else 1, 3 if may_record else 1)


HOUSE: Final = Asker("", 2)
"""What the house asks by itself, ahead of anybody's wish for it."""
