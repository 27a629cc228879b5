"""Days that are being planned: what each person asks for, and the answers, reckoned in a process of their own."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from pitreckon.errors import InputError, PitreckonError
from pitreckon.ledger.store import Store, drafts
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.wishes import Wishes
from pitreckon.units import format_duration
from pitreckon.web.live.questions import P, Question, T, planned
from pitreckon.web.live.worker import Worker

if TYPE_CHECKING:
    from pitreckon.plan.schedule.schedule import Answer, Schedule

MOST_KEPT: Final = 12
PLANS_LONGEST_S: Final = 900.0
"""A plan on a small, busy machine takes minutes; one that takes longer than this is given up [s]."""
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
    """

    wishes: Wishes
    answer: Answer | None = None
    fault: str = ""
    variants: dict[str, Answer] = field(default_factory=dict)
    answered: asyncio.Event = field(default_factory=asyncio.Event)
    all_known: bool = False

    @property
    def planned(self) -> Wishes:
        """The wishes as they were planned, with what goes in lots parted."""
        return self.wishes if self.answer is None or self.answer.wishes is None else self.answer.wishes

    @property
    def best(self) -> Schedule | None:
        """What can be done, as far as it is known."""
        return None if self.answer is None else self.answer.best


class Jobs:
    """Plans one day after another; what-ifs of the latest are reckoned ahead, so that they answer at once."""

    def __init__(self, store: str = "") -> None:
        """store: whose earlier cooks tell what the pits burn; "": none."""
        self._store = store
        self._worker = Worker(PLANS_LONGEST_S)
        self._days: dict[str, PlannedDay] = {}
        self._latest = ""
        self._task: asyncio.Task[None] | None = None
        self._asked: dict[Any, asyncio.Task[Any]] = {}
        self.ask = self._worker.ask

    async def answer(self, within_s: float, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T | None:
        """The answer to a question that somebody may ask again, waiting a little for it; None: not yet.

        Raises PitreckonError: what the question is at fault for, or the process died; then it may be asked again.
        """
        ask = (question.__name__, args, tuple(more.items()))
        task = self._asked.pop(ask, None) or asyncio.create_task(self._worker.ask(question, *args, **more))
        self._asked[ask] = task
        while len(self._asked) > MOST_KEPT:
            self._asked.pop(next(iter(self._asked)))
        await asyncio.wait({task}, timeout=within_s)
        if not task.done():
            return None
        if task.cancelled() or task.exception() is not None:
            self._asked.pop(ask, None)
        result: T = task.result()
        return result

    async def day(self, text: str, within_s: float) -> PlannedDay:
        """What is known of a day, waiting a little for its answer.

        Raises InputError: the text cannot be read.
        """
        found = self._days.pop(text, None)
        if found is None:
            found = PlannedDay(await asyncio.to_thread(wishes_from_text, text, "the day"))
        self._days[text] = found
        while len(self._days) > MOST_KEPT:
            self._days.pop(next(iter(self._days)))
        self._latest = text
        if not found.all_known and (self._task is None or self._task.done()):
            self._task = asyncio.create_task(self._work())
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(found.answered.wait(), within_s)
        return found

    async def _work(self) -> None:
        """Answer the latest day that was asked for, then its what-ifs, until all is known."""
        while (day := self._days.get(self._latest)) is not None and not day.all_known:
            text = self._latest
            try:
                await self._next(text, day)
            except InputError as fault:
                self._gave_up(day, str(fault))
            except PitreckonError as fault:
                self._gave_up(day, f"{fault}. Ask again")
                self._days.pop(text, None)
            except TimeoutError:
                self._gave_up(
                    day, f"it was not found in {format_duration(PLANS_LONGEST_S)}. Ask again, or ask for less"
                )
                self._days.pop(text, None)
            except Exception:
                log.exception("planning a day")
                self._gave_up(day, "the planning failed; the server's messages say how. Ask again")
                self._days.pop(text, None)

    def _gave_up(self, day: PlannedDay, fault: str) -> None:
        day.fault, day.all_known = fault, True
        day.answered.set()

    async def _next(self, text: str, day: PlannedDay) -> None:
        from pitreckon.plan.schedule.variants import variants  # noqa: PLC0415  light, yet of no use to most pages

        if day.answer is None:
            day.answer = await self._worker.ask(planned, text, "", self._store)
            day.answered.set()
            return
        keys = [each.key for each in variants(day.wishes)]
        left = next((key for key in keys if key not in day.variants), None)
        if left is None:
            day.all_known = True
            return
        answer = await self._worker.ask(planned, text, left, self._store)
        if answer is not None:
            day.variants[left] = answer

    async def end(self) -> None:
        """Stop all that runs here."""
        self._worker.close()
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)
        for task in self._asked.values():
            task.cancel()
        await asyncio.gather(*self._asked.values(), return_exceptions=True)
