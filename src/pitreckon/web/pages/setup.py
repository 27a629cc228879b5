"""Set-up: make a cook by form, how one reads numbers, who may come in."""

from __future__ import annotations

from typing import Annotated, Any, Final

import segno
from fastapi import APIRouter, Form, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from pitreckon import catalog
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_tables, cook_from_text
from pitreckon.errors import InputError
from pitreckon.forms.toml_write import Table, toml_text, typed
from pitreckon.web.access.accounts import ROLE_WORDS, ROLES
from pitreckon.web.access.sessions import CookHand, Owner, Viewer, Visitor, app_state_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.fields import clean, padded, rows_of, with_unit
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.cook import choose_cook, chosen_cook, frame
from pitreckon.web.views.reader import DEGREES, HANDS, MASSES, THEMES, Preferences

router = APIRouter(include_in_schema=False)
ITEM_KEYS: Final = ("name", "cut", "pieces", "weight", "put_on")
ROWS: Final = 3
COOK_KEYS: Final = ("name", "zone", "serve", "air", "altitude")


def _values(app_state: AppState, visitor: Visitor) -> dict[str, Any]:
    cooks = app_state.store.cooks()
    owner = visitor.may("owner")
    return frame(app_state, visitor, chosen_cook(visitor, cooks), "setup") | {
        "cooks": cooks,
        "people": app_state.accounts.people() if owner else [],
        "devices": app_state.accounts.devices() if owner else [],
        "role_words": ROLE_WORDS,
        "cuts": sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
        "pits": sorted(catalog.pits().values(), key=lambda pit: pit.name),
        "filled": {"cook": {}, "pit": {}, "items": padded((), ROWS)},
        "fault": None,
        "choices": {"degrees": DEGREES, "mass": MASSES, "hands": HANDS, "theme": THEMES},
        "paired": None,
        "token": None,
    }


@router.get("/setup")
def setup_page(request: Request, visitor: Viewer) -> Response:
    """Cooks, oneself, and for the owner people and devices."""
    app_state = app_state_of(request)
    return app_state.templates.TemplateResponse(request, "setup.html", _values(app_state, visitor))


def _filled(form: FormData) -> dict[str, Any]:
    """What was filled in, by its keys in a cook file; rows without a cut and a weight are left out."""
    rows = rows_of(form, "item", ITEM_KEYS)
    items = [row for row in rows if row["weight"] or row["put_on"] or row["name"]]
    for row in items:
        row["name"] = row["name"] or row["cut"].replace("-", " ")
    pit = {
        "name": clean(form.get("pit_name")) or "pit",
        "kind": clean(form.get("pit_kind")),
        "set": clean(form.get("pit_set")),
    }
    return {"cook": {key: clean(form.get(key)) for key in COOK_KEYS}, "pit": pit, "items": items}


def _tables(filled: dict[str, Any], preferences: Preferences) -> Table:
    """The tables of a cook file. A bare number is in the units that the form shows beside its field."""
    head = {**filled["cook"], "air": with_unit(filled["cook"]["air"], preferences.degrees)}
    pit = {**filled["pit"], "set": with_unit(filled["pit"]["set"], preferences.degrees)}
    items = [
        typed({**item, "weight": with_unit(item["weight"], preferences.mass)}, "pieces") for item in filled["items"]
    ]
    return {"cook": typed(head), "pit": [typed(pit)], "item": items}


@router.post("/setup/cook")
async def make_cook(request: Request, visitor: CookHand) -> Response:
    """Make a cook of what was filled in; when something is wrong, say what, and keep all that was typed."""
    app_state = app_state_of(request)
    filled = _filled(await request.form(max_fields=500))
    tables = _tables(filled, Preferences.of(visitor.person.prefs))
    try:
        cook = await run_in_threadpool(cook_from_tables, tables, "the form")
    except InputError as fault:
        values = await run_in_threadpool(_values, app_state, visitor)
        values |= {"filled": {**filled, "items": padded(filled["items"], ROWS)}, "fault": fault}
        return app_state.templates.TemplateResponse(request, "setup.html", values, 422)
    return await run_in_threadpool(_add, app_state, visitor, toml_text(tables), cook)


def _add(app_state: AppState, visitor: Visitor, text: str, cook: Cook) -> Response:
    row = app_state.store.add_cook(text, cook.name)
    choose_cook(app_state, visitor, row.id)
    return RedirectResponse(f"/cook/{row.id}/now", 303)


