"""Who asks, and what they may: sessions for people, tokens for devices."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.ledger.store import Device, Person
from pitreckon.web.access.accounts import ROLES, SESSION_LASTS
from pitreckon.web.errors import RefusalError

if TYPE_CHECKING:
    from pitreckon.web.live.state import AppState

COOKIE: Final = "pitreckon"
FORM_HEADER: Final = "X-Pitreckon-Form"
SAFE: Final = ("GET", "HEAD", "OPTIONS")


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
    return Visitor(person, secret, app_state.seal.form_token(secret))


def same_origin(request: Request) -> None:
    """Refuse what a page of somebody else's makes a browser send. Raises RefusalError."""
    origin = request.headers.get("origin")
    foreign = origin is not None and urlsplit(origin).netloc != request.headers.get("host")
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
            raise RefusalError(403, f"a {visitor.person.role} may not do that", f"Ask the owner to make you {_a(role)}")
        return visitor

    return door


def _a(role: str) -> str:
    return f"{'an' if role == 'owner' else 'a'} {role}"


def device_door(request: Request) -> Device:
    """A dependency: a device's token. Raises RefusalError."""
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    app_state = app_state_of(request)
    who = client_of(request)
    wait_s = app_state.tokens.wait_s(who)
    if wait_s:
        raise RefusalError(429, "too many wrong tokens from this address", "Wait, then use its own token", wait_s)
    device = app_state.accounts.device_of(token.strip()) if kind.casefold() == "bearer" and token.strip() else None
    if device is None:
        if token:
            app_state.tokens.failed(who)
        raise RefusalError(
            401, "no device of this house has that token", "Send Authorization: Bearer and the device's token"
        )
    return device


def client_of(request: Request) -> str:
    """The address that a request came from, for counting its failures."""
    return request.client.host if request.client is not None else "?"


def let_in(request: Request, response: Response, secret: str) -> Response:
    """Give a browser its session."""
    response.set_cookie(
        COOKIE,
        app_state_of(request).seal.close(secret),
        max_age=int(SESSION_LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https" or app_state_of(request).settings.address.startswith("https:"),
        path="/",
    )
    return response


Viewer = Annotated[Visitor, Depends(need("viewer"))]
CookHand = Annotated[Visitor, Depends(need("cook"))]
Owner = Annotated[Visitor, Depends(need("owner"))]
Sender = Annotated[Device, Depends(device_door)]
