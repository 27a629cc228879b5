"""The pages of a cook: Now, Look, Plan, Ledger."""

import hashlib
import secrets
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Form, Query
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import PlainTextResponse, RedirectResponse, Response, StreamingResponse

from pitreckon.alerts import due
from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Look
from pitreckon.ledger.store import Correction, Entry, accounts
from pitreckon.ledger.store.records import KINDS
from pitreckon.reckon import Outlook
from pitreckon.reckon.timetable import moved_words
from pitreckon.web.access.login import inside
from pitreckon.web.api import CookId, find_cook, record
from pitreckon.web.forms.events import AHEAD, EventIn, entries_of
from pitreckon.web.live.alerts import settings_of
from pitreckon.web.live.live import URGENT
from pitreckon.web.live.stream import stream_of
from pitreckon.web.pages.visit import (
    CookVisit,
    Filled,
    HandVisit,
    OfCook,
    OfCookAtOnce,
    ViewerVisit,
    Visit,
    taken_away,
)
from pitreckon.web.views.clashes import Clash, clashes
from pitreckon.web.views.day import moved_lines
from pitreckon.web.views.entries import lines_of
from pitreckon.web.views.look import panels
from pitreckon.web.views.now import now_view
from pitreckon.web.views.plan import options_view, stage_views
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.scene import Scene
from pitreckon.web.views.trips import trip_view
from pitreckon.web.views.wrong import Wrong, wrongs

if TYPE_CHECKING:
    from pitreckon.plan.schedule.replan import Replanned

router = APIRouter(include_in_schema=False)
PAGE_OF: Final = 100
RECENT: Final = 4
FormKey = Annotated[str, Form(pattern=r"^([0-9a-f]{8,32})?$")]
IN_DOUBT: Final = 60
"""So many of the latest looks and acts are held against each other."""
MOST_ACTS: Final = 8
OLD: Final = timedelta(minutes=4)
OLD_PACE: Final = timedelta(seconds=20)
"""An outlook is made anew every minute or so; one that is older than this says of when it is. Where the clock goes
faster than the day it is older than that many times the other."""
MOST_MOVED: Final = timedelta(days=2)
"""An entry's time is put right by no more than this."""


def _recent(visit: CookVisit) -> list[Any]:
    """The latest looks and acts, those taken back left out."""
    found = visit.app_state.store.entries(visit.row.id, limit=RECENT * 3, kinds=URGENT, newest_first=True)
    return [line for line in lines_of(found, visit.clock) if line.on and not line.gone][:RECENT]


def _clashes(visit: CookVisit) -> list[Clash]:
    """What two phones have said that cannot both be. It asks the database: not on the loop."""
    store, cook_id = visit.app_state.store, visit.row.id
    entries = store.entries(cook_id, limit=IN_DOUBT, kinds=("look", "act"), newest_first=True)
    seen = {each.alert_key for each in accounts.all_acknowledged(store, cook_id)}
    return clashes(entries, seen, replace(visit.clock, now=visit.now))


@router.get("/")
def home(visit: ViewerVisit) -> Response:
    """The cook that this person looked at last, else the latest made; where there is none, how to begin."""
    chosen = visit.chosen()
    return RedirectResponse(f"/cook/{chosen.id}/now" if chosen else "/start", 303)


def _wrongs(visit: CookVisit, scene: Scene) -> list[Wrong]:
    """What is wrong now, in this person's degrees and hours."""
    shown, clock, app_state = visit.shown, visit.clock, visit.app_state
    mine = clock.preferences
    usual = settings_of(shown.cook, app_state.settings.settings_file)
    settings = replace(usual, quiet=None, scale=mine.degrees, twelve_hour=mine.hands == "12")
    alerts = due(shown.outlook, scene.ledger, settings, scene.now, (), ())
    seen = {each.alert_key for each in accounts.all_acknowledged(app_state.store, visit.row.id)}
    return wrongs(scene, alerts, shown.foreseen, seen, clock)


def _behind(visit: CookVisit) -> bool:
    """Is a full answer on its way: to a look, an act or a correction that the outlook does not fully hold?"""
    outlook = visit.shown.outlook
    fresh = visit.app_state.store.entries(visit.row.id, visit.shown.seq, 1, kinds=URGENT)
    return outlook is not None and (outlook.thinking_again or bool(fresh))


def _is_old(visit: CookVisit) -> bool:
    """Is the outlook of another hour, as after a sleep of the machine? A newer one is on its way then."""
    outlook = visit.shown.outlook
    if outlook is None or outlook.served_utc is not None or not visit.app_state.settings.reckons:
        return False
    return visit.now - outlook.now_utc > max(OLD, OLD_PACE * visit.app_state.settings.clock.speed)