@router.post("/setup/text")
async def make_cook_of_text(
    request: Request, visitor: CookHand, plan: Annotated[str, Form(max_length=200_000)]
) -> Response:
    """Make a cook of a cook file's text."""
    app_state = app_state_of(request)
    text = plan.replace("\r\n", "\n")
    cook = await run_in_threadpool(cook_from_text, text, "the plan")
    return await run_in_threadpool(_add, app_state, visitor, text, cook)


@router.post("/cook/{cook_id}/plan/text")
async def change_plan(
    request: Request, cook_id: CookId, visitor: CookHand, plan: Annotated[str, Form(max_length=200_000)]
) -> Response:
    """Put another plan in its place. Raises InputError: it cannot be read, or lacks an item of the ledger."""
    app_state = app_state_of(request)
    text = plan.replace("\r\n", "\n")

    def work() -> None:
        find_cook(app_state, cook_id)
        cook = cook_from_text(text, "the plan")
        ledger = app_state.store.ledger(cook_id)
        known = {*(item.label for item in cook.items), *(pit.label for pit in cook.pits)}
        lost = sorted({event.on for event in ledger.events} - known)
        if lost:
            raise InputError(f"the ledger has entries about '{lost[0]}', which is not in this plan", "Keep its name")
        app_state.store.replace_plan(cook_id, text, visitor.person.name)

    await run_in_threadpool(work)
    await app_state.live.replanned(cook_id)
    return RedirectResponse(f"/cook/{cook_id}/plan", 303)


@router.post("/setup/choose")
def choose(request: Request, visitor: Viewer, cook: Annotated[str, Form(max_length=64)]) -> Response:
    """Which cook this person looks at."""
    app_state = app_state_of(request)
    row = find_cook(app_state, cook)
    choose_cook(app_state, visitor, row.id)
    return RedirectResponse(f"/cook/{row.id}/now", 303)


@router.post("/setup/me")
async def me(request: Request, visitor: Viewer) -> Response:
    """How this person reads numbers."""
    form = await request.form()
    given = {key: value for key, value in form.items() if isinstance(value, str)}
    changes = {key: value for key, value in Preferences.of(given).prefs.items() if key in given}
    await run_in_threadpool(app_state_of(request).accounts.merge_prefs, visitor.person, changes)
    return RedirectResponse("/setup#me", 303)


def qr_of(link: str) -> Markup:
    """A link as a picture that a phone's camera reads."""
    return Markup(segno.make(link, error="m").svg_inline(scale=5, border=3, dark="#000", light="#fff", omitsize=True))


@router.post("/setup/pairing")
async def pairing(request: Request, visitor: Owner, role: Annotated[str, Form()] = "cook") -> Response:
    """A link for one phone."""
    if role not in ROLES:
        raise InputError(f"'{role[:20]}' is nobody's part", f"Choose one of: {', '.join(ROLES)}")
    app_state = app_state_of(request)
    secret = await run_in_threadpool(app_state.accounts.pairing, role)
    host = request.headers.get("host")
    base = app_state.settings.public_url or (f"{request.url.scheme}://{host}" if host else app_state.settings.address)
    link = f"{base.rstrip('/')}/pair/{secret}"
    values = await run_in_threadpool(_values, app_state, visitor)
    values["paired"] = {"link": link, "qr": qr_of(link), "may": ROLE_WORDS[role]}
    return app_state.templates.TemplateResponse(request, "setup.html", values)


@router.post("/setup/device")
async def add_device(
    request: Request,
    visitor: Owner,
    label: Annotated[str, Form(max_length=60)],
    cook: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """A token for a device, shown once."""
    app_state = app_state_of(request)
    token = await run_in_threadpool(app_state.accounts.put_device, label.strip(), cook or None)
    values = await run_in_threadpool(_values, app_state, visitor)
    values["token"] = {"label": label.strip(), "token": token}
    return app_state.templates.TemplateResponse(request, "setup.html", values)


@router.post("/setup/device/{device_id}/revoke")
def revoke(request: Request, visitor: Owner, device_id: str) -> Response:
    """It may send no more."""
    app_state_of(request).accounts.revoke(device_id)
    return RedirectResponse("/setup#devices", 303)


@router.post("/setup/person/{person_id}/drop")
def drop(request: Request, visitor: Owner, person_id: str) -> Response:
    """Somebody may come in no more."""
    if person_id == visitor.person.id:
        raise RefusalError(403, "that would lock you out", "Log out instead")
    app_state_of(request).accounts.drop_person(person_id)
    return RedirectResponse("/setup#people", 303)
