"""Who is let in and from where, which devices send and when each was heard; each can be logged out or shut out."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from pitreckon.web.access.accounts import ROLE_WORDS
from pitreckon.web.access.secrets import digest
from pitreckon.web.errors import RefusalError
from pitreckon.web.pages.visit import OwnerVisit

router = APIRouter(include_in_schema=False)
COOKS: Final = 4
"""A device's last reading is looked for in so many of the latest cooks."""


@dataclass(frozen=True, slots=True)
class Seat:
    """A browser that somebody is logged in from. here: the one that asks"""

    id: str
    browser: str
    seen: str
    here: bool


@dataclass(frozen=True, slots=True)
class Guest:
    """Somebody who may come in. role: what they may; may_go: they can be sent away"""

    id: str
    name: str
    role: str
    seats: tuple[Seat, ...]
    may_go: bool


@dataclass(frozen=True, slots=True)
class Sender:
    """A device. goes_to: a cook's name, "": the one that is going on; heard: how long ago; waits: nobody's messages"""

    id: str
    label: str
    goes_to: str
    heard: str
    waits: int


@router.get("/people")
def people_page(visit: OwnerVisit) -> Response:
    """Everybody and every device."""
    accounts, here = visit.app_state.accounts, digest(visit.visitor.session)
    rows = visit.app_state.store.cooks()
    names = {row.id: row.name for row in rows}
    ids = [row.id for row in rows[:COOKS]]
    waits = {each.label: each.count for each in visit.app_state.whose.waiting()}
    guests = [
        Guest(
            person.id,
            person.name,
            visit.preferences.say(ROLE_WORDS[person.role]),
            tuple(
                Seat(each.id_hash, each.browser, _ago(visit, each.last_seen_utc), each.id_hash == here)
                for each in accounts.sessions(person)
            ),
            person.role != "owner" and person.id != visit.visitor.person.id,
        )
        for person in accounts.people()
    ]
    senders = []
    for device in accounts.devices():
        at = accounts.last_heard(device, ids)
        heard = "" if at is None else _ago(visit, at)
        senders.append(
            Sender(device.id, device.label, names.get(device.cook_id or "", ""), heard, waits.get(device.label, 0))
        )
    return visit.page("people.html", "setup", guests=guests, senders=senders)


def _ago(visit: OwnerVisit, at: datetime) -> str:
    """By the machine's own clock, which sessions and receipts are kept by: ``12 min ago``."""
    say, minutes = visit.preferences.say, int((visit.app_state.accounts.now() - at).total_seconds() // 60)
    if minutes < 1:
        return say("just now")
    if minutes < 90:
        return say("{span} ago", span=f"{minutes} min")
    return say("{span} ago", span=f"{minutes // 60} h" if minutes < 48 * 60 else f"{minutes // 1440} d")


@router.post("/people/{person_id}/out/{id_hash}")
def log_out(person_id: str, id_hash: str, visit: OwnerVisit) -> Response:
    """Log somebody out of one browser. Raises RefusalError: there is no such person."""
    person = next((each for each in visit.app_state.accounts.people() if each.id == person_id), None)
    if person is None:
        raise RefusalError(404, "there is nobody of that id", "Load the page again")
    visit.app_state.accounts.end_one(person, id_hash[:128])
    return RedirectResponse("/people", 303)
