"""Reckoning happens in a process of its own, so that the page never waits for it.

There are two of them: ``live`` has one for the cook that is going on, ``jobs`` one for what is planned and written up.
Each is spawned, asked one thing at a time, and thrown away when it takes too long or dies.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import PitreckonError
from pitreckon.ledger import Ledger
from pitreckon.ledger.store import Following, Store
from pitreckon.plan.read import wishes_from_text
from pitreckon.web.live.alerts import Due, Known, find_due

if TYPE_CHECKING:
    from pitreckon.flavour.mix import Mix
    from pitreckon.lessons.card.card import Card
    from pitreckon.lessons.diagnosis.report import Report
    from pitreckon.plan.fuel.earlier import Lessons
    from pitreckon.plan.schedule.cache import OptionCache
    from pitreckon.plan.schedule.replan import Replanned
    from pitreckon.plan.schedule.schedule import Answer, Schedule
    from pitreckon.plan.wishes import Wishes
    from pitreckon.reckon import Outlook
    from pitreckon.reckon.forecast import Reckoning
    from pitreckon.reckon.whatif import WhatIf
    from pitreckon.safety.foreseen import Foreseen
    from pitreckon.safety.record.form import SafetyRecord
    from pitreckon.sheets import Sheet
    from pitreckon.web.live.series import Series

LONGEST_S: Final = 120.0
"""A reckoning that takes longer is given up [s]; the first may have to compile the kernel."""


BEFORE, AFTER = timedelta(hours=12), timedelta(hours=12)
"""A cook is reckoned as of no earlier before its start, and no later after its end, than this."""
EXPLAIN_SINCE: Final = timedelta(hours=1)
MOST_CARDS: Final = 3
"""Kept beside the last one: the readers of a card cook for ten seconds and more."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A cook as it stands. The process reads its ledger itself: a long one would be slow to send.

    store: where it is kept; seq: number of the last entry that counts
    """

    store: str
    cook_id: str
    plan_toml: str
    seq: int
    seed: int


@dataclass(frozen=True, slots=True)
class Reckon:
    """Ask for an outlook, and for the alerts that follow from it."""

    cook: Asked
    now: datetime
    members: int
    settings_file: Path | None
    known: Known


@dataclass(frozen=True, slots=True)
class Suppose:
    """Ask what could be done, going on from the last outlook, if that was of this cook."""

    cook: Asked
    members: int


@dataclass(frozen=True, slots=True)
class Explain:
    """Ask what has moved the forecast in the last hour; in words with degC or degF."""

    cook: Asked
    now: datetime
    members: int
    celsius: bool


@dataclass(frozen=True, slots=True)
class PlanDay:
    """Ask for the best day.

    text: a cook file with wishes; variant: a change to them, by its key; none: as they are
    store: whose earlier cooks tell what the pits burn; "": none
    """

    text: str
    variant: str = ""
    store: str = ""


@dataclass(frozen=True, slots=True)
class Replan:
    """Ask for the best rest of a day that was planned, going on from the last outlook, if that was of this cook."""

    cook: Asked
    wishes: str


@dataclass(frozen=True, slots=True)
class Foresee:
    """Ask which safety rules may be missed, going on from the last outlook, if that was of this cook."""

    cook: Asked


@dataclass(frozen=True, slots=True)
class MakeRecord:
    """Ask for the safety record of a cook as of a moment, over its whole ledger. signed: by whom."""

    cook: Asked
    now: datetime
    signed: str
    members: int = 256


@dataclass(frozen=True, slots=True)
class MakeCard:
    """Ask for the recipe card of an item of a finished cook.

    mixes: that were on it; pieces, serves: for the reader, None: as it was; rules: of allergens; degrees, masses,
    twelve_hour: how it is read
    """

    cook: Asked
    item: str
    mixes: tuple[Mix, ...]
    pieces: int | None
    serves: int | None
    rules: str
    degrees: Literal["F", "C"]
    masses: Literal["lb", "kg"]
    twelve_hour: bool


@dataclass(frozen=True, slots=True)
class OnMeat:
    """Ask what heat does to a mix on an item of a cook."""

    plan_toml: str
    item: str
    mix: Mix
    want: str = ""


@dataclass(frozen=True, slots=True)
class AskWhy:
    """Ask for the likeliest causes of a reader's report."""

    report: Report


