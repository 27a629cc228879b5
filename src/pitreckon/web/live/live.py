"""The latest outlook of every cook that somebody watches, and who is told when there is a newer one."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import secrets
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

from pitreckon.alerts import Alert
from pitreckon.cook import Cook
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Look
from pitreckon.ledger.store import CookRow, Store
from pitreckon.ledger.store.house import house_stamp
from pitreckon.web.live.alerts import Teller
from pitreckon.web.live.giveway import GaveWayError
from pitreckon.web.live.jobs import wishes_of
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import (
    Asked,
    P,
    Question,
    T,
    answered_first,
    answered_if,
    explained,
    reckoned_now,
    replanned,
    rules_foreseen,
    supposed,
)
from pitreckon.web.live.turns import HOUSE, Asker, Turns
from pitreckon.web.live.worker import Worker
from pitreckon.web.settings import WebSettings

if TYPE_CHECKING:
    from pitreckon.plan.schedule.replan import Replanned
    from pitreckon.reckon import ItemOutlook, Outlook
    from pitreckon.reckon.whatif import WhatIf
    from pitreckon.safety.foreseen import Foreseen
    from pitreckon.web.live.series import Series

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
VIEWED_S: Final = 120.0
UNWATCHED_EVERY_S: Final = 300.0
EXPLAIN_EVERY_S: Final = 300.0
MOST_WAITING: Final = 64


@dataclass(frozen=True)
class Shown:
    """What is known of a cook. Whatever was not reckoned yet is empty.

    seq: of the ledger that the outlook rests on; changes: what moved it, by scale of temperature
    replanned: the best rest of the day, where it was planned; foreseen: safety rules that may be missed
    earlier: how many earlier cooks have told something; said: people have said something of its pits
    trouble: why there is no newer outlook, if that is so
    """

    cook: Cook
    seq: int = -1
    outlook: Outlook | None = None
    series: tuple[Series, ...] = ()
    what_ifs: tuple[WhatIf, ...] = ()
    what_ifs_seq: int = -1
    changes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    alerts: tuple[Alert, ...] = ()
    replanned: Replanned | None = None
    foreseen: tuple[Foreseen, ...] = ()
    earlier: int = 0
    said: bool = False
    trouble: str = ""
    took_s: float = 0.0


@dataclass(frozen=True, slots=True)
class News:
    """What a stream tells: its kind and what goes with it."""

    kind: str
    data: dict[str, Any]
    seq: int = 0


class Watched:
    """One cook: what is shown, who watches, and what is asked for."""

    def __init__(self, cook_id: str, shown: Shown) -> None:
        self.cook_id = cook_id
        self.shown = shown
        self.listeners: set[asyncio.Queue[News | None]] = set()
        self.wake = asyncio.Event()
        self.urgent = True
        self.reckoned_at = -1e9
        self.reckoned_for: datetime | None = None
        self.explained_at = -1e9
        self.told_seq = -1
        self.held_seq = -1
        self.held: asyncio.TimerHandle | None = None
        self.news_told = 0
        self.task: asyncio.Task[None] | None = None
        self.answered = asyncio.Event()
        self.asked: Asked | None = None
        self.put_off_at: float | None = None
        self.extras_left = False
        self.taking_in = False
        self.more_to_take_in = False
        self.viewed_at = -1e9

    @property
    def somebody(self) -> bool:
        """Does anybody look: by a stream, or by a page without a script not long ago?"""
        return bool(self.listeners) or time.monotonic() - self.viewed_at < VIEWED_S

    @property
    def waits(self) -> bool:
        """Has something urgent come in?"""
        return self.urgent


class Live:
    """All cooks that are watched.

    closing: set once, when the server is to end; every stream ends by it
    """

    def __init__(
        self, store: Store, settings: WebSettings, scales: Callable[[], Sequence[str]], teller: Teller
    ) -> None:
        self._store, self._settings, self._scales, self._teller = store, settings, scales, teller
        self._worker = Worker()
        self._turns = Turns()
        self._at_work: tuple[Watched, str, int] | None = None
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
        asking = self._beside(watched, answered_if, watched.asked, self._settings.clock.now(), look)
        task = self._loop.create_task(asking)
        await asyncio.wait({task}, timeout=within_s)  # a question that has begun is left to its end
        if not task.done():
            task.add_done_callback(lambda over: over.cancelled() or over.exception())
            return None
        try:
            return task.result()
        except GaveWayError:
            return None

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
        self._worker.close()
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
                urgent = urgent_seq > watched.shown.seq  # an outlook may have come in meanwhile
                watched.urgent = watched.urgent or urgent
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
        """What the process is at is left, if it can wait: extras of any cook, and an answer without the entry."""
        if self._at_work is None:
            return
        whose, name, of_seq = self._at_work
        if name == reckoned_now.__name__:
            if whose is not watched or of_seq >= seq or watched.shown.outlook is None:
                return
            since = watched.put_off_at = watched.put_off_at or time.monotonic()
            if time.monotonic() - since > PUT_OFF_S:
                return
        self._worker.give_way()

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
                watched.shown = replace(watched.shown, trouble=str(fault))
                watched.reckoned_at = time.monotonic()
                self._let_go(watched, urgent=False)
                self._tell(watched, News("outlook", {"trouble": str(fault)}, watched.shown.seq))
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
        return await self._in_turn(None, HOUSE, question, *args, **more)

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
        watched.urgent = False
        begun = time.monotonic()
        asked = await asyncio.to_thread(self._asked_in_house, watched.cook_id)
        watched.reckoned_for = now = self._settings.clock.now()
        await self._at_once(watched, asked, now)
        known = await asyncio.to_thread(self._teller.known, watched.cook_id)
        members, file = self._settings.members, self._teller.settings_file
        done = await self._ask(watched, reckoned_now, asked, now, members, file, known)
        watched.reckoned_at = time.monotonic()
        watched.asked = asked
        watched.put_off_at = None
        watched.shown = replace(
            watched.shown,
            seq=asked.seq,
            outlook=done.outlook,
            series=done.series,
            alerts=done.due.shown,
            earlier=done.earlier,
            said=done.said,
            trouble="",
            took_s=watched.reckoned_at - begun,
        )
        watched.answered.set()
        if asked.seq >= watched.held_seq:
            self._let_go(watched, urgent=False)
        self._tell(watched, News("outlook", {"now": done.outlook.now_utc.isoformat()}, asked.seq))
        self._teller.send(watched.cook_id, done.due)  # it only hands over: a dead address holds up no outlook

    async def _at_once(self, watched: Watched, asked: Asked, now: datetime) -> None:
        """A first answer, if only something was seen since the last outlook and somebody looks."""
        if watched.asked is None or watched.shown.outlook is None or not watched.listeners:
            return
        if asked.seq == watched.shown.seq:
            return
        try:
            first = await self._ask(watched, answered_first, asked, now)
        except Exception:  # the full answer does not hang on it
            log.exception("a first answer of %s", watched.cook_id)
            return
        if first is None:
            return
        watched.shown = replace(watched.shown, seq=asked.seq, outlook=first)
        if asked.seq >= watched.held_seq:
            self._let_go(watched, urgent=False)
        self._tell(watched, News("outlook", {"now": first.now_utc.isoformat()}, asked.seq))

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
        outlook, asked = watched.shown.outlook, watched.asked
        if outlook is None or asked is None or watched.waits or not watched.somebody:
            return
        options = await self._ask(watched, supposed, asked, self._settings.supposing)
        if options is not None:
            watched.shown = replace(watched.shown, what_ifs=options, what_ifs_seq=asked.seq)
            self._tell(watched, News("what-ifs", {}, asked.seq))
        foreseen = None if watched.waits else await self._beside(watched, rules_foreseen, asked)
        if foreseen is not None and foreseen != watched.shown.foreseen:
            watched.shown = replace(watched.shown, foreseen=foreseen)
            self._tell(watched, News("changes", {}, asked.seq))
        await self._plan_again(watched, asked)
        if watched.waits or time.monotonic() - watched.explained_at < EXPLAIN_EVERY_S / self._pace:
            return
        changes = dict(watched.shown.changes)
        for scale in await asyncio.to_thread(self._scales):
            moments = (asked, outlook.now_utc, self._settings.explaining)
            changes[scale] = await self._ask(watched, explained, *moments, celsius=scale == "C")
        watched.explained_at = time.monotonic()
        watched.shown = replace(watched.shown, changes=changes)
        self._tell(watched, News("changes", {}, asked.seq))

    async def _plan_again(self, watched: Watched, asked: Asked) -> None:
        """The rest of a day that was planned, unless something more urgent waits."""
        wishes = await asyncio.to_thread(wishes_of, self._store, watched.cook_id)
        if wishes is None or watched.waits:
            return
        again = await self._beside(watched, replanned, asked, wishes)
        if again is not None or watched.shown.replanned is not None:
            watched.shown = replace(watched.shown, replanned=again)
            self._tell(watched, News("what-ifs", {}, asked.seq))

    async def _ask(self, watched: Watched, question: Question[P, T], *args: P.args, **more: P.kwargs) -> T:
        """The answer to a question about a cook. One that is over holds up none that goes on.

        Raises GaveWayError: something more urgent came in
        """
        over = is_over(watched.shown.cook, self._settings.clock.now())
        return await self._in_turn(watched, Asker(watched.cook_id, int(over)), question, *args, **more)

    async def _in_turn(
        self, watched: Watched | None, who: Asker, question: Question[P, T], *args: P.args, **more: P.kwargs
    ) -> T:
        """The same of anybody. watched: whose looks it gives way to; None: it is of the house, and short"""
        ticket = self._turns.join(who)
        try:
            await ticket.ready.wait()
            of_seq = next((each.seq for each in args if isinstance(each, Asked)), -1)
            self._at_work = None if watched is None else (watched, question.__name__, of_seq)
            try:
                return await self._worker.ask(question, *args, **more)
            finally:
                self._at_work = None
        finally:
            self._turns.leave(ticket)

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
