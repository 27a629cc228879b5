"""What this house has learned: seen, argued with, forgotten."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Annotated, Any, Final, Literal
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Path
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon import catalog
from pitreckon.errors import InputError, PitreckonError, Place
from pitreckon.forms.checks import within
from pitreckon.ledger.store import house
from pitreckon.lessons.house.form import text_of_lessons
from pitreckon.lessons.house.said import ANOTHER, OFFSET, READS, SAME, THERMOMETER_KIND
from pitreckon.units import parse_difference
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.forms.fields import with_unit
from pitreckon.web.live.house import lessons_in
from pitreckon.web.live.plans import cook_of
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit, taken_away
from pitreckon.web.views.house import CookHere, PitHere, house_view

router = APIRouter(include_in_schema=False)
MOST_PLANS: Final = 60
MOST_OFF_K: Final = 150.0
MOST_GIVE_K: Final = 80.0
MOST_READ_K: Final = 20.0
"""A thermometer that is further off is broken."""
AHEAD: Final = timedelta(days=1)
LABEL: Final = 60
NOT_TYPED: Final = {"form": "", "pit": ""}

Pit = Annotated[str, Form(min_length=1, max_length=LABEL)]
Day = Annotated[str, Form(max_length=20)]


def _pits(visit: Visit) -> list[PitHere]:
    """Every pit of the latest plans, as the latest of them has it."""
    found: dict[str, PitHere] = {}
    for row in visit.app_state.store.cooks()[:MOST_PLANS]:
        try:
            cook = cook_of(row.plan_toml)
        except PitreckonError:
            continue
        for pit in cook.pits:
            if pit.kind in catalog.pits():
                found.setdefault(pit.label, PitHere(pit.label, pit.kind, cook.zone_info))
    return list(found.values())


def _cooks(visit: Visit, ids: set[str]) -> dict[str, CookHere]:
    found = {}
    for row in visit.app_state.store.cooks():
        if row.id in ids:
            try:
                found[row.id] = CookHere(row.name, cook_of(row.plan_toml).zone_info)
            except PitreckonError:
                continue
    return found


def _page(visit: Visit, fault: InputError | None = None, typed: dict[str, str] | None = None) -> Response:
    rows = house.house_rows(visit.app_state.store)
    cooks = _cooks(visit, {each.cook_id for each in rows.learned})
    me = visit.visitor.person.name if visit.visitor.may("cook") else ""
    view = house_view(rows, cooks, _pits(visit), visit.preferences, visit.now, me)
    status = 200 if fault is None else 422
    return visit.page("house.html", "setup", status=status, house=view, fault=fault, typed=NOT_TYPED | (typed or {}))


@router.get("/house")
def house_page(visit: ViewerVisit) -> Response:
    """What is believed of each pit and each meat, on what it rests, and what one can do about it."""
    return _page(visit)


@router.get("/house/lessons.json")
def lessons_file(visit: ViewerVisit) -> Response:
    """The lessons that count, as ``pitreckon reckon --lessons`` reads them."""
    text = text_of_lessons(lessons_in(house.house_rows(visit.app_state.store)))
    return Response(text, media_type="application/json", headers=taken_away("lessons.json"))


async def _changed(visit: Visit, where: str, work: Any, *args: Any) -> Response:
    """Do it, let cooks that go on know, and show the page."""
    await run_in_threadpool(work, visit.app_state.store, *args)
    await visit.app_state.live.house_changed()
    return RedirectResponse(f"/house#{where}", 303)


@router.post("/house/cooks/{cook_id}/{what}")
async def leave(cook_id: CookId, visit: HandVisit, what: Literal["out", "in"]) -> Response:
    """Leave a cook out, or take it in again."""
    await run_in_threadpool(find_cook, visit.app_state, cook_id)
    if what == "out":
        return await _changed(visit, "cooks", house.leave_out, cook_id, visit.visitor.person.name, datetime.now(UTC))
    return await _changed(visit, "cooks", house.take_in_again, cook_id)


@router.post("/house/pits/anew")
async def anew(visit: HandVisit, pit: Pit, since: Day = "") -> Response:
    """A pit is another one since a day."""
    try:
        at = await run_in_threadpool(_since, visit, pit, since)
    except InputError as fault:
        return await run_in_threadpool(_page, visit, fault, {"form": "anew", "pit": pit, "since": since})
    return await _changed(visit, "pits", house.start_anew, pit, at, visit.visitor.person.name, datetime.now(UTC))


@router.post("/house/pits/as-before")
async def as_before(visit: HandVisit, pit: Pit) -> Response:
    """It is the one that it was, after all."""
    return await _changed(visit, "pits", house.as_before, pit)


@router.post("/house/pits/same")
async def same(visit: HandVisit, pit: Pit, kind: Annotated[str, Form(max_length=100)]) -> Response:
    """Up to now it is the same pit, whatever its cooks seem to tell."""
    of, by, now = (pit, kind, SAME), visit.visitor.person.name, datetime.now(UTC)
    return await _changed(visit, "pits", house.say_of_pit, of, 0.0, 1.0, visit.now, by, now)


@router.post("/house/pits/say")
async def say(
    visit: HandVisit,
    pit: Pit,
    kind: Annotated[str, Form(max_length=100)],
    far: Annotated[str, Form(max_length=20)],
    give: Annotated[str, Form(max_length=20)],
    side: Annotated[Literal["over", "under"], Form()],
    since: Day = "",
) -> Response:
    """Say outright how far a pit's grate runs from its gauge."""
    scale = visit.preferences.degrees

    def read() -> tuple[float, float, datetime]:
        catalog.pit(kind)
        far_k, give_k = _apart("far", far, scale, 0.0, MOST_OFF_K), _apart("give", give, scale, 0.1, MOST_GIVE_K)
        return far_k, give_k, _since(visit, pit, since)

    try:
        far_k, give_k, at = await run_in_threadpool(read)
    except InputError as fault:
        typed = {"form": "say", "pit": pit, "far": far, "give": give, "side": side, "since": since}
        return await run_in_threadpool(_page, visit, fault, typed)
    over_k = far_k if side == "over" else -far_k
    of, by = (pit, kind, OFFSET), visit.visitor.person.name
    return await _changed(visit, "pits", house.say_of_pit, of, over_k, give_k, at, by, datetime.now(UTC))