def now_values(visit: CookVisit) -> dict[str, Any]:
    """All that the part of Now that changes shows. It asks the database: not on the loop."""
    shown, clock, scene = visit.shown, visit.clock, visit.scene
    changes = shown.changes.get(clock.preferences.degrees) or next(iter(shown.changes.values()), ())
    return {
        "now": None if shown.outlook is None else now_view(scene, shown.outlook, clock, shown.what_ifs),
        "wrongs": [] if visit.app_state.shelf.is_over(visit.row.id) else _wrongs(visit, scene),
        "shown": shown,
        "retold": clock.retold,
        "changes": changes,
        "behind": _behind(visit),
        "old": _is_old(visit),
        "recent": _recent(visit),
        "asides": visit.app_state.whose.waiting(),
        "clashes": _clashes(visit),
        "called_off": _called_off(visit),
    }


def _called_off(visit: CookVisit) -> str:
    """When it was called off, "" if it was not."""
    mark = visit.app_state.shelf.of(visit.row.id)
    return visit.clock(datetime.fromisoformat(mark.off_utc)) if mark.off_utc else ""


def _now(visit: CookVisit, template: str) -> Response:
    return visit.page(template, "now", row=visit.row, **now_values(visit))


@router.get("/cook/{cook_id}/now")
def now_page(visit: OfCook) -> Response:
    """What to do next, and when."""
    return _now(visit, "now.html")


@router.get("/cook/{cook_id}/now/part")
def now_part(visit: OfCookAtOnce) -> Response:
    """The part of Now that changes; it waits for nothing."""
    return _now(visit, "now_part.html")


@router.get("/cook/{cook_id}/clock")
def clock_page(visit: OfCook) -> Response:
    """A page to be read from far: the hour, the next trip, what is wrong; it keeps the screen awake."""
    return _now(visit, "clock.html")


@router.get("/cook/{cook_id}/clock/part")
def clock_part(visit: OfCookAtOnce) -> Response:
    """The part of it that changes."""
    return _now(visit, "clock_part.html")