@dataclass(frozen=True, slots=True)
class CardPaper:
    """The answer to ``MakeCard``: the sheet, the same as JSON-LD, and its numbers."""

    sheet: Sheet
    jsonld: dict[str, Any]
    document: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The answer to ``Reckon``."""

    outlook: Outlook
    series: tuple[Series, ...]
    due: Due


def moment_of(cook: Cook, ledger: Ledger, now: datetime) -> datetime:
    """As of when a cook is reckoned: now, but no earlier than half a day before it and no later than half a day after.

    So a cook of last month shows how it ended, and one of next week what is planned.
    """
    ends = [cook.start_utc, *(at for at in (cook.serve_utc, ledger.last_utc) if at is not None)]
    begins = [cook.start_utc, *(at for at in (ledger.first_utc,) if at is not None)]
    return min(max(now, min(begins) - BEFORE), max(ends) + AFTER)


Question = Reckon | Suppose | Explain | Foresee | MakeRecord | PlanDay | Replan | MakeCard | OnMeat | AskWhy


class WorkerGoneError(PitreckonError):
    """The process died, or took too long."""


def _serve(pipe: Connection) -> None:
    """The process: answers until the pipe is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started it will end it
    state = _WorkerState()
    while True:
        try:
            ask = pipe.recv()
        except (EOFError, OSError):
            return
        answer: Any
        try:
            answer = state.answer(ask)
        except Exception as fault:  # whatever it is, the one who asked hears of it
            answer = fault if isinstance(fault, PitreckonError) else WorkerGoneError(f"{type(fault).__name__}: {fault}")
        try:
            pipe.send(answer)
        except (BrokenPipeError, OSError):
            return


