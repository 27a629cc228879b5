"""The latest outlook of every cook that somebody watches, and who is told when there is a newer one."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import secrets
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Final

from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Look
from pitreckon.ledger.store import CookRow, Store
from pitreckon.ledger.store.house import house_stamp
from pitreckon.web.live.alerts import Teller
from pitreckon.web.live.asked import Again, Asked
from pitreckon.web.live.crew import Crew, Ticket
from pitreckon.web.live.giveway import GaveWayError
from pitreckon.web.live.jobs import wishes_of
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import (
    P,
    Question,
    Reckoned,
    T,
    answered_first,
    answered_if,
    explained,
    reckoned_now,
    replanned,
    rules_foreseen,
    supposed,
)
from pitreckon.web.live.turns import HOUSE, Asker, Urgency
from pitreckon.web.live.watched import News, Shown, Watched
from pitreckon.web.settings import WebSettings

if TYPE_CHECKING:
    from pitreckon.reckon import ItemOutlook

log = logging.getLogger(__name__)

CLOSE_S: Final = 0.05
"""Commits within this are told and reckoned together [s]."""
PUT_OFF_S: Final = 10.0
"""A full answer is left for one that knows more; for this long in a row, so that many taps do not put it off for good
[s]."""
URGENT: Final = ("look", "act", "correction")
"""Entries that a new outlook is made for at once."""
READINGS_EVERY_S: Final = 20.0
"""Readings alone make a new outlook no more often than this [s]."""
HELD_S: Final = 0.5
"""News of a look or an act wait no longer than this for the outlook that takes it in [s]."""
FRESH: Final = timedelta(minutes=1)
"""An outlook older than this by the server's clock is reckoned anew while somebody watches."""
LEAST_REST_S: Final = 2.0
"""Between two outlooks of which nothing but the hour differs, however fast the clock goes [s]."""
OVER_AFTER: Final = timedelta(hours=6)
"""So long after it was to be served nobody is worried about a cook."""
UNWATCHED_EVERY_S: Final = 300.0
EXPLAIN_EVERY_S: Final = 300.0
EXTRAS_EVERY_S: Final = 120.0
"""What-ifs and rules that may be missed are asked for anew no more often than this where nothing has moved [s]."""
MOST_WAITING: Final = 64


