"""For programs: devices send readings; the page's own script sends looks and acts and fetches what it draws."""

import asyncio
from collections.abc import Sequence
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.intake.http import MOST_READINGS, ReadingIn, parse_readings
from pitreckon.intake.reading import Device as Sends
from pitreckon.ledger.store import CookRow, Entry, Receipt
from pitreckon.ledger.store.documents import document_of as event_document
from pitreckon.reckon.document import OutlookDocument, document_of
from pitreckon.web.access.sessions import CookHand, Sender, Viewer, app_state_of
from pitreckon.web.errors import Fault, RefusalError
from pitreckon.web.forms.events import EventsIn, entries_of
from pitreckon.web.live.channels import unit_of
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.state import AppState
from pitreckon.web.live.whose import Found, Parse, Raw, Reader
from pitreckon.web.views.chartstrips import chart_strips
from pitreckon.web.views.reader import Preferences

FAULTS: Final[dict[int | str, dict[str, Any]]] = {
    status: {"model": Fault, "description": words}
    for status, words in {
        400: "it cannot be read",
        401: "nobody is logged in, or the token is nobody's",
        403: "not with this session or token",
        404: "there is no such cook",
        413: "the body is too large",
        415: "the body is of the wrong type",
        422: "something in it is wrong",
        429: "too many failures",
        503: "the store cannot keep it",
    }.items()
}


def _link(operation: str, cook_id: str) -> dict[str, Any]:
    return {"operationId": operation, "parameters": {"cook_id": cook_id}}


_NAMES: Final = {"record": "add_events", "outlook": "outlook", "entries": "entries", "chart": "chart"}
OF_A_COOK: Final = {name: _link(operation, "$response.body#/0/id") for name, operation in _NAMES.items()} | {
    "send": {"operationId": "add_readings", "parameters": {"cook": "$response.body#/0/id"}}
}
"""Where one goes on with the id of a cook, in the words of OpenAPI."""
OF_THE_SAME: Final = {name: _link(operation, "$request.path.cook_id") for name, operation in _NAMES.items()}
router = APIRouter(prefix="/api", responses=FAULTS, generate_unique_id_function=lambda route: route.name)
CookId = Annotated[str, Path(min_length=1, max_length=64, pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")]
WAIT_FIRST_S: Final = 20.0


class ReceiptOut(BaseModel):
    """What became of one entry."""

    id: str = Field(description="as it was sent, or as it was made for it")
    seq: int = Field(description="its number in the cook's ledger")
    new: bool = Field(description="false: it had been sent before")


class ReceiptsOut(BaseModel):
    """What became of all entries of a request; all of them are kept for good."""

    receipts: list[ReceiptOut]
    aside: bool = Field(
        False, description="true: it is not clear whose readings they are; they wait an hour, and the pages ask"
    )


class CookOut(BaseModel):
    """A cook of the house."""

    id: str
    name: str
    last_seq: int = Field(description="number of its latest entry")


def find_cook(app_state: AppState, cook_id: str) -> CookRow:
    """A cook. Raises RefusalError: there is none of that id."""
    try:
        return app_state.store.cook(cook_id)
    except InputError as fault:
        raise RefusalError(404, fault.trouble, "Choose a cook under Set-up") from None


async def record(app_state: AppState, cook_id: str, entries: Sequence[Entry]) -> list[Receipt]:
    """Keep entries; returns when they are kept for good."""
    future = await run_in_threadpool(app_state.store.append_soon, cook_id, entries)
    return await asyncio.wrap_future(future)


def _receipts(receipts: Sequence[Receipt]) -> ReceiptsOut:
    made = [ReceiptOut(id=each.id, seq=each.seq, new=each.new) for each in receipts]
    return ReceiptsOut(receipts=made, aside=False)


def reader_of(app_state: AppState) -> Reader:
    """How devices' messages are read here."""

    def reader(label: str, raw: Raw) -> Parse:
        def parse(plan: Cook, row: CookRow) -> list[Entry]:
            sender = Sends(label, unit_of(app_state.settings.settings_file, plan, label))
            recorded, body = app_state.recorded_at(row.id), raw.body.encode("utf-8", "surrogateescape")
            entries = parse_readings(body, raw.kind, plan, sender, now_utc=raw.at_utc, recorded_at=recorded)
            return app_state.judges.judged(row.id, entries)

        return parse

    return reader


@router.post(
    "/readings",
    summary="Add readings, with a device's token",
    response_model=ReceiptsOut,
    responses={202: {"model": ReceiptsOut, "description": "no cook fits, or several do: the readings wait"}},
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {
                "application/json": {
                    "schema": {
                        "type": "object",
                        "required": ["readings"],
                        "properties": {
                            "readings": {
                                "type": "array",
                                "minItems": 1,
                                "maxItems": MOST_READINGS,
                                "items": ReadingIn.model_json_schema(),
                            }
                        },
                    }
                }
            },
        },
        "security": [{"device": []}],
    },
)
async def add_readings(
    request: Request,
    device: Sender,
    cook: Annotated[
        str | None,
        Query(max_length=64, description="id of the cook; left out: the device's, or the one going on"),
    ] = None,
) -> Any:
    """One reading, a list of them, or an object with ``readings``: all are taken, or none, and kept for good."""
    app_state = app_state_of(request)
    if device.cook_id is not None and cook not in {None, device.cook_id}:
        raise RefusalError(403, "this device belongs to another cook", "Leave the cook out")
    body = await request.body()
    kind = request.headers.get("content-type")
    if kind is None or "json" not in kind.casefold():
        raise RefusalError(415, "the message is not JSON", "Send it as Content-Type: application/json")
    raw = Raw(body.decode("utf-8", "surrogateescape"), kind, app_state.settings.clock.now())
    parse = reader_of(app_state)(device.label, raw)

    def work() -> Found | None:
        wanted = device.cook_id or cook
        if wanted is None:
            return app_state.whose.find(device.label, parse, raw)
        row = app_state.store.cook(wanted)
        return Found(row, parse(cook_of(row.plan_toml), row))

    found = await run_in_threadpool(work)
    if found is None:
        return JSONResponse(ReceiptsOut(receipts=[], aside=True).model_dump(), 202)
    return _receipts(await record(app_state, found.row.id, found.entries))


