"""The workers that reckon, and which question of those that wait goes to which of them next.

A cook's questions go to the worker that remembers the cook, which makes an update cheap; where that one is at something
else they go to another, with the same answer. A worker more is hired only when there is work for it, and let go when it
has had none for long. No question is given up because it takes long; one whose worker dies is asked again.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Protocol

from pitreckon.web.errors import RefusalError
from pitreckon.web.live.giveway import GaveWayError
from pitreckon.web.live.questions import P, Question, T
from pitreckon.web.live.turns import Asker, Urgency
from pitreckon.web.live.worker import Worker, WorkerDiedError
from pitreckon.work.queue import Line, Waiter

log = logging.getLogger(__name__)
MOST: Final = 32
"""Questions of people that wait, of everybody together."""
AGAIN_S: Final = 15.0
"""When somebody who was turned away may come again [s]."""
TRIES: Final = 3
"""A question that so many workers died of is given up: it is the question."""
FAITHFUL_S: Final = 20.0
"""Extras wait so long for the worker that remembers their cook; another one would have to reckon it anew [s]."""
PEOPLE_WAIT_S: Final = 60.0
"""What somebody waits for on a page comes with the readings after so long, so that a full house starves nobody [s]."""
IDLE_S: Final = 600.0
"""A worker beyond the first is let go after so long without work [s]."""
MOST_KEYS: Final = 64
KEEPS: Final = frozenset({"reckoned_now", "answered_first", "supposed", "rules_foreseen", "replanned"})
"""Questions after which a worker has a cook's ensemble: what another one has of it is out of date, and megabytes."""


class Hiring(Protocol):
    """Where workers come from. most: how many there may be; cores: that they share, 0: each has its own"""

    cores: int

    @property
    def most(self) -> int:
        """One or more."""

    def hire(self) -> Worker:
        """One more. It begins when it is first asked."""

    def close(self) -> None:
        """No more are hired, and those that were have been closed."""


@dataclass(eq=False)
class _Seat:
    """A worker. keys: of what it remembers, the latest last; leaving: the question at work was told to give way

    keeps: keys of cooks whose ensemble it has, as far as is known
    """

    worker: Worker
    number: int
    ticket: Ticket | None = None
    keys: dict[str, None] = field(default_factory=dict)
    keeps: set[str] = field(default_factory=set)
    leaving: bool = False
    threads: int = 0
    idle: asyncio.TimerHandle | None = None


@dataclass(eq=False)
class Ticket(Waiter):
    """A place among those who wait. Whoever has joined has to leave.

    most: as the asker has it; key: of what a worker is to remember; only: of use to no other worker
    long: takes long and does not give way
    heard: is told what happened to it; ready: set when its turn has come, or it was told to give way
    """

    most: int | None = None
    key: str = ""
    only: bool = False
    long: bool = False
    heard: Callable[[str], object] = lambda _: None
    ready: asyncio.Event = field(default_factory=asyncio.Event)
    left: bool = False
    words: str = ""
    seat: _Seat | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class CrewTold:
    """How the crew is. workers: that there are; most: that there may be; longest_s: the longest wait just now [s]"""

    workers: int
    most: int
    busy: int
    waiting: int
    longest_s: float


