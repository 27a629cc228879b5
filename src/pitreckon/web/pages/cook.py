"""The pages of a cook: Now, Look, Plan, Ledger."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from pydantic import Field
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import PlainTextResponse, RedirectResponse, Response, StreamingResponse

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger.store import CookRow, accounts
from pitreckon.ledger.store.records import KINDS
from pitreckon.reckon.words import CAUTION
from pitreckon.safety.foreseen import words_of
from pitreckon.web.access.login import inside
from pitreckon.web.access.sessions import CookHand, Viewer, Visitor, app_state_of
from pitreckon.web.api import CookId, find_cook, record
from pitreckon.web.forms.events import EventIn, entries_of
from pitreckon.web.live.live import Shown
from pitreckon.web.live.state import AppState
from pitreckon.web.live.stream import stream_of
from pitreckon.web.views.cook import line_view, now_view, option_views, stage_views, trip_view
from pitreckon.web.views.day import moved_lines
from pitreckon.web.views.look import panels
from pitreckon.web.views.reader import ClockWords, Preferences

router = APIRouter(include_in_schema=False)
FIRST_S: Final = 2.5
"""How long a page waits for the first outlook before it is shown without one [s]."""
PAGE_OF: Final = 100
RECENT: Final = 4
MOST_ACTS: Final = 8


def frame(app_state: AppState, visitor: Visitor, row: CookRow | None, page: str) -> dict[str, Any]:
    """What every page of somebody logged in needs."""
    preferences = Preferences.of(visitor.person.prefs)
    clock = app_state.settings.clock
    return {
        "visitor": visitor,
        "preferences": preferences,
        "cook": row,
        "page": page,
        "caution": CAUTION,
        "server_now": clock.now().isoformat(),
        "speed": clock.speed,
        "told": "" if row is None else app_state.live.told(row.id),
        "may_record": visitor.may("cook"),
    }


def chosen_cook(visitor: Visitor, cooks: Sequence[CookRow]) -> CookRow | None:
    """The cook that this person looked at last, else the latest made; None: there is none."""
    last = visitor.person.prefs.get("cook")
    return next((row for row in cooks if row.id == last), cooks[0] if cooks else None)


def choose_cook(app_state: AppState, visitor: Visitor, cook_id: str) -> None:
    """Remember which cook this person looks at."""
    app_state.accounts.merge_prefs(visitor.person, {"cook": cook_id})


def clock_for(shown: Shown, visitor: Visitor, now: datetime) -> ClockWords:
    """The clock of a page: an outlook's own moment, if there is one."""
    at = shown.outlook.now_utc if shown.outlook is not None else now
    return ClockWords(shown.cook.zone_info, at, Preferences.of(visitor.person.prefs))


def recent_lines(app_state: AppState, cook_id: str, clock: ClockWords) -> list[Any]:
    """The latest looks and acts, those taken back left out."""
    found = app_state.store.entries(cook_id, limit=RECENT * 3, kinds=("look", "act"), newest_first=True)
    return [line for line in (line_view(stored, clock) for stored in found) if not line.gone][:RECENT]


async def shown_of(app_state: AppState, cook_id: str, within_s: float = FIRST_S) -> tuple[CookRow, Shown]:
    """A cook and what is known of it."""
    row = await run_in_threadpool(find_cook, app_state, cook_id)
    return row, await app_state.live.first(cook_id, within_s)


async def _drawn(
    request: Request,
    cook_id: str,
    visitor: Visitor,
    page: str,
    values_of: Callable[[AppState, CookRow, Shown, Visitor], dict[str, Any]],
    *,
    part: bool = False,
) -> Response:
    """A page of a cook; or the part of it that changes, which waits for nothing."""
    app_state = app_state_of(request)
    row, shown = await shown_of(app_state, cook_id, 0.0 if part else FIRST_S)
    values = frame(app_state, visitor, row, page) | await run_in_threadpool(values_of, app_state, row, shown, visitor)
    return app_state.templates.TemplateResponse(request, f"{page}_part.html" if part else f"{page}.html", values)


@router.get("/")
def home(request: Request, visitor: Viewer) -> Response:
    """The cook that this person looked at last, else the latest made, else Set-up."""
    chosen = chosen_cook(visitor, app_state_of(request).store.cooks())
    return RedirectResponse(f"/cook/{chosen.id}/now" if chosen else "/setup", 303)


def _now_values(app_state: AppState, row: CookRow, shown: Shown, visitor: Visitor) -> dict[str, Any]:
    clock = clock_for(shown, visitor, app_state.settings.clock.now())
    view = None if shown.outlook is None else now_view(shown.outlook, clock)
    changes = shown.changes.get(clock.preferences.degrees) or next(iter(shown.changes.values()), ())
    behind = shown.outlook is not None and app_state.store.last_seq(row.id) != shown.seq
    return {
        "now": view,
        "shown": shown,
        "changes": changes,
        "behind": behind,
        "foreseen": [(each.label, *words_of(each, clock, clock.preferences.degrees)) for each in shown.foreseen],
        "recent": recent_lines(app_state, row.id, clock),
    }