@router.post(
    "/cooks/{cook_id}/events",
    summary="Record looks, acts and corrections",
    responses={200: {"links": OF_THE_SAME}},
)
async def add_events(request: Request, cook_id: CookId, sent: EventsIn, visitor: CookHand) -> ReceiptsOut:
    """Kept in the order in which they are sent; all are taken, or none."""
    app_state = app_state_of(request)

    def work() -> list[Entry]:
        find_cook(app_state, cook_id)
        plan = app_state.live_cook(cook_id)
        return entries_of(
            sent.events, plan, app_state.following.ledger(cook_id), visitor.person.name, app_state.settings.clock.now()
        )

    return _receipts(await record(app_state, cook_id, await run_in_threadpool(work)))


@router.get("/cooks", summary="The cooks of the house", responses={200: {"links": OF_A_COOK}})
def list_cooks(request: Request, visitor: Viewer) -> list[CookOut]:
    """The latest made first."""
    return [CookOut(id=row.id, name=row.name, last_seq=row.last_seq) for row in app_state_of(request).store.cooks()]


@router.get("/cooks/{cook_id}/outlook", summary="The latest outlook")
async def outlook(request: Request, cook_id: CookId, visitor: Viewer) -> OutlookDocument:
    """As ``pitreckon reckon --json`` has it. Waits for the first one."""
    app_state = app_state_of(request)
    await run_in_threadpool(find_cook, app_state, cook_id)
    shown = await app_state.live.first(cook_id, WAIT_FIRST_S)
    if shown.outlook is None:
        raise RefusalError(503, shown.trouble or "the first outlook is not reckoned yet", "Ask again in a minute", 30.0)
    return document_of(shown.outlook)


@router.get("/cooks/{cook_id}/entries", summary="The ledger, entry by entry")
def entries(
    request: Request,
    cook_id: CookId,
    visitor: Viewer,
    after: Annotated[int, Query(ge=0, le=2**53, description="only those with a greater number")] = 0,
    limit: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> JSONResponse:
    """In the order in which they were taken in."""
    app_state = app_state_of(request)
    find_cook(app_state, cook_id)
    found = app_state.store.entries(cook_id, after, limit)
    return JSONResponse({"entries": [_entry(stored) for stored in found]})


def _entry(stored: Any) -> dict[str, Any]:
    event = stored.event
    of_id = getattr(event, "of_id", None)
    body = {"of": of_id, "why": event.why} if of_id is not None else event_document(event)
    return {"seq": stored.seq, "id": stored.id, "by": stored.by, "corrected_by": stored.corrected_by, "event": body}


@router.get("/cooks/{cook_id}/chart", summary="Temperatures, measured and reckoned")
async def chart(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """Measured points (thinned) and the reckoned bands, in degrees Celsius over seconds since 1970.

    Strips have, for each item, when its acts can be done, as chances, and what was done and seen.
    """
    app_state = app_state_of(request)
    await run_in_threadpool(find_cook, app_state, cook_id)
    shown = (await app_state.live.watched(cook_id)).shown
    measured = await run_in_threadpool(app_state.measured, cook_id)
    bands = [
        {"what": s.channel, "on": s.on, "at": s.at_s, "low": s.low_c, "mid": s.mid_c, "high": s.high_c}
        for s in shown.series
    ]
    now = shown.outlook.now_utc.timestamp() if shown.outlook is not None else None
    strips: list[dict[str, Any]] = []
    if shown.outlook is not None:
        ledger = await run_in_threadpool(app_state.following.ledger, cook_id)
        strips = chart_strips(shown.outlook, ledger, Preferences.of(visitor.person.prefs))
    whole = {"now": now, "zone": shown.cook.zone, "bands": bands, "measured": measured, "strips": strips}
    return JSONResponse(whole)
