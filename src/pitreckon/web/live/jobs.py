"""Days that are being planned: what each person asks for, and the answers, reckoned in a process of their own."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import time
from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from pitreckon.errors import InputError, PitreckonError
from pitreckon.ledger.store import Store, drafts
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.wishes import Wishes
from pitreckon.web.live.questions import P, Question, T, answers_taken, card_kept, planned
from pitreckon.web.live.turns import HOUSE, Asker, Ticket, Turns
from pitreckon.web.live.worker import Worker

if TYPE_CHECKING:
    from pitreckon.plan.schedule.schedule import Answer, Schedule

MOST_KEPT: Final = 12
STOPPED: Final = "the planning was stopped"
log = logging.getLogger(__name__)


def wishes_of(store: Store, cook_id: str) -> str | None:
    """What was asked for when a cook was planned; None: it was not planned here."""
    return drafts.wishes_of(store, cook_id)


def save_wishes(store: Store, cook_id: str, text: str) -> None:
    """Keep them with the cook that was made of them, for planning again."""
    drafts.save_wishes(store, cook_id, text)


@dataclass
class PlannedDay:
    """What is known of a day that was asked for.

    answer: None until it has been planned; fault: why it cannot be; variants: answers to small changes, by their keys
    may_retry: the fault is not of the wishes, so that trying again may help
    begun_s: when it was asked for, by the machine's steady clock [s]
    """

    wishes: Wishes
    answer: Answer | None = None
    fault: str = ""
    variants: dict[str, Answer] = field(default_factory=dict)
    answered: asyncio.Event = field(default_factory=asyncio.Event)
    all_known: bool = False
    may_retry: bool = False
    begun_s: float = field(default_factory=time.monotonic)

    @property
    def planned(self) -> Wishes:
        """The wishes as they were planned, with what goes in lots parted."""
        return self.wishes if self.answer is None or self.answer.wishes is None else self.answer.wishes

    @property
    def best(self) -> Schedule | None:
        """What can be done, as far as it is known."""
        return None if self.answer is None else self.answer.best


@dataclass
class _Kept:
    """A question that somebody asked, and its answer once it is there. ended_at: when, monotonic [s]; 0: it is not."""

    ticket: Ticket
    task: asyncio.Task[Any]
    ended_at: float = 0.0

    @property
    def failed(self) -> bool:
        return self.task.done() and (self.task.cancelled() or self.task.exception() is not None)


class Jobs:
    """Plans one day after another, and answers what people ask; what-ifs of the latest day are reckoned ahead.

    One thing is reckoned at a time. Who comes next is fair (:mod:`.turns`), and how many may wait is bounded.
    """

    def __init__(self, store: str = "") -> None:
        """store: whose earlier cooks tell what the pits burn; "": none."""
        self._store = store
        # A slow board plans too, and takes hundreds of answers in: who waits sees how far it is.
        self._worker = Worker(tuple(each.__name__ for each in (planned, answers_taken, card_kept)))
        self._turns = Turns()
        self._days: dict[str, PlannedDay] = {}
        self._latest = ""
        self._at = ""
        self._asker = HOUSE
        self._task: asyncio.Task[None] | None = None
        self._kept: dict[Any, _Kept] = {}

    async def _ask(self, ticket: Ticket, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer, when its turn has come."""
        try:
            await ticket.ready.wait()
            return await self._worker.ask(question, *args, **more)
        finally:
            self._turns.leave(ticket)

    async def answer(
        self, who: Asker, within_s: float, question: Question[P, T], *args: P.args, **more: P.kwargs
    ) -> T | None:
        """The answer to a question that somebody may ask again, waiting a little for it; None: not yet.

        Raises PitreckonError: what the question is at fault for, or the process died or took too long; then it may be
        asked again. RefusalError: too much is asked.
        """
        return await self.answer_for(
            (question.__name__, args, tuple(more.items())), None, who, within_s, question, *args, **more
        )

    async def answer_for(
        self,
        key: Hashable,
        good_s: float | None,
        who: Asker,
        within_s: float,
        question: Question[P, T],
        *args: P.args,
        **more: P.kwargs,
    ) -> T | None:
        """The same for what is one question under one key. good_s: how long its answer is good [s]; None: ever"""
        kept = self._kept.pop(key, None)
        now = time.monotonic()
        if kept is not None and good_s is not None and kept.ended_at and now - kept.ended_at > good_s:
            kept = None
        if kept is None or kept.failed:
            ticket = self._turns.join(who)
            kept = _Kept(ticket, asyncio.create_task(self._ask(ticket, question, *args, **more)))
            kept.task.add_done_callback(partial(_ended, kept))
        self._kept[key] = kept
        self._forget_some()
        await asyncio.wait({kept.task}, timeout=within_s)
        if not kept.task.done():
            return None
        if kept.failed:
            self._kept.pop(key, None)
        result: T = kept.task.result()
        return result

    def before(self, key: Hashable) -> int:
        """How many questions come before the one of a key; 0: it is being answered, or nobody asked it."""
        kept = self._kept.get(key)
        return 0 if kept is None else self._turns.before(kept.ticket)

    def far(self, key: Hashable) -> str:
        """How far the answer to the question of a key is, in words; "": it waits, is there, or nothing is known."""
        kept = self._kept.get(key)
        waits = kept is None or kept.task.done() or not kept.ticket.ready.is_set()
        return "" if waits else self._worker.progress

    def _forget_some(self) -> None:
        """Answers that nobody asked for lately; a question that is not answered yet stays, so it is not asked twice."""
        done = [key for key, kept in self._kept.items() if kept.task.done()]
        for key in done[: max(len(done) - MOST_KEPT, 0)]:
            del self._kept[key]

    async def day(self, text: str, within_s: float, who: Asker = HOUSE) -> PlannedDay:
        """What is known of a day, waiting a little for its answer.

        Raises InputError: the text cannot be read.
        """
        found = self._days.pop(text, None)
        if found is None:
            found = PlannedDay(await asyncio.to_thread(wishes_from_text, text, "the day"))
        self._days[text] = found
        while len(self._days) > MOST_KEPT:
            self._days.pop(next(iter(self._days)))
        self._latest, self._asker = text, replace(who, most=None)  # a day is answered before the next one is begun
        if not found.all_known and (self._task is None or self._task.done()):
            self._task = asyncio.create_task(self._work())
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(found.answered.wait(), within_s)
        return found

    def progress(self, day: PlannedDay) -> str:
        """How far the planning of a day is, in words; "" where another is at it, or nothing is known."""
        return self._worker.progress if self._days.get(self._latest) is day else ""

    def stop(self, text: str) -> None:
        """Give up planning a day; its wishes stay."""
        day = self._days.get(text)
        if day is not None and not day.answered.is_set():
            self._gave_up(day, STOPPED, may_retry=True)
            if self._at == text and self._task is not None:
                self._task.cancel()
                self._task = None

    def forget(self, text: str) -> None:
        """What went wrong with a day is forgotten: the next to ask for it has it planned anew."""
        day = self._days.get(text)
        if day is not None and day.may_retry:
            self._days.pop(text)

    async def _work(self) -> None:
        """Answer the latest day that was asked for, then its what-ifs, until all is known."""
        while (day := self._days.get(self._latest)) is not None and not day.all_known:
            text = self._at = self._latest
            try:
                await self._next(text, day)
            except InputError as fault:
                self._gave_up(day, str(fault))
            except PitreckonError as fault:
                self._gave_up(day, str(fault), may_retry=True)
            except Exception:
                log.exception("planning a day")
                self._gave_up(day, "the planning failed; the server's messages say how", may_retry=True)

    def _gave_up(self, day: PlannedDay, fault: str, *, may_retry: bool = False) -> None:
        if day.fault:  # it was stopped, and the process that was at it has died of that
            return
        day.fault, day.all_known, day.may_retry = fault, True, may_retry
        day.answered.set()

    async def _next(self, text: str, day: PlannedDay) -> None:
        from pitreckon.plan.schedule.variants import variants  # noqa: PLC0415  light, yet of no use to most pages

        if day.answer is None:
            day.answer = await self._ask(self._turns.join(self._asker), planned, text, "", self._store)
            day.answered.set()
            return
        keys = [each.key for each in variants(day.wishes)]
        left = next((key for key in keys if key not in day.variants), None)
        if left is None:
            day.all_known = True
            return
        answer = await self._ask(self._turns.join(HOUSE), planned, text, left, self._store)
        if answer is not None:
            day.variants[left] = answer

    async def end(self) -> None:
        """Stop all that runs here."""
        self._worker.close()
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)
        tasks = [kept.task for kept in self._kept.values()]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


def _ended(kept: _Kept, task: asyncio.Task[Any]) -> None:
    kept.ended_at = time.monotonic()
    if not task.cancelled():
        task.exception()  # whoever asked may have gone: nobody need hear of it
