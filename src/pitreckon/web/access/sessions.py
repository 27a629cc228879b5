"""Who asks, and what they may: sessions for people, tokens for devices."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.ledger.store import Device, Person
from pitreckon.web.access.accounts import ROLE_NAMES, ROLES, SESSION_LASTS
from pitreckon.web.errors import RefusalError

if TYPE_CHECKING:
    from pitreckon.web.live.state import AppState

COOKIE: Final = "pitreckon"
KNOWN: Final = "pitreckon-known"
"""Of a browser that somebody has come in by. It opens nothing: its wrong passwords are counted by themselves."""
KNOWN_LASTS_S: Final = 400 * 86400
FORM_HEADER: Final = "X-Pitreckon-Form"
SAFE: Final = ("GET", "HEAD", "OPTIONS")
_PLATFORM: Final = re.compile(r"\(([^();]+(?:;[^();]+)?)")


@dataclass(frozen=True, slots=True)
class Visitor:
    """A person with a session.

    form_token: what their forms carry
    """

    person: Person
    session: str
    form_token: str

    def may(self, role: str) -> bool:
        """May they do what that role may?"""
        return ROLES.index(self.person.role) >= ROLES.index(role)


def app_state_of(request: Request) -> AppState:
    """The house that the request has come to."""
    app_state: AppState = request.app.state.app_state
    return app_state


def visitor_of(request: Request) -> Visitor | None:
    """Who asks, if they have a session here."""
    app_state = app_state_of(request)
    secret = app_state.seal.open(request.cookies.get(COOKIE, ""))
    person = None if secret is None else app_state.accounts.who(secret)
    if secret is None or person is None:
        return None
    request.state.spoken = person.prefs.get("language")  # a refusal is read by them too
    return Visitor(person, secret, app_state.seal.form_token(secret))


def same_origin(request: Request) -> None:
    """Refuse what a page of somebody else's makes a browser send. Raises RefusalError."""
    origin = request.headers.get("origin")
    ours = {request.headers.get("host")}
    public = app_state_of(request).settings.public_url
    if public is not None:  # a proxy before it may keep the name to itself that a browser has asked for
        ours.add(urlsplit(public).netloc)
    foreign = origin is not None and urlsplit(origin).netloc not in ours
    if foreign or request.headers.get("sec-fetch-site") in {"cross-site", "same-site"}:
        raise RefusalError(403, "this came from another site's page", "Do it on the page itself")


async def _form_token(request: Request) -> str:
    sent = request.headers.get(FORM_HEADER)
    kind = request.headers.get("content-type", "").partition(";")[0]
    if sent is None and kind in {"application/x-www-form-urlencoded", "multipart/form-data"}:
        field = (await request.form(max_files=1, max_fields=500)).get("form_token")
        sent = field if isinstance(field, str) else None
    return sent or ""


def need(role: str) -> Callable[[Request], object]:
    """A dependency: a session of that role, and for whatever changes something, its form's token."""

    async def door(request: Request) -> Visitor:
        if "authorization" in request.headers:
            raise RefusalError(403, "a device may only add readings", "Send them to /api/readings")
        visitor = await run_in_threadpool(visitor_of, request)
        if visitor is None:
            raise RefusalError(401, "nobody is logged in here", "Log in, or pair this phone with a link from the owner")
        if request.method not in SAFE:
            same_origin(request)
            if not app_state_of(request).seal.is_form_token(visitor.session, await _form_token(request)):
                raise RefusalError(403, "the form is not from this session", "Load the page again and repeat it")
        if not visitor.may(role):
            raise RefusalError(
                403,
                f"{_a(ROLE_NAMES[visitor.person.role])} may not do that",
                f"Ask the owner to make you {_a(ROLE_NAMES[role])}",
            )
        return visitor

    return door


def _a(role: str) -> str:
    return f"{'an' if role[0] == 'o' else 'a'} {role}"


def device_door(request: Request) -> Device:
    """A dependency: a device's token. Raises RefusalError."""
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    app_state = app_state_of(request)
    device = app_state.accounts.device_of(token.strip()) if kind.casefold() == "bearer" and token.strip() else None
    if device is None:  # only the wrong ones wait: a good probe may stand behind the same hub as a revoked one
        who = client_of(request)
        wait_s = app_state.tokens.wait_s(who)
        if wait_s:
            raise RefusalError(429, "too many wrong tokens from this address", "Wait, then use its own token", wait_s)
        if token:
            app_state.tokens.failed(who)
        raise RefusalError(
            401, "no device of this house has that token", "Send Authorization: Bearer and the device's token"
        )
    return device


def client_of(request: Request) -> str:
    """The address that a request came from, for counting its failures."""
    return request.client.host if request.client is not None else "?"


def guesser_of(request: Request, owner_id: str | None) -> str:
    """Whose wrong passwords these are: a browser's that the owner has come in by, else an address's."""
    known = app_state_of(request).seal.known(request.cookies.get(KNOWN, ""))
    return f"browser {known[1]}" if known is not None and known[0] == owner_id else f"address {client_of(request)}"


def browser_of(request: Request) -> str:
    """What a browser says it runs on, for the list of sessions."""
    said = _PLATFORM.search(request.headers.get("user-agent", ""))
    words = said[1] if said else ""
    return "".join(letter for letter in words if letter.isprintable())[:60]


def let_in(request: Request, response: Response, person: Person, secret: str) -> Response:
    """Give a browser its session, and let it be known again."""
    seal, secure = app_state_of(request).seal, _is_secure(request)
    known = request.cookies.get(KNOWN, "")
    there = seal.known(known)
    for name, value, lasts_s in (
        (COOKIE, seal.close(secret), int(SESSION_LASTS.total_seconds())),
        (KNOWN, known if there is not None and there[0] == person.id else seal.know(person.id), KNOWN_LASTS_S),
    ):
        response.set_cookie(name, value, max_age=lasts_s, httponly=True, samesite="lax", secure=secure, path="/")
    return response


def _is_secure(request: Request) -> bool:
    return request.url.scheme == "https" or app_state_of(request).settings.address.startswith("https:")


Viewer = Annotated[Visitor, Depends(need("viewer"))]
CookHand = Annotated[Visitor, Depends(need("cook"))]
Owner = Annotated[Visitor, Depends(need("owner"))]
Sender = Annotated[Device, Depends(device_door)]