class Crew:
    """All workers of a server, for one loop."""

    def __init__(self, hiring: Hiring) -> None:
        self._hiring = hiring
        self._line: Line[Ticket] = Line(self._urgency)
        self._seats: list[_Seat] = []
        self._closed = False

    # --- places

    def join(
        self,
        who: Asker,
        urgency: Urgency = Urgency.PEOPLE,
        *,
        key: str = "",
        only: bool = False,
        long: bool = False,
        heard: Callable[[str], object] = lambda _: None,
    ) -> Ticket:
        """Wait from now on; see Ticket. Raises RefusalError: too many wait, of this person or of all."""
        ticket = Ticket(who.name, urgency, who.rank, time.monotonic(), who.most, key, only, long, heard)
        people = [each for each in self._line.in_order() if each.most is not None]
        self._line.join(ticket)
        self._next()
        if ticket.most is not None and not ticket.ready.is_set():
            mine = sum(each.name == ticket.name for each in people)
            if mine >= ticket.most:
                self._line.leave(ticket)
                raise RefusalError(
                    429, "a question of yours is waiting for its answer already", "Wait for that one first", AGAIN_S
                )
            if len(people) >= MOST:
                self._line.leave(ticket)
                raise RefusalError(503, "too much is being asked at once", "Ask again in a minute", AGAIN_S)
        return ticket

    def leave(self, ticket: Ticket) -> None:
        """Done, or not wanted any more."""
        self._line.leave(ticket)
        seat, ticket.seat = ticket.seat, None
        if seat is not None:
            seat.ticket, seat.leaving, seat.threads = None, False, 0
            if seat.number:
                seat.idle = asyncio.get_running_loop().call_later(IDLE_S, self._retire, seat)
        self._next()

    def hurry(self, ticket: Ticket, urgency: Urgency) -> None:
        """It is more urgent than it was."""
        ticket.urgency = min(ticket.urgency, urgency)
        self._next()

    def give_way(self, ticket: Ticket) -> None:
        """It is to be left: at once where it waits, else where it can be. Its asker hears a GaveWayError."""
        ticket.left = True  # it may have its turn, and not be asked yet
        if ticket.seat is None:
            self._line.leave(ticket)
            ticket.ready.set()
        else:
            ticket.seat.leaving = True
            ticket.seat.worker.give_way()

    def remembers(self, key: str) -> bool:
        """Is somebody worth waiting for that may remember this: free, or soon, or nobody else is free either?"""
        seat = self._of_key(key)
        if seat is None or (seat.ticket is not None and seat.ticket.long):
            return False
        others = any(each.ticket is None for each in self._seats) or len(self._seats) < self._hiring.most
        return seat.ticket is None or seat.ticket.urgency >= Urgency.EXTRAS or not others

    # --- answers

    async def answer(self, ticket: Ticket, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question when its turn has come; a worker that dies meanwhile is replaced, and asked again.

        Raises PitreckonError: what it is at fault for, or TRIES workers died; GaveWayError: it was told to give way
        """
        tries = 0
        while True:
            await ticket.ready.wait()
            seat = ticket.seat
            if seat is None or ticket.left:
                raise GaveWayError("it was left for something more urgent")
            seat.worker.threads = seat.threads
            try:
                answer = await seat.worker.ask(question, *args, **more)
            except WorkerDiedError as gone:
                seat.keys.clear()
                seat.keeps.clear()
                tries += 1
                if self._closed or tries == TRIES:
                    raise
                log.warning("%s: %s", question.__name__, gone)
                ticket.words = str(gone)
                ticket.heard(str(gone))
                continue
            if ticket.key:
                for each in self._seats:
                    each.keys.pop(ticket.key, None)
                seat.keys = {**dict(list(seat.keys.items())[1 - MOST_KEYS :]), ticket.key: None}
                if question.__name__ in KEEPS:
                    self._kept_by(seat, ticket.key)
            return answer

    def _kept_by(self, seat: _Seat, key: str) -> None:
        """A worker has a cook's ensemble, and newer than any other."""
        seat.keeps.add(key)
        for each in self._seats:
            if key in each.keeps and each is not seat and (each.ticket is None or each.ticket.key != key):
                each.keeps.discard(key)
                each.worker.forget(key)

    async def ask(self, who: Asker, urgency: Urgency, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """``join``, ``answer`` and ``leave`` in one, for any worker."""
        ticket = self.join(who, urgency)
        try:
            return await self.answer(ticket, question, *args, **more)
        finally:
            self.leave(ticket)

    def before(self, ticket: Ticket) -> int:
        """How many come before it as things stand: those ahead of it and, where it waits, those being answered."""
        if ticket not in self._line:
            return 0
        return self._line.before(ticket) + sum(seat.ticket is not None for seat in self._seats)

    def progress(self, ticket: Ticket) -> str:
        """How far it is, in words; "": it waits, or nothing is known."""
        return "" if ticket.seat is None else ticket.seat.worker.progress or ticket.words

    def told(self) -> CrewTold:
        """How it is just now."""
        now = time.monotonic()
        waiting = [now - each.since_s for each in self._line.in_order()]
        busy = sum(seat.ticket is not None for seat in self._seats)
        return CrewTold(len(self._seats), self._hiring.most, busy, len(waiting), max(waiting, default=0.0))

    def close(self) -> None:
        """End every worker, whatever it is at."""
        self._closed = True
        for seat in self._seats:
            if seat.idle is not None:
                seat.idle.cancel()
            seat.worker.close()
        self._hiring.close()

    # --- who is next

    def _urgency(self, ticket: Ticket) -> int:
        waits_s = time.monotonic() - ticket.since_s
        late = ticket.urgency == Urgency.PEOPLE and waits_s > PEOPLE_WAIT_S
        return Urgency.READINGS if late else ticket.urgency

    def _next(self) -> None:
        """Whoever can be seated is, the most urgent first; then room is made for those who cannot wait."""
        seated = True
        while seated and not self._closed:
            seated = False
            for ticket in self._line.in_order():
                seat = self._seat_for(ticket)
                if seat is not None:
                    self._give(ticket, seat)
                    seated = True  # turns have changed: look again who comes before whom
                    break
        if not len(self._line) and all(seat.ticket is None for seat in self._seats):
            self._line.forget_turns()
        self._make_room()

    def _give(self, ticket: Ticket, seat: _Seat) -> None:
        self._line.serve(ticket)
        if seat.idle is not None:
            seat.idle.cancel()
            seat.idle = None
        seat.threads = max(self._hiring.cores - sum(each.threads for each in self._seats), 1)
        seat.ticket, ticket.seat = ticket, seat
        ticket.ready.set()

    def _seat_for(self, ticket: Ticket) -> _Seat | None:
        """Where it would be answered best, of what is free; None: it has to wait."""
        own = self._of_key(ticket.key)
        if own is not None and own.ticket is None and self._may(ticket, own):
            return own
        if ticket.only and own is not None:
            return None
        soon = own is not None and own.ticket is not None and not own.ticket.long
        if soon and ticket.urgency >= Urgency.EXTRAS and time.monotonic() - ticket.since_s < FAITHFUL_S:
            return None
        free = [seat for seat in self._seats if seat.ticket is None and self._may(ticket, seat)]
        if free:
            return min(free, key=lambda seat: (len(seat.keys), seat.number))
        if len(self._seats) >= self._hiring.most:
            return None
        number = min(set(range(len(self._seats) + 1)) - {seat.number for seat in self._seats})
        seat = _Seat(self._hiring.hire(), number)
        self._seats.append(seat)
        return seat if self._may(ticket, seat) else self._seat_for(ticket)

    def _may(self, ticket: Ticket, seat: _Seat) -> bool:
        """The first worker is kept free of what takes long and does not give way, where there may be another."""
        return not ticket.long or seat.number > 0 or self._hiring.most == 1

    def _make_room(self) -> None:
        """For each look that waits something that can wait is left, at the worker that remembers its cook if it can."""
        leaving = sum(seat.leaving for seat in self._seats)
        for ticket in self._line.in_order():
            if ticket.urgency > Urgency.LOOK:
                return
            if leaving:
                leaving -= 1
                continue
            own = self._of_key(ticket.key)
            seats = (
                self._seats
                if own is None
                else [own]
                if ticket.only
                else sorted(self._seats, key=lambda s: s is not own)
            )
            found = next((seat for seat in seats if self._can_wait(seat)), None)
            if found is not None and found.ticket is not None:
                self.give_way(found.ticket)

    @staticmethod
    def _can_wait(seat: _Seat) -> bool:
        ticket = seat.ticket
        return ticket is not None and ticket.urgency >= Urgency.EXTRAS and not ticket.long and not seat.leaving

    def _of_key(self, key: str) -> _Seat | None:
        return next((seat for seat in self._seats if key in seat.keys), None) if key else None

    def _retire(self, seat: _Seat) -> None:
        """Nobody has had work for it."""
        if seat.ticket is None and seat in self._seats:
            self._seats.remove(seat)
            seat.worker.close()
