"""The front door: logging in, pairing a phone, logging out."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.web.access.accounts import ROLE_WORDS
from pitreckon.web.access.sessions import (
    COOKIE,
    Viewer,
    app_state_of,
    browser_of,
    client_of,
    guesser_of,
    let_in,
    same_origin,
    visitor_of,
)
from pitreckon.web.errors import RefusalError

router = APIRouter(include_in_schema=False)
ENDED: Final = "This phone is let in no more. Ask the owner for a new link."


def inside(to: str) -> str:
    """A path of this server, whatever was asked for."""
    return to if to.startswith("/") and not to.startswith(("//", "/\\")) and to.isprintable() else "/"


@router.get("/login")
async def login_page(request: Request, to: str = "/") -> Response:
    """Ask for the owner's password; of a phone that was let in once, say that it no longer is."""
    ended = COOKIE in request.cookies and await run_in_threadpool(visitor_of, request) is None
    values = {"to": inside(to), "fault": ENDED if ended else None}
    return app_state_of(request).templates.TemplateResponse(request, "login.html", values)


@router.post("/login")
async def login(
    request: Request, password: Annotated[str, Form(max_length=200)], to: Annotated[str, Form()] = "/"
) -> Response:
    """Let the owner in. Five failures from an address, or from a browser that the owner uses, and it waits."""
    same_origin(request)
    app_state = app_state_of(request)
    owner = await run_in_threadpool(app_state.accounts.owner)
    who = guesser_of(request, None if owner is None else owner.id)
    wait_s = app_state.logins.wait_s(who)
    if who.startswith("address"):  # strangers together may not keep the machine busy; the owner's browsers stand apart
        wait_s = max(wait_s, app_state.everyone.wait_s("all"))
    if wait_s:
        raise RefusalError(429, "too many wrong passwords", f"Wait {int(wait_s / 60) + 1} min, then try again", wait_s)
    kept = None if owner is None else owner.password_hash
    async with app_state.one_hash:
        right = await run_in_threadpool(app_state.passwords.matches, kept, password)
    if owner is None or not right:
        app_state.logins.failed(who)
        app_state.everyone.failed("all")
        fault = "That is not the owner's password. It was printed where the server was first started."
        return app_state.templates.TemplateResponse(request, "login.html", {"to": inside(to), "fault": fault}, 403)
    app_state.logins.forget(who)
    secret = await run_in_threadpool(app_state.accounts.begin, owner, browser_of(request))
    return let_in(request, RedirectResponse(inside(to), 303), owner, secret)


@router.post("/logout")
async def logout(request: Request, visitor: Viewer) -> Response:
    """End this session."""
    await run_in_threadpool(app_state_of(request).accounts.end, visitor.session)
    response = RedirectResponse("/login", 303)
    response.delete_cookie(COOKIE, path="/")
    return response


@router.get("/pair/{secret}")
async def pairing_page(request: Request, secret: str) -> Response:
    """Ask the phone's holder for a name. Opening the link alone uses nothing up: programs open links too."""
    app_state = app_state_of(request)
    with _only_so_often(request):
        role = await run_in_threadpool(app_state.accounts.pairing_role, secret)
    someone = await run_in_threadpool(visitor_of, request)
    values = {"role": role, "may": ROLE_WORDS[role], "secret": secret, "someone": someone}
    return app_state.templates.TemplateResponse(request, "pair.html", values)


@router.post("/pair/{secret}")
async def pair(request: Request, secret: str, name: Annotated[str, Form(max_length=60)] = "") -> Response:
    """Let the phone in and use the link up."""
    same_origin(request)
    app_state = app_state_of(request)
    with _only_so_often(request):
        person = await run_in_threadpool(app_state.accounts.pair, secret, name.strip() or "a phone")
    session = await run_in_threadpool(app_state.accounts.begin, person, browser_of(request))
    return let_in(request, RedirectResponse("/", 303), person, session)


@contextmanager
def _only_so_often(request: Request) -> Iterator[None]:
    """A link that is none is slowed, and counts for no password: a race for a link has losers who guessed nothing."""
    links, who = app_state_of(request).links, client_of(request)
    try:
        yield
    except RefusalError:
        wait_s = links.wait_s(who)
        links.failed(who)
        if wait_s:
            raise RefusalError(
                429, "too many links from this address that are none", "Wait, then open the right one", wait_s
            ) from None
        raise
