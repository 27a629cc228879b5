"""Who is answered next: one question at a time, so many may wait, and whoever had a turn longest ago comes first."""

import asyncio
from dataclasses import dataclass, field
from typing import Final

from pitreckon.web.errors import RefusalError

MOST: Final = 32
"""Questions that wait, of everybody together."""
AGAIN_S: Final = 15.0
"""When somebody who was turned away may come again [s]."""


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks.

    name: one for a person; rank: the lower ones come first; most: questions of theirs that may wait, None: any number
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


@dataclass(eq=False)
class Ticket:
    """A place among those who wait. ready: set when it is their turn."""

    who: Asker
    number: int
    ready: asyncio.Event = field(default_factory=asyncio.Event)


class Turns:
    """Those who wait for one thing. For one loop; whoever has joined has to leave."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._now: Ticket | None = None
        self._waiting: list[Ticket] = []
        self._served: dict[str, int] = {}
        self._number = 0

    def join(self, who: Asker) -> Ticket:
        """Wait from now on. Raises RefusalError: too many wait, of this person or of all."""
        if self._now is not None and who.most is not None:
            mine = sum(each.who.name == who.name for each in self._waiting)
            if mine >= who.most:
                raise RefusalError(
                    429, "a question of yours is waiting for its answer already", "Wait for that one first", AGAIN_S
                )
            if len(self._waiting) >= self._most:
                raise RefusalError(503, "too much is being asked at once", "Ask again in a minute", AGAIN_S)
        self._number += 1
        ticket = Ticket(who, self._number)
        self._waiting.append(ticket)
        if self._now is None:
            self._next()
        return ticket

    def leave(self, ticket: Ticket) -> None:
        """Done, or not wanted any more."""
        if ticket is self._now:
            self._now = None
            self._next()
        elif ticket in self._waiting:
            self._waiting.remove(ticket)

    def before(self, ticket: Ticket) -> int:
        """How many come before it as things stand: those that are being answered and those ahead of it."""
        if ticket is self._now or ticket not in self._waiting:
            return 0
        ahead = sum(self._place(each) < self._place(ticket) for each in self._waiting)
        return ahead + (self._now is not None)

    def _place(self, ticket: Ticket) -> tuple[int, int, int]:
        return (ticket.who.rank, self._served.get(ticket.who.name, 0), ticket.number)

    def _next(self) -> None:
        if not self._waiting:
            self._served.clear()  # nobody waits: nobody has had more than another
            return
        self._now = min(self._waiting, key=self._place)
        self._waiting.remove(self._now)
        self._number += 1
        self._served[self._now.who.name] = self._number
        self._now.ready.set()
