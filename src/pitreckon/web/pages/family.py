"""A link for the family: it shows Now of one cook to whoever has it, records nothing, and ends with the day.

The link carries the cook and its end, signed; nothing of it is kept, and it opens nothing else.
"""

import hashlib
from datetime import UTC, datetime, timedelta
from typing import Annotated, Final

from fastapi import APIRouter, Form, Path, Request
from itsdangerous import BadSignature, Signer
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.ledger.store import Person
from pitreckon.web.access.sessions import Visitor, app_state_of
from pitreckon.web.api import find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.cook import now_values
from pitreckon.web.pages.setup import base_of, qr_of
from pitreckon.web.pages.visit import CookVisit, OwnerVisit

router = APIRouter(include_in_schema=False)
AFTER: Final = timedelta(hours=12)
"""A link ends so long after serving: with the day."""
Link = Annotated[str, Path(max_length=300)]


def _signer(app_state: AppState) -> Signer:
    return Signer(app_state.accounts.key(), salt="pitreckon family", digest_method=hashlib.sha256)


@router.post("/setup/family")
def make_link(visit: OwnerVisit, cook: Annotated[str, Form(max_length=64)]) -> Response:
    """A link to a cook for the family, and its picture."""
    row = find_cook(visit.app_state, cook)
    plan = cook_of(row.plan_toml)
    ends = max(plan.serve_utc or plan.start_utc + AFTER, visit.now) + AFTER
    signed = _signer(visit.app_state).sign(f"{row.id}|{int(ends.timestamp())}").decode()
    link = f"{base_of(visit)}/family/{signed}"
    words = visit.preferences.say("sees Now of {name} until the day is over, and records nothing", name=row.name)
    return visit.page("link.html", "setup", link=link, qr=qr_of(link), may=words)


@router.get("/family/{link}")
async def family(request: Request, link: Link) -> Response:
    """Now of the cook. Raises RefusalError: the link is nobody's, or its day is over."""
    app_state = app_state_of(request)
    now = app_state.settings.clock.now()
    key = await run_in_threadpool(_signer, app_state)
    try:
        cook_id, _, until = key.unsign(link).decode().partition("|")
        ends = datetime.fromtimestamp(int(until), UTC)
    except (BadSignature, ValueError, UnicodeDecodeError):
        raise RefusalError(401, "this link opens nothing", "Ask whoever sent it for a new one") from None
    if now > ends:
        raise RefusalError(410, "this link ended with its day", "Ask whoever sent it for a new one")
    row = await run_in_threadpool(find_cook, app_state, cook_id)
    owner = await run_in_threadpool(app_state.accounts.owner)
    person = Person("", "family", "viewer", "", {} if owner is None else dict(owner.prefs))
    shown = await app_state.live.first(row.id, 2.5)
    visit = CookVisit(request, Visitor(person, "", ""), row, shown)
    return await run_in_threadpool(lambda: visit.page("family.html", "now", row=row, **now_values(visit)))