class Live:
    """All cooks that are watched.

    closing: set once, when the server is to end; every stream ends by it
    """

    def __init__(
        self, store: Store, settings: WebSettings, scales: Callable[[], Sequence[str]], teller: Teller, crew: Crew
    ) -> None:
        self._store, self._settings, self._scales, self._teller = store, settings, scales, teller
        self.crew = crew
        self._watched: dict[str, Watched] = {}
        self._begun = secrets.token_hex(4)
        self._taking_in: set[asyncio.Task[None]] = set()
        self.closing = asyncio.Event()
        self._loop = asyncio.get_running_loop()
        store.watch(self._committed)

    # what others ask

    async def watched(self, cook_id: str) -> Watched:
        """A cook's place here, made when it is first asked for. Raises InputError: no such cook, or a broken plan."""
        if cook_id not in self._watched:
            _, cook = await asyncio.to_thread(self._planned, cook_id)
            if cook_id not in self._watched:  # somebody else may have asked meanwhile
                made = self._watched[cook_id] = Watched(cook_id, Shown(cook))
                if self._settings.reckons:
                    made.task = self._loop.create_task(self._follow(made))
        return self._watched[cook_id]

    def _planned(self, cook_id: str) -> tuple[CookRow, Cook]:
        row = self._store.cook(cook_id)
        return row, cook_of(row.plan_toml)

    async def replanned(self, cook_id: str) -> None:
        """Its plan has been replaced."""
        watched = await self.watched(cook_id)
        row, cook = await asyncio.to_thread(self._planned, cook_id)
        watched.shown = replace(watched.shown, cook=cook)
        watched.urgent = True
        watched.wake.set()
        self._tell(watched, News("ledger", {"urgent": True}, row.last_seq))

    async def forget(self, cook_id: str) -> None:
        """It is there no more: whoever watches it is let go."""
        watched = self._watched.pop(cook_id, None)
        if watched is None:
            return
        _let_listeners_go(watched)
        if watched.held is not None:
            watched.held.cancel()
        if watched.task is not None:
            watched.task.cancel()
            await asyncio.gather(watched.task, return_exceptions=True)

    async def first(self, cook_id: str, within_s: float) -> Shown:
        """What is shown of a cook, waiting a little for the first outlook if there is none yet."""
        watched = await self.watched(cook_id)
        watched.viewed_at = time.monotonic()
        if watched.shown.outlook is None and self._settings.reckons:
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(watched.answered.wait(), within_s)
        return watched.shown

    async def if_seen(self, cook_id: str, look: Look, within_s: float) -> tuple[ItemOutlook, ItemOutlook] | None:
        """An item without a look and with it, before that is recorded; None: it is not known as soon as that."""
        watched = await self.watched(cook_id)
        if watched.asked is None or watched.shown.outlook is None:
            return None
        if not self.crew.remembers(cook_id):
            return None
        moment = (watched.asked, self._settings.clock.now(), look)
        task = self._loop.create_task(self._if_seen(watched, *moment))
        await asyncio.wait({task}, timeout=within_s)  # a question that has begun is left to its end
        if not task.done():
            task.add_done_callback(lambda over: over.cancelled() or over.exception())
            return None
        try:
            return task.result()
        except GaveWayError:
            return None

    async def _if_seen(
        self, watched: Watched, asked: Asked, now: datetime, look: Look
    ) -> tuple[ItemOutlook, ItemOutlook] | None:
        ticket = self.crew.join(self._asker(watched), Urgency.FIRST, key=watched.cook_id, only=True)
        try:
            return await self.crew.answer(ticket, answered_if, asked, now, look)
        except GaveWayError:
            raise
        except PitreckonError as fault:
            log.warning("%s: %s", answered_if.__name__, fault)
            return None
        finally:
            self.crew.leave(ticket)

    def going_on(self, now: datetime) -> list[Shown]:
        """What is shown of each cook that is followed and not over yet, as far as anybody knows."""
        found = (watched.shown for watched in list(self._watched.values()) if watched.task is not None)
        return [shown for shown in found if not is_over(shown.cook, now)]

    @contextlib.contextmanager
    def listening(self, watched: Watched) -> Iterator[asyncio.Queue[News | None]]:
        """A queue of news of a cook, for as long as somebody listens; None in it means the end."""
        queue: asyncio.Queue[News | None] = asyncio.Queue(MOST_WAITING)
        watched.listeners.add(queue)
        watched.wake.set()
        try:
            yield queue
        finally:
            watched.listeners.discard(queue)

    def told(self, cook_id: str) -> str:
        """What has been told of a cook so far, as one word: a page made before news has another than the stream."""
        watched = self._watched.get(cook_id)
        return f"{self._begun}.{0 if watched is None else watched.news_told}"

    def hurry(self) -> None:
        """:meth:`close`, from a signal or another thread."""
        self._loop.call_soon_threadsafe(self.close)

    def close(self) -> None:
        """Let every stream end, now."""
        self.closing.set()
        for watched in self._watched.values():
            _let_listeners_go(watched)

    async def end(self) -> None:
        """Stop all that runs here."""
        self.close()
        self._teller.close()
        await asyncio.to_thread(self.crew.close)
        for watched in self._watched.values():
            if watched.held is not None:
                watched.held.cancel()
        tasks = [watched.task for watched in self._watched.values() if watched.task is not None]
        tasks += self._taking_in
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    # news

    def _committed(self, cook_id: str, last_seq: int) -> None:
        """The store's writer says so, in a thread of its own."""
        with contextlib.suppress(RuntimeError):  # the loop may be closed by now
            self._loop.call_soon_threadsafe(self._heard, cook_id)

    def _heard(self, cook_id: str) -> None:
        """Many commits that come close together are looked at once."""
        watched = self._watched.get(cook_id)
        if watched is None or self.closing.is_set():
            return
        watched.more_to_take_in = True
        if not watched.taking_in:
            watched.taking_in = True
            task = self._loop.create_task(self._take_in(watched))
            self._taking_in.add(task)
            task.add_done_callback(self._taking_in.discard)

    async def _take_in(self, watched: Watched) -> None:
        """Look at what was committed, one time after another, so that news are told in their order."""
        try:
            while watched.more_to_take_in:
                await asyncio.sleep(CLOSE_S)
                watched.more_to_take_in = False
                after = max(watched.told_seq, watched.shown.seq)
                last_seq, urgent_seq = await asyncio.to_thread(self._since, watched.cook_id, after)
                watched.told_seq = last_seq
                watched.urgent_seq = max(watched.urgent_seq, urgent_seq)
                urgent = urgent_seq > watched.shown.seq  # an outlook may have come in meanwhile
                # what is being reckoned just now may know of it: it was asked with the latest when its turn came
                watched.urgent = watched.urgent or urgent_seq > max(watched.shown.seq, watched.asking_seq)
                watched.wake.set()
                if urgent:
                    self._make_way(watched, urgent_seq)
                if urgent and watched.task is not None:
                    self._hold(watched, urgent_seq)
                else:
                    self._tell(watched, News("ledger", {"urgent": urgent}, last_seq))
        except PitreckonError as fault:
            log.warning("what is new in %s is not told: %s", watched.cook_id, fault)
        finally:
            watched.taking_in = False

    def _since(self, cook_id: str, after_seq: int) -> tuple[int, int]:
        """Numbers of the latest entry, and of the latest urgent one after that number; -1: there is none."""
        fresh = self._store.entries(cook_id, after_seq, 1, kinds=URGENT, newest_first=True)
        return self._store.last_seq(cook_id), fresh[0].seq if fresh else -1

    def _make_way(self, watched: Watched, seq: int) -> None:
        """What is asked of the cook is left where it can wait, or does not know of the entry; what waits is hurried."""
        ticket = watched.ticket
        if ticket is None:
            return
        if ticket.urgency <= Urgency.READINGS:
            if watched.asking_seq < 0:  # it waits still, and will be asked with the entry
                self.crew.hurry(ticket, Urgency.LOOK)
                return
            if watched.asking_seq >= seq or watched.shown.outlook is None:
                return
            since = watched.put_off_at = watched.put_off_at or time.monotonic()
            if time.monotonic() - since > PUT_OFF_S:
                return
        self.crew.give_way(ticket)

    def _hold(self, watched: Watched, seq: int) -> None:
        """Urgent news wait for the outlook that takes them in: a page then fetches both at once.

        Where that takes long they are told without it, so that an entry shows as recorded soon.
        """
        watched.held_seq = seq
        if watched.held is None:
            watched.held = self._loop.call_later(HELD_S, self._let_go, watched)

    def _let_go(self, watched: Watched, *, urgent: bool = True) -> None:
        """Tell what is held, if anything is. urgent: pages are to fetch it now, and not with the outlook."""
        if watched.held is not None:
            watched.held.cancel()
            watched.held = None
            self._tell(watched, News("ledger", {"urgent": urgent}, watched.held_seq))

    async def seen(self, cook_id: str, alert_key: str) -> None:
        """Somebody has seen an alert: it goes from every page."""
        watched = await self.watched(cook_id)
        last_seq = await asyncio.to_thread(self._store.last_seq, cook_id)
        left = tuple(alert for alert in watched.shown.alerts if alert.key != alert_key)
        watched.shown = replace(watched.shown, alerts=left)
        self._tell(watched, News("ledger", {"urgent": True}, last_seq))

    def _tell(self, watched: Watched, news: News) -> None:
        watched.news_told += 1
        for queue in list(watched.listeners):
            if queue.full():  # nobody reads it; the next page load catches up
                queue.get_nowait()
            queue.put_nowait(news)

    # reckoning

    async def _follow(self, watched: Watched) -> None:
        while not self.closing.is_set():
            try:
                due = await self._is_due(watched)
                if due:
                    await self._reckon(watched)
                if due or watched.extras_left:
                    watched.extras_left = False
                    await self._extras(watched)
            except asyncio.CancelledError:
                raise
            except GaveWayError:
                watched.extras_left = True
            except PitreckonError as fault:
                watched.reckoned_at = time.monotonic()
                self._let_go(watched, urgent=False)
                self._said(watched, str(fault))
                await self._alerts_alone(watched)
            except Exception:
                log.exception("reckoning %s", watched.cook_id)
                watched.shown = replace(watched.shown, trouble="the reckoning failed; the server's messages say how")
                watched.reckoned_at = time.monotonic()
                await self._alerts_alone(watched)
            finally:
                watched.answered.set()
            await self._until_due(watched)

    def _age_s(self, watched: Watched) -> float:
        return time.monotonic() - watched.reckoned_at

    async def _is_due(self, watched: Watched) -> bool:
        if watched.urgent:
            return True
        if not watched.somebody:
            return self._age_s(watched) >= (FRESH.total_seconds() if self._teller.settings_file else UNWATCHED_EVERY_S)
        behind = await asyncio.to_thread(self._store.last_seq, watched.cook_id) != watched.shown.seq
        rested_s, long_s = self._age_s(watched), 5.0 * watched.shown.took_s
        if behind and rested_s >= max(READINGS_EVERY_S / self._pace, long_s):
            return True
        late = watched.reckoned_for is None or self._settings.clock.now() - watched.reckoned_for >= FRESH
        return late and rested_s >= max(LEAST_REST_S, long_s)

    @property
    def _pace(self) -> float:
        return min(max(self._settings.clock.speed, 1.0), 30.0)

    async def _until_due(self, watched: Watched) -> None:
        watched.wake.clear()
        if watched.urgent:
            return
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(watched.wake.wait(), 5.0 / self._pace if watched.somebody else 30.0)

    def asked_of(self, cook_id: str) -> Asked:
        """A cook as it stands, to be asked about."""
        row = self._store.cook(cook_id)
        return Asked(self._settings.store, row.id, row.plan_toml, row.last_seq, self._settings.seed)

    def _asked_in_house(self, cook_id: str) -> Asked:
        """The same with what the house had learned when the cook began."""
        asked = self.asked_of(cook_id)
        return replace(asked, house=house_stamp(self._store, cook_id, asked.plan().begin_utc))

    async def when_free(self, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question that everything else comes before."""
        ticket = self.crew.join(HOUSE, Urgency.EXTRAS, long=True)
        try:
            return await self.crew.answer(ticket, question, *args, **more)
        finally:
            self.crew.leave(ticket)

    async def house_changed(self) -> None:
        """The house has learned something, or forgotten it: cooks that begin after that are reckoned anew."""
        now = self._settings.clock.now()
        for watched in list(self._watched.values()):
            asked = watched.asked
            if asked is None or is_over(watched.shown.cook, now):
                continue
            begin = watched.shown.cook.begin_utc
            stamp = await asyncio.to_thread(house_stamp, self._store, watched.cook_id, begin)
            if stamp != asked.house:
                watched.urgent = True
                watched.wake.set()

    async def _reckon(self, watched: Watched) -> None:
        """The cook as it stands when its turn comes: what came in while it waited is in it."""
        begun = time.monotonic()
        if await self._at_once(watched, begun):
            return
        ticket = self._join(watched, Urgency.LOOK if watched.urgent else Urgency.READINGS)
        try:
            await ticket.ready.wait()
            watched.urgent = False
            asked = await asyncio.to_thread(self._asked_in_house, watched.cook_id)
            watched.asking_seq = asked.seq
            watched.shown = replace(watched.shown, cook=asked.plan())  # another server may have changed it
            watched.reckoned_for = now = self._settings.clock.now()
            done = await self.crew.answer(ticket, reckoned_now, asked, now, self._settings.members)
        finally:
            watched.asking_seq = -1
            self._leave(watched, ticket)
        await self._answered(watched, asked, done, begun)

    async def _at_once(self, watched: Watched, begun: float) -> bool:
        """A first answer, where it is known what the last outlook rests on. Is it the whole answer, nothing having to
        be run for it?
        """
        if watched.asked is None or watched.shown.outlook is None:
            return False
        if not self.crew.remembers(watched.cook_id):
            return False
        try:
            ticket = self._join(watched, Urgency.FIRST if watched.urgent else Urgency.READINGS, only=True)
            try:
                await ticket.ready.wait()
                asked = await asyncio.to_thread(self._asked_in_house, watched.cook_id)
                now = self._settings.clock.now()
                first = await self.crew.answer(ticket, answered_first, asked, now)
            finally:
                self._leave(watched, ticket)
        except Exception:  # the full answer does not hang on it
            log.exception("a first answer of %s", watched.cook_id)
            return False
        if first is None:
            return False
        if not first.outlook.thinking_again:
            watched.urgent = watched.urgent and watched.told_seq > asked.seq  # what came in meanwhile is not in it
            watched.reckoned_for = now
            await self._answered(watched, asked, first, begun)
            return True
        if asked.seq != watched.shown.seq and watched.listeners:
            watched.shown = replace(watched.shown, seq=asked.seq, outlook=first.outlook)
            if asked.seq >= watched.held_seq:
                self._let_go(watched, urgent=False)
            self._tell(watched, News("outlook", {"now": first.outlook.now_utc.isoformat()}, asked.seq))
        return False

    async def _answered(self, watched: Watched, asked: Asked, done: Reckoned, begun: float) -> None:
        """Show an outlook, and tell whoever looks or is to hear of it."""
        watched.reckoned_at = time.monotonic()
        watched.asked, watched.again = asked, done.again
        watched.put_off_at = None
        foreseen = watched.shown.foreseen
        due = await asyncio.to_thread(
            self._teller.by_outlook, watched.cook_id, watched.shown.cook, done.outlook, asked.seq, foreseen
        )
        watched.shown = replace(
            watched.shown,
            seq=asked.seq,
            outlook=done.outlook,
            series=done.series,
            alerts=due.shown,
            earlier=done.earlier,
            said=done.said,
            trouble="",
            took_s=watched.reckoned_at - begun,
        )
        watched.answered.set()
        if asked.seq >= watched.held_seq:
            self._let_go(watched, urgent=False)
        self._tell(watched, News("outlook", {"now": done.outlook.now_utc.isoformat()}, asked.seq))
        self._teller.send(watched.cook_id, due)  # it only hands over: a dead address holds up no outlook

    async def _alerts_alone(self, watched: Watched) -> None:
        """What readings alone give reason to tell: a pit that goes out does not wait for an outlook."""
        now = self._settings.clock.now()
        try:
            due = await asyncio.to_thread(self._teller.by_readings, watched.cook_id, watched.shown.cook, now)
        except PitreckonError as fault:
            log.warning("alerts of %s: %s", watched.cook_id, fault)
            return
        watched.shown = replace(watched.shown, alerts=due.shown)
        self._teller.send(watched.cook_id, due)

    async def _extras(self, watched: Watched) -> None:
        """What-ifs, then what changed and why: worth their time only when nothing more urgent waits."""
        outlook, asked, again = watched.shown.outlook, watched.asked, watched.again
        if outlook is None or asked is None or again is None or watched.waits or not watched.somebody:
            return
        if watched.extras_hold(asked, outlook, EXTRAS_EVERY_S / self._pace):
            watched.shown = replace(watched.shown, what_ifs_seq=asked.seq)
            return
        begun = time.monotonic()
        options = await self._ask(watched, supposed, asked, self._settings.supposing, again)
        if options is not None:
            watched.shown = replace(watched.shown, what_ifs=options, what_ifs_seq=asked.seq)
            self._tell(watched, News("what-ifs", {}, asked.seq))
        foreseen = None if watched.waits else await self._beside(watched, rules_foreseen, asked, again)
        if foreseen is not None and foreseen != watched.shown.foreseen:
            watched.shown = replace(watched.shown, foreseen=foreseen)
            self._tell(watched, News("changes", {}, asked.seq))
        await self._plan_again(watched, asked, again)
        if not watched.waits:
            watched.extras_for, watched.extras_at = (asked, outlook), time.monotonic()
            watched.extras_took_s = watched.extras_at - begun
        if watched.waits or time.monotonic() - watched.explained_at < EXPLAIN_EVERY_S / self._pace:
            return
        changes = dict(watched.shown.changes)
        for scale in await asyncio.to_thread(self._scales):
            moments = (asked, outlook.now_utc, self._settings.explaining)
            changes[scale] = await self._ask(watched, explained, *moments, celsius=scale == "C")
        watched.explained_at = time.monotonic()
        watched.shown = replace(watched.shown, changes=changes)
        self._tell(watched, News("changes", {}, asked.seq))

    async def _plan_again(self, watched: Watched, asked: Asked, again: Again) -> None:
        """The rest of a day that was planned, unless something more urgent waits."""
        wishes = await asyncio.to_thread(wishes_of, self._store, watched.cook_id)
        if wishes is None or watched.waits:
            return
        rest = await self._beside(watched, replanned, asked, wishes, again)
        if rest is not None or watched.shown.replanned is not None:
            watched.shown = replace(watched.shown, replanned=rest)
            self._tell(watched, News("what-ifs", {}, asked.seq))

    def _asker(self, watched: Watched) -> Asker:
        """A cook that asks. One that is over holds up none that goes on."""
        return Asker(watched.cook_id, int(is_over(watched.shown.cook, self._settings.clock.now())))

    def _join(self, watched: Watched, urgency: Urgency, *, only: bool = False) -> Ticket:
        watched.ticket = self.crew.join(
            self._asker(watched), urgency, key=watched.cook_id, only=only, heard=partial(self._died, watched)
        )
        return watched.ticket

    def _leave(self, watched: Watched, ticket: Ticket) -> None:
        if watched.ticket is ticket:
            watched.ticket = None
        self.crew.leave(ticket)

    def _died(self, watched: Watched, words: str) -> None:
        """A worker died of, or beside, a question of the cook; it is asked again, and the page says so till then."""
        self._said(watched, words)

    def _said(self, watched: Watched, trouble: str) -> None:
        watched.shown = replace(watched.shown, trouble=trouble)
        self._tell(watched, News("outlook", {"trouble": trouble}, watched.shown.seq))

    async def _ask(self, watched: Watched, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question about a cook that the outlook can wait for.

        Raises GaveWayError: something more urgent came in
        """
        ticket = self._join(watched, Urgency.EXTRAS)
        try:
            answer = await self.crew.answer(ticket, question, *args, **more)
            if ticket.words and ticket.words == watched.shown.trouble:  # it was asked again, and is answered
                self._said(watched, "")
            return answer
        finally:
            self._leave(watched, ticket)

    async def _beside(self, watched: Watched, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T | None:
        """An answer that the outlook can do without: where there is none, the log says why."""
        try:
            return await self._ask(watched, question, *args, **more)
        except GaveWayError:
            raise
        except PitreckonError as fault:
            log.warning("%s: %s", question.__name__, fault)
            return None


def _let_listeners_go(watched: Watched) -> None:
    for queue in list(watched.listeners):
        while queue.full():
            queue.get_nowait()
        queue.put_nowait(None)
    watched.wake.set()


def is_over(cook: Cook, now: datetime) -> bool:
    """Is it so long after it was to be served that nobody waits for it?"""
    return cook.serve_utc is not None and now >= cook.serve_utc + OVER_AFTER