class _WorkerState:
    """What the process keeps from one question to the next."""

    def __init__(self) -> None:
        self._following: tuple[str, Following] | None = None
        self._ledger: tuple[Asked, Cook, Ledger] | None = None
        self._last: tuple[Asked, Reckoning] | None = None
        self._options: OptionCache | None = None
        self._lessons: tuple[str, Lessons] = ("", {})
        self._foreseen: tuple[str, tuple[Foreseen, ...]] = ("", ())
        self._followed: tuple[str, Schedule | None] = ("", None)
        self._cards: dict[tuple[Asked, str], Card] = {}

    def answer(self, ask: Question) -> Any:
        """The answer to one question."""
        if isinstance(ask, Reckon):
            return self._reckon(ask)
        if isinstance(ask, Suppose):
            return self._suppose(ask)
        if isinstance(ask, Foresee):
            return self._foresee(ask)
        if isinstance(ask, MakeRecord):
            return self._record(ask)
        if isinstance(ask, PlanDay):
            return self._plan(ask)
        if isinstance(ask, Replan):
            return self._replan(ask)
        if isinstance(ask, MakeCard):
            return self._card(ask)
        if isinstance(ask, OnMeat):
            return _on_meat(ask)
        if isinstance(ask, AskWhy):
            return _why(ask)
        return self._explain(ask)

    def _foresee(self, ask: Foresee) -> tuple[Foreseen, ...] | None:
        from pitreckon.safety.forecast import foresee  # noqa: PLC0415

        if self._last is None or self._last[0] != ask.cook:
            return None
        found = foresee(self._last[1])
        self._foreseen = (ask.cook.cook_id, found)
        return found

    def _record(self, ask: MakeRecord) -> SafetyRecord:
        from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415  numba and the kernel
        from pitreckon.safety.record.make import record_of  # noqa: PLC0415

        cook = cook_from_text(ask.cook.plan_toml, "the plan")
        with Store.open(ask.cook.store) as store:
            ledger = store.ledger(ask.cook.cook_id)  # every reading, not one in ten seconds
        now = moment_of(cook, ledger, ask.now)
        done = reckoning(cook, ledger, now=now, members=ask.members, seed=ask.cook.seed)
        return record_of(done, ask.cook.plan_toml, ledger, signed_by=ask.signed)

    def _card(self, ask: MakeCard) -> CardPaper:
        from pitreckon.lessons.card.card import card_of  # noqa: PLC0415  numba and the kernel
        from pitreckon.lessons.card.finished import finished_item  # noqa: PLC0415
        from pitreckon.sheets import Reader  # noqa: PLC0415
        from pitreckon.sheets.documents.recipe import recipe_of  # noqa: PLC0415
        from pitreckon.sheets.documents.recipecard import recipe_sheet  # noqa: PLC0415
        from pitreckon.sheets.writers.jsonld import recipe_document, recipe_jsonld  # noqa: PLC0415

        card = self._cards.get((ask.cook, ask.item))
        if card is None:
            cook = cook_from_text(ask.cook.plan_toml, "the plan")
            with Store.open(ask.cook.store) as store:
                ledger = store.ledger(ask.cook.cook_id)
            card = card_of(finished_item(cook, ledger, ask.item), seed=ask.cook.seed)
            self._cards = {**dict(list(self._cards.items())[-MOST_CARDS:]), (ask.cook, ask.item): card}
        recipe = recipe_of(card, ask.mixes, pieces=ask.pieces, serves=ask.serves, rules=ask.rules)
        reader = Reader(card.finished.cook.zone, ask.degrees, ask.masses, ask.twelve_hour)
        return CardPaper(recipe_sheet(recipe, reader=reader), recipe_jsonld(recipe, reader), recipe_document(recipe))

    def _plan(self, ask: PlanDay) -> Answer | None:
        from pitreckon.plan.schedule.cache import OptionCache  # noqa: PLC0415  the kernel, and OR-Tools when it solves
        from pitreckon.plan.schedule.solve import plan  # noqa: PLC0415
        from pitreckon.plan.schedule.variants import variant  # noqa: PLC0415

        wishes = wishes_from_text(ask.text, "the day")
        if ask.variant:
            changed = variant(wishes, ask.variant)
            if changed is None:
                return None
            wishes = changed.wishes
        self._options = self._options or OptionCache()
        return plan(wishes, cache=self._options, explain=not ask.variant, lessons=self._learned(ask, wishes))

    def _learned(self, ask: PlanDay, wishes: Wishes) -> Lessons:
        """What earlier cooks taught of the pits; for a change to a day what was learned for the day itself."""
        from pitreckon.plan.fuel.earlier import earlier_in, lessons_of  # noqa: PLC0415

        if not ask.store:
            return {}
        if not ask.variant or self._lessons[0] != ask.text:
            with Store.open(ask.store) as store:
                self._lessons = (ask.text, lessons_of(wishes, earlier_in(store, wishes)))
        return self._lessons[1]

    def _replan(self, ask: Replan) -> Replanned | None:
        from pitreckon.plan.schedule.replan import replan  # noqa: PLC0415

        if self._last is None or self._last[0] != ask.cook:
            return None
        if self._followed[0] != ask.wishes:  # it is the same from look to look, and takes seconds for many items
            answer = self._plan(PlanDay(ask.wishes, store=ask.cook.store))
            self._followed = (ask.wishes, None if answer is None else answer.best)
        before = self._followed[1]
        if before is None:
            return None
        return replan(wishes_from_text(ask.wishes, "the day"), before, self._last[1])

    def _read(self, asked: Asked) -> tuple[Cook, Ledger]:
        if self._following is None or self._following[0] != asked.store:
            self._following = (asked.store, Following(Store.open(asked.store)))
        if self._ledger is None or self._ledger[0] != asked:
            ledger = self._following[1].ledger(asked.cook_id, until_seq=asked.seq)
            self._ledger = (asked, cook_from_text(asked.plan_toml, "the plan"), ledger)
        return self._ledger[1], self._ledger[2]

    def _reckon(self, ask: Reckon) -> Reckoned:
        from pitreckon.reckon.forecast import reckoning  # noqa: PLC0415  numba and the kernel
        from pitreckon.web.live.series import series_of  # noqa: PLC0415

        cook, ledger = self._read(ask.cook)
        now = moment_of(cook, ledger, ask.now)
        done = reckoning(cook, ledger, now=now, members=ask.members, seed=ask.cook.seed)
        self._last = (ask.cook, done)
        whose, foreseen = self._foreseen  # of the outlook before: an update does not wait for it
        foreseen = foreseen if whose == ask.cook.cook_id else ()
        found = find_due(cook, done.outlook, ledger, ask.settings_file, ask.known, now, foreseen)
        return Reckoned(done.outlook, series_of(done), found)

    def _suppose(self, ask: Suppose) -> tuple[WhatIf, ...] | None:
        from pitreckon.reckon.whatif import what_ifs  # noqa: PLC0415

        if self._last is None or self._last[0] != ask.cook:
            return None
        return what_ifs(self._last[1], members=ask.members)

    def _explain(self, ask: Explain) -> tuple[str, ...]:
        from pitreckon.reckon.explain import explain  # noqa: PLC0415

        cook, ledger = self._read(ask.cook)
        since = max(ask.now - EXPLAIN_SINCE, cook.start_utc)
        if since >= ask.now or not len(ledger.until(ask.now)):
            return ()
        when = (ledger, since, ledger, ask.now)
        changes, _ = explain(cook, *when, members=ask.members, seed=ask.cook.seed, celsius=ask.celsius)
        return tuple(change.line for change in changes)


