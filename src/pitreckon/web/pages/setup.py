"""Set-up: make a cook by form, how one reads numbers, who may come in."""

from typing import Annotated, Any

import segno
from fastapi import APIRouter, Form
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.web.access.accounts import ROLE_NAMES, ROLE_WORDS, ROLES
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.network import is_own
from pitreckon.web.pages.visit import Filled, HandVisit, OwnerVisit, PlanText, ViewerVisit, Visit
from pitreckon.web.views.reader import DEGREES, HANDS, MASSES, THEMES, Preferences

router = APIRouter(include_in_schema=False)


def _page(visit: Visit, *, status: int = 200, **told: Any) -> Response:
    """Set-up. told: what was filled in and what is wrong with it, or what is shown this once."""
    owner = visit.visitor.may("owner")
    accounts = visit.app_state.accounts
    usual = {"paired": None, "token": None}
    return visit.page(
        "setup.html",
        status=status,
        cooks=visit.app_state.cooks(),
        people=accounts.people() if owner else [],
        devices=accounts.devices() if owner else [],
        crew=visit.app_state.live.crew.told(),
        crew_at=visit.app_state.settings.cluster,
        role_words=ROLE_WORDS,
        role_names=ROLE_NAMES,
        choices={"degrees": DEGREES, "mass": MASSES, "hands": HANDS, "theme": THEMES},
        **usual | told,
    )


@router.get("/setup")
def setup_page(visit: ViewerVisit) -> Response:
    """Cooks, oneself, and for the owner people and devices."""
    return _page(visit)


@router.post("/cook/{cook_id}/plan/text")
async def change_plan(cook_id: CookId, visit: HandVisit, plan: PlanText) -> Response:
    """Put another plan in its place. Raises InputError: it cannot be read, or lacks an item of the ledger."""
    app_state = visit.app_state
    text = plan.replace("\r\n", "\n")

    def work() -> None:
        find_cook(app_state, cook_id)
        cook = cook_from_text(text, "the plan")
        ledger = app_state.store.ledger(cook_id)
        known = {*(item.label for item in cook.items), *(pit.label for pit in cook.pits)}
        lost = sorted({event.on for event in ledger.events} - known)
        if lost:
            raise InputError(f"the ledger has entries about '{lost[0]}', which is not in this plan", "Keep its name")
        app_state.store.replace_plan(cook_id, text, visit.visitor.person.name)

    await run_in_threadpool(work)
    await app_state.live.replanned(cook_id)
    return RedirectResponse(f"/cook/{cook_id}/plan", 303)


@router.post("/setup/choose")
def choose(visit: ViewerVisit, cook: Annotated[str, Form(max_length=64)]) -> Response:
    """Which cook this person looks at."""
    return visit.go_to(find_cook(visit.app_state, cook))


@router.post("/setup/me")
def me(visit: ViewerVisit, form: Filled) -> Response:
    """How this person reads numbers."""
    given = {key: value for key, value in form.items() if isinstance(value, str)}
    visit.remember(**{key: value for key, value in Preferences.of(given).prefs.items() if key in given})
    return RedirectResponse("/setup#me", 303)


def base_of(visit: Visit) -> str:
    """Where a link begins that another phone can open: as was asked for, as this one came, or the machine's own."""
    settings, url, host = visit.app_state.settings, visit.request.url, visit.request.headers.get("host")
    if settings.public_url is None and host and not is_own(url.hostname or ""):
        return f"{url.scheme}://{host}"
    return settings.address if settings.phones_can or not host else f"{url.scheme}://{host}"


def qr_of(link: str) -> Markup:
    """A link as a picture that a phone's camera reads."""
    return Markup(segno.make(link, error="m").svg_inline(scale=5, border=3, dark="#000", light="#fff", omitsize=True))


@router.post("/setup/pairing")
def pairing(visit: OwnerVisit, role: Annotated[str, Form()] = "cook") -> Response:
    """A link for one phone."""
    if role not in ROLES:
        raise InputError(f"'{role[:20]}' is nobody's part", f"Choose one of: {', '.join(ROLES)}")
    link = f"{base_of(visit)}/pair/{visit.app_state.accounts.pairing(role)}"
    return _page(visit, paired={"link": link, "qr": qr_of(link), "may": ROLE_WORDS[role]})


@router.post("/setup/device")
def add_device(
    visit: OwnerVisit,
    label: Annotated[str, Form(max_length=60)],
    cook: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """A token for a device, shown once."""
    token = visit.app_state.accounts.put_device(label.strip(), cook or None)
    return _page(visit, token={"label": label.strip(), "token": token})


@router.post("/setup/device/{device_id}/revoke")
def revoke(visit: OwnerVisit, device_id: str) -> Response:
    """It may send no more."""
    visit.app_state.accounts.revoke(device_id)
    return RedirectResponse("/setup#devices", 303)


@router.post("/setup/person/{person_id}/drop")
def drop(visit: OwnerVisit, person_id: str) -> Response:
    """Somebody may come in no more."""
    if person_id == visit.visitor.person.id:
        raise RefusalError(403, "that would lock you out", "Log out instead")
    visit.app_state.accounts.drop_person(person_id)
    return RedirectResponse("/setup#people", 303)