@router.post("/house/thermometers/say")
async def say_of_thermometer(
    visit: HandVisit,
    whose: Pit,
    far: Annotated[str, Form(max_length=20)],
    give: Annotated[str, Form(max_length=20)],
    side: Annotated[Literal["high", "low"], Form()],
    since: Day = "",
) -> Response:
    """Say outright how far the thermometer of somebody reads off."""
    scale = visit.preferences.degrees

    def read() -> tuple[float, float, datetime]:
        far_k, give_k = _apart("far", far, scale, 0.0, MOST_READ_K), _apart("give", give, scale, 0.1, MOST_READ_K)
        return far_k, give_k, _since(visit, "", since)

    try:
        far_k, give_k, at = await run_in_threadpool(read)
    except InputError as fault:
        typed = {"form": "reads", "pit": whose, "far": far, "give": give, "side": side, "since": since}
        return await run_in_threadpool(_page, visit, fault, typed)
    over_k = far_k if side == "high" else -far_k
    of, by = (whose, THERMOMETER_KIND, READS), visit.visitor.person.name
    return await _changed(visit, "whose-hand", house.say_of_pit, of, over_k, give_k, at, by, datetime.now(UTC))


@router.post("/house/thermometers/another")
async def another_thermometer(visit: HandVisit, whose: Pit, since: Day = "") -> Response:
    """Somebody has another thermometer since a day."""
    try:
        at = await run_in_threadpool(_since, visit, "", since)
    except InputError as fault:
        return await run_in_threadpool(_page, visit, fault, {"form": "another", "pit": whose, "since": since})
    of, by = (whose, THERMOMETER_KIND, ANOTHER), visit.visitor.person.name
    return await _changed(visit, "whose-hand", house.say_of_pit, of, 0.0, 1.0, at, by, datetime.now(UTC))


@router.post("/house/said/{said_id}/drop")
async def unsay(visit: HandVisit, said_id: Annotated[str, Path(max_length=64)]) -> Response:
    """Take back what was said of a pit or a thermometer."""
    rows = await run_in_threadpool(house.house_rows, visit.app_state.store)
    of_thermometer = any(each.id == said_id and each.kind == THERMOMETER_KIND for each in rows.said)
    return await _changed(visit, "whose-hand" if of_thermometer else "pits", house.unsay, said_id)


def _apart(field: str, text: str, scale: str, low_k: float, high_k: float) -> float:
    """A difference as it is typed, in the reader's degrees [K]. Raises InputError."""
    try:
        found = parse_difference(f"+{with_unit(text.strip(), scale)}")
        within(field, found, low_k, high_k, "{:.0f} K".format)
    except InputError as fault:
        raise fault.put(Place(field=field)) from None
    return found


def _since(visit: Visit, pit: str, since: str) -> datetime:
    """The beginning of a day where the pit stands; today's where none is said. Raises InputError."""
    pits = _pits(visit)
    zone = next((each.zone for each in [*(e for e in pits if e.label == pit), *pits]), ZoneInfo("UTC"))
    day = since or visit.now.astimezone(zone).strftime("%Y-%m-%d")
    try:
        at = datetime.strptime(day, "%Y-%m-%d").replace(tzinfo=zone).astimezone(UTC)
    except (ValueError, OverflowError):
        raise InputError("that is no day", "Write it as in 2026-10-03").at(field="since") from None
    if at > visit.now + AHEAD or at.year < 1980:
        raise InputError("the day is ahead of now, or long ago", "Write a day up to today").at(field="since")
    return at