def _on_meat(ask: OnMeat) -> tuple[str, ...]:
    from pitreckon.flavour.heat.meatwords import on_the_meat  # noqa: PLC0415  the kernel
    from pitreckon.web.views.mix import changed_batch  # noqa: PLC0415

    cook = cook_from_text(ask.plan_toml, "the plan")
    return tuple(on_the_meat(changed_batch(ask.mix, ask.want), cook, ask.item)[1])


def _why(ask: AskWhy) -> dict[str, Any]:
    from pitreckon.lessons.diagnosis.diagnose import why  # noqa: PLC0415  the kernel
    from pitreckon.lessons.diagnosis.json import document_of  # noqa: PLC0415

    return document_of(why(ask.report))


class Worker:
    """The process as the server sees it. Started when it is first asked, and again after it has died."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._guard = threading.Lock()
        self._closed = False

    async def ask(self, what: Question) -> Any:
        """The answer. Raises PitreckonError: what the question is at fault for, or WorkerGoneError."""
        async with self._turn:
            answering = asyncio.get_running_loop().run_in_executor(None, self._ask, what)
            try:
                answer = await asyncio.wait_for(asyncio.shield(answering), LONGEST_S)
            except (TimeoutError, asyncio.CancelledError):
                self._kill()
                with contextlib.suppress(WorkerGoneError):
                    await answering
                raise
        if isinstance(answer, PitreckonError):
            raise answer
        return answer

    def _ask(self, what: object) -> Any:
        try:
            pipe = self._running()
            pipe.send(what)
            return pipe.recv()
        except (EOFError, OSError) as gone:
            self._kill()
            raise WorkerGoneError("the reckoning process has died; it is started again") from gone

    def _running(self) -> Connection:
        with self._guard:
            if self._closed:
                raise EOFError
            if self._pipe is None or self._process is None or not self._process.is_alive():
                context = get_context("spawn")
                self._pipe, theirs = context.Pipe()
                self._process = context.Process(target=_serve, args=(theirs,), name="pitreckon-reckons", daemon=True)
                self._process.start()
                theirs.close()
            return self._pipe

    def _kill(self) -> None:
        with self._guard:
            if self._process is not None:
                self._process.kill()
                self._process.join(1.0)
            if self._pipe is not None:
                with contextlib.suppress(OSError):
                    self._pipe.close()
            self._process = self._pipe = None

    def close(self) -> None:
        """End the process, whatever it is at."""
        self._closed = True
        self._kill()