@router.post("/cook/{cook_id}/seen")
async def seen(
    cook_id: CookId,
    visit: HandVisit,
    key: Annotated[str, Form(min_length=1, max_length=200)],
    to: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Somebody has seen an alert, or lets two entries stand that cannot both be."""
    app_state = visit.app_state
    await run_in_threadpool(find_cook, app_state, cook_id)
    await run_in_threadpool(accounts.acknowledge, app_state.store, cook_id, key, visit.visitor.person.name)
    await app_state.live.seen(cook_id, key)
    return RedirectResponse(inside(to) if to else f"/cook/{cook_id}/now", 303)


@router.get("/cook/{cook_id}/stream")
async def stream(cook_id: CookId, visit: ViewerVisit) -> Response:
    """What is new, as it comes."""
    await run_in_threadpool(find_cook, visit.app_state, cook_id)
    return await stream_of(visit.app_state, cook_id, visit.visitor)


def _look(visit: CookVisit, template: str, saved: str = "") -> Response:
    views, chosen = panels(visit.scene, visit.preferences)
    return visit.page(
        template,
        "look",
        row=visit.row,
        saved=saved[:120],
        panels=views,
        chosen=chosen,
        recent=_recent(visit),
        clashes=_clashes(visit),
        photos_can=visit.app_state.photos.can,
    )


@router.get("/cook/{cook_id}/look")
def look_page(visit: OfCook, saved: str = "") -> Response:
    """Record a look or an act."""
    return _look(visit, "look.html", saved)


@router.get("/cook/{cook_id}/look/part")
def look_part(visit: OfCookAtOnce) -> Response:
    """What was recorded last, and what is next in each course."""
    return _look(visit, "look_part.html")


@router.post("/cook/{cook_id}/record")
async def record_form(
    cook_id: CookId,
    visit: HandVisit,
    form: Filled,
    record_value: Annotated[str, Form(alias="record", max_length=200)],
    on: Annotated[str, Form(max_length=60)] = "",
    ago: Annotated[int, Form(ge=0, le=24 * 60)] = 0,
    to: Annotated[str, Form(max_length=200)] = "",
    note: Annotated[str, Form(max_length=200)] = "",
    key: FormKey = "",
) -> Response:
    """The same as the script sends, from a page without one. Sent again it adds nothing: the form has a key."""
    kind, what, value = [*record_value.split("|", 2), "", ""][:3]
    if value.startswith("spot-"):
        value = f"{form.get(value, '')} {visit.preferences.degrees}"
    now, recorded = visit.now, visit.app_state.recorded_at(cook_id)

    def events() -> list[EventIn]:
        number = _piece(form, visit.app_state.live_cook(cook_id), on)
        own = _own_id(key, record_value, value, on, ago, note, number)
        at = recorded(own) or datetime.fromtimestamp(now.timestamp() - ago * 60.0, now.tzinfo)
        fields: dict[str, Any] = {"id": own, "at": at.isoformat()}
        if kind == "correction":
            return [EventIn(**fields, kind="correction", of=what, note=value)]
        said: Literal["act", "look"] = "act" if kind == "act" else "look"
        return [EventIn(**fields, kind=said, on=on, what=what, value=value, piece=number, note=note)]

    await _save_events(visit, cook_id, events)
    return RedirectResponse(inside(to) if to else f"/cook/{cook_id}/look?saved=1", 303)


@router.post("/cook/{cook_id}/retime")
async def retime(
    cook_id: CookId,
    visit: HandVisit,
    of: Annotated[str, Form(min_length=1, max_length=64)],
    at: Annotated[str, Form(max_length=30)],
    seq: Annotated[int, Form(ge=1, le=2**53)],
    key: FormKey = "",
) -> Response:
    """Put an entry's time right: a correction takes its place, and the entry stays on record.

    Raises InputError: there is no such look or act, or the time cannot be.
    """
    app_state = visit.app_state

    def work() -> list[Entry]:
        find_cook(app_state, cook_id)
        found = app_state.store.entries(cook_id, seq - 1, 1)
        event = found[0].event if found and found[0].id == of else None
        if not isinstance(event, Look | Act):
            raise InputError("there is no such look or act", "Load the page again")
        zone = app_state.live_cook(cook_id).zone_info
        try:
            moment = datetime.fromisoformat(at).replace(tzinfo=zone).astimezone(visit.now.tzinfo)
        except (ValueError, OverflowError):
            raise InputError("that is no time", "Write it as in 2026-10-17T14:05") from None
        if moment > visit.now + AHEAD or abs(moment - event.at_utc) > MOST_MOVED:
            raise InputError("the entry cannot have been then", "Take it back, and record it anew")
        moved = Correction(of, replace(event, at_utc=moment), "its time put right")
        return [Entry(_own_id(key, of, at, seq), moved, visit.visitor.person.name)]

    await record(app_state, cook_id, await run_in_threadpool(work))
    return RedirectResponse(f"/cook/{cook_id}/ledger?kind=looks", 303)


def _own_id(key: str, *said: object) -> str:
    """An id of what a form with this key has said: the same when it is sent again, another for another button of it."""
    if not key:
        return secrets.token_hex(12)
    return f"{key}-{hashlib.sha256(repr(said).encode()).hexdigest()[:16]}"


async def _save_events(visit: Visit, cook_id: str, events: Callable[[], list[EventIn]]) -> None:
    """Record what a form has sent, all of it or nothing."""
    app_state = visit.app_state

    def work() -> list[Any]:
        find_cook(app_state, cook_id)
        plan, ledger = app_state.live_cook(cook_id), app_state.following.ledger(cook_id)
        return entries_of(events(), plan, ledger, visit.visitor.person.name, visit.now)

    await record(app_state, cook_id, await run_in_threadpool(work))


@router.post("/cook/{cook_id}/acts")
async def record_acts(
    cook_id: CookId,
    visit: HandVisit,
    key: Annotated[str, Form(pattern=r"^[0-9a-f]{8,32}$")],
    on: Annotated[list[Annotated[str, Field(max_length=60)]], Form(max_length=MOST_ACTS)],
    what: Annotated[list[Annotated[str, Field(max_length=30)]], Form(max_length=MOST_ACTS)],
    value: Annotated[list[Annotated[str, Field(max_length=60)]], Form(max_length=MOST_ACTS)],
    to: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """What a what-if takes, done now: all its acts or none. The form's key makes their ids, so a second tap adds none.

    The same as the script sends, from a page without one.
    """
    now, recorded = visit.now, visit.app_state.recorded_at(cook_id)
    if not len(on) == len(what) == len(value):
        raise InputError("the acts of the form are not whole", "Load the page again and repeat it")

    def events() -> list[EventIn]:
        found = []
        for n, (of, act, how) in enumerate(zip(on, what, value, strict=True)):
            fields = {"id": f"{key}-{n}", "at": (recorded(f"{key}-{n}") or now).isoformat()}
            found.append(EventIn.model_validate({**fields, "kind": "act", "on": of, "what": act, "value": how}))
        return found

    await _save_events(visit, cook_id, events)
    return RedirectResponse(inside(to) if to else f"/cook/{cook_id}/plan", 303)


def _piece(form: FormData, plan: Cook, on: str) -> int | None:
    """The piece that was filled in on the item's panel, or that a job is about; None: all."""
    place = next((n for n, item in enumerate(plan.items) if item.label == on), -1)
    text = form.get(f"piece-{place}") or form.get("piece")
    return int(text) if isinstance(text, str) and text.isascii() and text.isdigit() and len(text) < 4 else None


def _plan(visit: CookVisit, template: str, **more: Any) -> Response:
    shown, clock, outlook = visit.shown, visit.clock, visit.shown.outlook
    if outlook is None:
        return visit.page(template, "plan", row=visit.row, outlook=None, shown=shown, **more)
    return visit.page(
        template,
        "plan",
        row=visit.row,
        outlook=outlook,
        shown=shown,
        hands=clock,
        trips=[trip_view(trip, outlook, clock, coming=n == 0) for n, trip in enumerate(outlook.trips)],
        courses=[(item, stage_views(item, clock)) for item in outlook.items],
        options=options_view(shown.what_ifs, shown.cook, clock),
        old_options=shown.what_ifs_seq != shown.seq,
        moved=_moved(outlook, shown.replanned, clock),
        retold=clock.retold,
        new_key=lambda: secrets.token_hex(10),
        **more,
    )


def _moved(outlook: Outlook, again: "Replanned | None", clock: ClockWords) -> tuple[str, ...]:
    """What has moved against the plan's own timetable; of a cook without one, what a new plan of the rest moves."""
    if any(task.planned_utc is not None for trip in outlook.trips for task in trip.tasks if task.until):
        return moved_lines(moved_words(outlook, clock), clock)
    return () if again is None else moved_lines(again.moved, clock)


@router.get("/cook/{cook_id}/plan")
def plan_page(visit: OfCook) -> Response:
    """The whole cook, what could be done now, and the plans before this one."""
    replaced = visit.app_state.store.replaced_plans(visit.row.id)
    return _plan(visit, "plan.html", earlier=[(each, visit.clock(each.replaced_utc)) for each in reversed(replaced)])


@router.get("/cook/{cook_id}/plan/part")
def plan_part(visit: OfCookAtOnce) -> Response:
    """The part of Plan that changes."""
    return _plan(visit, "plan_part.html")


@router.get("/cook/{cook_id}/ledger")
def ledger_page(
    visit: OfCookAtOnce,
    kind: Annotated[str, Query(max_length=20)] = "looks",
    on: Annotated[str, Query(max_length=60)] = "",
    before: Annotated[int, Query(ge=0, le=2**53)] = 0,
) -> Response:
    """Every entry, the latest first."""
    kinds = ("look", "act", "correction") if kind == "looks" else (kind,) if kind in KINDS else None
    found = visit.app_state.store.entries(
        visit.row.id, limit=PAGE_OF + 1, before_seq=before or None, kinds=kinds, on=on or None, newest_first=True
    )
    lines = list(lines_of(found[:PAGE_OF], visit.clock))
    cook = visit.shown.cook
    return visit.page(
        "ledger.html",
        row=visit.row,
        lines=lines,
        clashes=_clashes(visit),
        kind=kind,
        on=on,
        kinds=KINDS,
        labels=[*(item.label for item in cook.items), *(pit.label for pit in cook.pits)],
        older=lines[-1].seq if len(found) > PAGE_OF else 0,
    )


@router.get("/cook/{cook_id}/export.jsonl")
def export_jsonl(cook_id: CookId, visit: ViewerVisit) -> Response:
    """The cook and its whole ledger as one file."""
    find_cook(visit.app_state, cook_id)

    def lines() -> Iterator[str]:
        for line in visit.app_state.store.export_jsonl(cook_id):
            yield line if line.endswith("\n") else line + "\n"

    return StreamingResponse(lines(), media_type="application/jsonl", headers=taken_away(f"{cook_id}.jsonl"))


@router.get("/cook/{cook_id}/export.csv")
def export_csv(cook_id: CookId, visit: ViewerVisit) -> Response:
    """The ledger as a log that ``pitreckon reckon`` reads."""
    find_cook(visit.app_state, cook_id)
    text = visit.app_state.store.export_csv(cook_id, degrees=visit.preferences.degrees)
    return PlainTextResponse(text, media_type="text/csv", headers=taken_away(f"{cook_id}.csv"))