@router.get("/cook/{cook_id}/now")
async def now_page(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """What to do next, and when."""
    return await _drawn(request, cook_id, visitor, "now", _now_values)


@router.get("/cook/{cook_id}/now/part")
async def now_part(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The part of Now that changes."""
    return await _drawn(request, cook_id, visitor, "now", _now_values, part=True)


@router.post("/cook/{cook_id}/seen")
async def seen(
    request: Request, cook_id: CookId, visitor: CookHand, key: Annotated[str, Form(min_length=1, max_length=200)]
) -> Response:
    """Somebody has seen an alert."""
    app_state = app_state_of(request)
    await run_in_threadpool(find_cook, app_state, cook_id)
    await run_in_threadpool(accounts.acknowledge, app_state.store, cook_id, key, visitor.person.name)
    await app_state.live.seen(cook_id, key)
    return RedirectResponse(f"/cook/{cook_id}/now", 303)


@router.get("/cook/{cook_id}/stream")
async def stream(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """What is new, as it comes."""
    app_state = app_state_of(request)
    await run_in_threadpool(find_cook, app_state, cook_id)
    return await stream_of(app_state, cook_id, visitor)


def _look_values(app_state: AppState, row: CookRow, shown: Shown, visitor: Visitor) -> dict[str, Any]:
    clock = clock_for(shown, visitor, app_state.settings.clock.now())
    views, chosen = panels(shown.cook, shown.outlook, clock.preferences)
    return {"panels": views, "chosen": chosen, "recent": recent_lines(app_state, row.id, clock)}


@router.get("/cook/{cook_id}/look")
async def look_page(request: Request, cook_id: CookId, visitor: Viewer, saved: str = "") -> Response:
    """Record a look or an act."""
    app_state = app_state_of(request)
    row, shown = await shown_of(app_state, cook_id)
    values = frame(app_state, visitor, row, "look") | {"saved": saved[:120]}
    values |= await run_in_threadpool(_look_values, app_state, row, shown, visitor)
    return app_state.templates.TemplateResponse(request, "look.html", values)


@router.get("/cook/{cook_id}/look/part")
async def look_part(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """What was recorded last, and what is next in each course."""
    return await _drawn(request, cook_id, visitor, "look", _look_values, part=True)


@router.post("/cook/{cook_id}/record")
async def record_form(
    request: Request,
    cook_id: CookId,
    visitor: CookHand,
    record_value: Annotated[str, Form(alias="record", max_length=200)],
    on: Annotated[str, Form(max_length=60)] = "",
    ago: Annotated[int, Form(ge=0, le=24 * 60)] = 0,
    to: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """The same as the script sends, from a page without one."""
    app_state = app_state_of(request)
    kind, what, value = [*record_value.split("|", 2), "", ""][:3]
    preferences = Preferences.of(visitor.person.prefs)
    clock = app_state.settings.clock
    form = await request.form()
    if value.startswith("spot-"):
        value = f"{form.get(value, '')} {preferences.degrees}"
    now = clock.now()
    at = datetime.fromtimestamp(now.timestamp() - ago * 60.0, now.tzinfo).isoformat()
    fields: dict[str, Any] = {"id": secrets.token_hex(12), "at": at}
    if kind == "correction":
        event = EventIn(**fields, kind="correction", of=what, note=value)
    else:
        number = _piece(form, await run_in_threadpool(app_state.live_cook, cook_id), on)
        event = EventIn(**fields, kind="act" if kind == "act" else "look", on=on, what=what, value=value, piece=number)

    await _save_events(app_state, cook_id, visitor, lambda: [event])
    return RedirectResponse(inside(to) if to else f"/cook/{cook_id}/look?saved=1", 303)


async def _save_events(
    app_state: AppState, cook_id: str, visitor: Visitor, events: Callable[[], list[EventIn]]
) -> None:
    """Record what a form has sent, all of it or nothing."""

    def work() -> list[Any]:
        find_cook(app_state, cook_id)
        plan, ledger = app_state.live_cook(cook_id), app_state.following.ledger(cook_id)
        return entries_of(events(), plan, ledger, visitor.person.name, app_state.settings.clock.now())

    await record(app_state, cook_id, await run_in_threadpool(work))


@router.post("/cook/{cook_id}/acts")
async def record_acts(
    request: Request,
    cook_id: CookId,
    visitor: CookHand,
    key: Annotated[str, Form(pattern=r"^[0-9a-f]{8,32}$")],
    on: Annotated[list[Annotated[str, Field(max_length=60)]], Form(max_length=MOST_ACTS)],
    what: Annotated[list[Annotated[str, Field(max_length=30)]], Form(max_length=MOST_ACTS)],
    value: Annotated[list[Annotated[str, Field(max_length=60)]], Form(max_length=MOST_ACTS)],
    to: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """What a what-if takes, done now: all its acts or none. The form's key makes their ids, so a second tap adds none.

    The same as the script sends, from a page without one.
    """
    app_state = app_state_of(request)
    now = app_state.settings.clock.now()
    recorded = app_state.recorded_at(cook_id)
    if not len(on) == len(what) == len(value):
        raise InputError("the acts of the form are not whole", "Load the page again and repeat it")

    def events() -> list[EventIn]:
        found = []
        for n, (of, act, how) in enumerate(zip(on, what, value, strict=True)):
            fields = {"id": f"{key}-{n}", "at": (recorded(f"{key}-{n}") or now).isoformat()}
            found.append(EventIn.model_validate({**fields, "kind": "act", "on": of, "what": act, "value": how}))
        return found

    await _save_events(app_state, cook_id, visitor, events)
    return RedirectResponse(inside(to) if to else f"/cook/{cook_id}/plan", 303)


def _piece(form: FormData, plan: Cook, on: str) -> int | None:
    """The piece that was filled in on the item's panel, if one was."""
    place = next((n for n, item in enumerate(plan.items) if item.label == on), -1)
    text = form.get(f"piece-{place}")
    return int(text) if isinstance(text, str) and text.isascii() and text.isdigit() and len(text) < 4 else None


def _plan_values(app_state: AppState, row: CookRow, shown: Shown, visitor: Visitor) -> dict[str, Any]:
    clock = clock_for(shown, visitor, app_state.settings.clock.now())
    outlook = shown.outlook
    if outlook is None:
        return {"outlook": None, "shown": shown, "plan": row.plan_toml}
    return {
        "outlook": outlook,
        "shown": shown,
        "hands": clock,
        "trips": [trip_view(trip, outlook, clock, coming=n == 0) for n, trip in enumerate(outlook.trips)],
        "courses": [(item, stage_views(item, clock)) for item in outlook.items],
        "options": option_views(shown.what_ifs, shown.cook, outlook, clock),
        "old_options": shown.what_ifs_seq != shown.seq,
        "moved": () if shown.replanned is None else moved_lines(shown.replanned.moved),
        "new_key": lambda: secrets.token_hex(10),
    }


@router.get("/cook/{cook_id}/plan")
async def plan_page(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The whole cook, and what could be done now."""
    return await _drawn(request, cook_id, visitor, "plan", _plan_values)


@router.get("/cook/{cook_id}/plan/part")
async def plan_part(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The part of Plan that changes."""
    return await _drawn(request, cook_id, visitor, "plan", _plan_values, part=True)


@router.get("/cook/{cook_id}/ledger")
async def ledger_page(
    request: Request,
    cook_id: CookId,
    visitor: Viewer,
    kind: Annotated[str, Query(max_length=20)] = "",
    on: Annotated[str, Query(max_length=60)] = "",
    before: Annotated[int, Query(ge=0, le=2**53)] = 0,
) -> Response:
    """Every entry, the latest first."""
    app_state = app_state_of(request)
    row, shown = await shown_of(app_state, cook_id, 0.0)
    clock = clock_for(shown, visitor, app_state.settings.clock.now())
    kinds = (kind,) if kind in KINDS else None

    def read() -> list[Any]:
        return app_state.store.entries(
            cook_id, limit=PAGE_OF + 1, before_seq=before or None, kinds=kinds, on=on or None, newest_first=True
        )

    found = await run_in_threadpool(read)
    lines = [line_view(stored, clock) for stored in found[:PAGE_OF]]
    values = {
        "lines": lines,
        "kind": kind,
        "on": on,
        "kinds": KINDS,
        "labels": [*(i.label for i in shown.cook.items), *(p.label for p in shown.cook.pits)],
        "older": lines[-1].seq if len(found) > PAGE_OF else 0,
    }
    return app_state.templates.TemplateResponse(
        request, "ledger.html", frame(app_state, visitor, row, "ledger") | values
    )


@router.get("/cook/{cook_id}/export.jsonl")
def export_jsonl(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The cook and its whole ledger as one file."""
    app_state = app_state_of(request)
    find_cook(app_state, cook_id)

    def lines() -> Iterator[str]:
        for line in app_state.store.export_jsonl(cook_id):
            yield line if line.endswith("\n") else line + "\n"

    head = {"Content-Disposition": f'attachment; filename="{cook_id}.jsonl"'}
    return StreamingResponse(lines(), media_type="application/jsonl", headers=head)


@router.get("/cook/{cook_id}/export.csv")
def export_csv(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The ledger as a log that ``pitreckon reckon`` reads."""
    app_state = app_state_of(request)
    find_cook(app_state, cook_id)
    text = app_state.store.export_csv(cook_id, degrees=Preferences.of(visitor.person.prefs).degrees)
    head = {"Content-Disposition": f'attachment; filename="{cook_id}.csv"'}
    return PlainTextResponse(text, media_type="text/csv", headers=head)
