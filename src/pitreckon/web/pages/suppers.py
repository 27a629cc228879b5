"""The cooks of the house by their dates, how each stands or came out; and what becomes of one."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Final, Literal

from fastapi import APIRouter, Form
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.errors import PitreckonError
from pitreckon.ledger import Act
from pitreckon.ledger.store import CameOut, CookRow
from pitreckon.ledger.store.cameout import how_all
from pitreckon.ledger.store.states import CookState
from pitreckon.units import format_duration
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.live.plans import cook_of, renamed
from pitreckon.web.pages.how import how_words
from pitreckon.web.pages.visit import HandVisit, OwnerVisit, ViewerVisit, Visit
from pitreckon.web.views.reader import ClockWords

router = APIRouter(include_in_schema=False)
SHOWN: Final = 60
LAST_ACTS: Final = 200
ON_TIME_S: Final = 600.0
"""Served so much after its hour a supper was on time: a judgement."""


@dataclass(frozen=True, slots=True)
class SupperLine:
    """One cook. date: of its serving, in its own zone; what: its meats; how: where it stands, or came out.

    said: how it was, as those who ate say
    over: it was served; off: it was called off; empty: nothing was recorded in it
    """

    id: str
    name: str
    date: str
    what: str
    how: str
    over: bool
    at: float
    said: tuple[str, ...] = ()
    off: bool = False
    away: bool = False
    empty: bool = False


def supper_line(visit: Visit, row: CookRow, said: tuple[CameOut, ...] = ()) -> SupperLine:
    """A cook in words. It asks the database. said: how it was"""
    say = visit.preferences.say
    mark, empty = visit.app_state.shelf.of(row.id), not row.last_seq
    try:
        cook = cook_of(row.plan_toml)
    except PitreckonError:
        words = say("its plan cannot be read")
        return SupperLine(row.id, row.name, "", "", words, over=False, at=0.0, away=mark.away, empty=empty)
    day = cook.serve_utc or cook.start_utc
    found = visit.app_state.store.entries(row.id, limit=LAST_ACTS, kinds=("act",), newest_first=True)
    acts = [each.event for each in found if isinstance(each.event, Act) and each.corrected_by is None]
    served = {act.on: act.at_utc for act in reversed(acts) if act.act == "served"}
    clock = ClockWords(cook.zone_info, day, visit.preferences)
    over = all(item.label in served for item in cook.items)
    return SupperLine(
        row.id,
        row.name,
        day.astimezone(cook.zone_info).strftime("%Y-%m-%d"),
        ", ".join(item.label for item in cook.items),
        _called_off(mark, clock)
        or _how(visit, over, max(served.values(), default=None), cook.serve_utc, bool(acts), clock),
        over,
        day.timestamp(),
        tuple(how_words(visit, each) for each in said),
        bool(mark.off_utc),
        mark.away,
        empty,
    )


def _called_off(mark: CookState, clock: ClockWords) -> str:
    if not mark.off_utc:
        return ""
    at = clock(datetime.fromisoformat(mark.off_utc))
    return clock.preferences.say("called off {at} by {who}", at=at, who=mark.by)


def _how(
    visit: Visit, over: bool, last: datetime | None, serve: datetime | None, begun: bool, clock: ClockWords
) -> str:
    say = visit.preferences.say
    if over and last is not None:
        words = say("served at {at}", at=clock(last))
        late_s = 0.0 if serve is None else (last - serve).total_seconds()
        if abs(late_s) <= ON_TIME_S or serve is None:
            return words
        span = format_duration(60.0 * round(abs(late_s) / 60.0))
        return f"{words}, {say('{span} late', span=span) if late_s > 0 else say('{span} early', span=span)}"
    if serve is not None and visit.now > serve and not begun:
        return say("planned, and nothing recorded")
    return say("going on") if begun else say("planned")


@router.get("/suppers")
def suppers(visit: ViewerVisit) -> Response:
    """Every cook, the latest date first."""
    rows, said = visit.app_state.store.cooks()[:SHOWN], how_all(visit.app_state.store)
    lines = sorted(
        (supper_line(visit, row, said.get(row.id, ())) for row in rows), key=lambda line: line.at, reverse=True
    )
    return visit.page(
        "suppers.html", "setup", lines=[e for e in lines if not e.away], away=[e for e in lines if e.away]
    )


@router.post("/suppers/{cook_id}/rename")
async def rename(cook_id: CookId, visit: HandVisit, name: Annotated[str, Form(max_length=60)]) -> Response:
    """Another name for a cook, in its plan too. Raises InputError: no such name, or its plan cannot be changed."""
    app_state = visit.app_state

    def work() -> None:
        row = find_cook(app_state, cook_id)
        called = name.strip()
        if called and called != row.name:
            text = renamed(row.plan_toml, called)
            app_state.store.replace_plan(cook_id, text, visit.visitor.person.name, name=called)

    await run_in_threadpool(work)
    await app_state.live.replanned(cook_id)
    return RedirectResponse("/suppers", 303)


@router.post("/suppers/{cook_id}/{what}")
async def shelve(cook_id: CookId, visit: HandVisit, what: Literal["off", "on", "away", "back"]) -> Response:
    """Call a cook off or go on with it; put it away or bring it back. Its ledger stays as it is."""
    app_state = visit.app_state

    def work() -> None:
        find_cook(app_state, cook_id)
        if what == "off":
            app_state.shelf.call_off(cook_id, visit.now, visit.visitor.person.name)
        elif what == "on":
            app_state.shelf.go_on(cook_id)
        elif what == "away":
            app_state.shelf.put_away(cook_id)
        else:
            app_state.shelf.bring_back(cook_id)

    await run_in_threadpool(work)
    await app_state.live.seen(cook_id, "")  # whoever watches it hears that something is new
    return RedirectResponse("/suppers", 303)


@router.post("/suppers/{cook_id}/remove/for-good")
async def remove(cook_id: CookId, visit: OwnerVisit) -> Response:
    """A cook in which nothing was recorded goes for good. Raises InputError: something was."""
    app_state = visit.app_state

    def work() -> None:
        find_cook(app_state, cook_id)
        app_state.store.remove_cook(cook_id)
        app_state.shelf.go_on(cook_id)

    await run_in_threadpool(work)
    await app_state.live.forget(cook_id)
    return RedirectResponse("/suppers", 303)
