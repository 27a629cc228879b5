"""The web application: ``make_app(settings)``."""

import asyncio
import json
import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context, select_autoescape
from jinja2.runtime import Context
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.templating import Jinja2Templates
from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

from pitreckon import __version__
from pitreckon.ledger.store import Store
from pitreckon.units import celsius_from_fahrenheit
from pitreckon.web import api, pages
from pitreckon.web import errors as faults
from pitreckon.web.access import login as entry
from pitreckon.web.access.accounts import OWNER, Accounts
from pitreckon.web.access.guard import Guard
from pitreckon.web.access.secrets import Passwords, Seal, new_password
from pitreckon.web.access.sessions import Viewer
from pitreckon.web.live.alerts import Teller
from pitreckon.web.live.alive import Alive, say_so
from pitreckon.web.live.channels import Inputs, Judges
from pitreckon.web.live.hiring import crew_of
from pitreckon.web.live.learner import Learner
from pitreckon.web.live.live import Live
from pitreckon.web.live.nights import copy_nightly
from pitreckon.web.live.replay import replay
from pitreckon.web.live.shelf import Shelf
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.visit import ViewerVisit
from pitreckon.web.settings import BODY_LIMIT, STATIC, TEMPLATES, WebSettings
from pitreckon.web.texts import texts_of

ROUTERS: Final = (entry.router, *pages.ROUTERS, api.router)
_FAHRENHEIT: Final = re.compile(r"(-?\d+(?:\.\d+)?) °F(?! cooler| hotter)")
NO_CACHE: Final = {"Cache-Control": "no-cache"}


def utc_now() -> datetime:
    """The machine's own time."""
    return datetime.now(UTC)


def make_app(settings: WebSettings) -> FastAPI:
    """The application. The store is opened when it starts, and closed when it ends.

    Raises StoreError, at its start: the store cannot be opened.
    """

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        with await asyncio.to_thread(Store.open, settings.store) as store:
            accounts = await asyncio.to_thread(Accounts, store, utc_now)
            shelf = Shelf(store)
            await asyncio.to_thread(shelf.of, "")  # read now, and not on the loop later
            teller = Teller(store, settings.settings_file, shelf)
            crew = await asyncio.to_thread(crew_of, settings)
            live = Live(store, settings, accounts.scales, teller, crew)
            passwords = Passwords(settings.argon_memory_kib)
            seal = Seal(await asyncio.to_thread(accounts.key))
            app.state.app_state = AppState(
                settings, store, accounts, seal, passwords, _templates(), live, Judges(store), shelf
            )
            await asyncio.to_thread(_first_start, app.state.app_state)
            await asyncio.to_thread(app.state.app_state.whose.restore, api.reader_of(app.state.app_state))
            channels = await _channels(app.state.app_state, teller)
            try:
                yield
            finally:
                await live.end()
                await app.state.app_state.jobs.end()
                await asyncio.gather(*channels, return_exceptions=True)

    app = FastAPI(
        title="Pitreckon",
        version=__version__,
        description="Readings in, outlooks out. A forecast is no promise of safety.",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
    )
    faults.install(app)
    for router in ROUTERS:
        app.include_router(router)
    _small_routes(app)
    if STATIC.is_dir():
        app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_middleware(Guard, most=BODY_LIMIT)
    if settings.proxies:  # nobody else's X-Forwarded-For and -Proto is looked at
        app.add_middleware(ProxyHeadersMiddleware, trusted_hosts=list(settings.proxies))
    return app


async def _channels(app_state: AppState, teller: Teller) -> list[asyncio.Task[None]]:
    """What runs beside the page: learning, a recorded day, signs of life; of a settings file its inputs and alerts."""
    settings, live = app_state.settings, app_state.live
    beside = [asyncio.create_task(app_state.shelf.keep_up(live.closing))]
    if settings.reckons:
        learner = Learner(app_state.store, live, settings, app_state.shelf)
        beside.append(asyncio.create_task(learner.run(live.closing)))
    if settings.alive is not None:
        sign = say_so(
            Alive(settings.alive),
            teller.outbox,
            app_state.store,
            app_state.live,
            settings.clock.now,
            app_state.live.closing,
        )
        beside.append(asyncio.create_task(sign))
    if settings.day is not None:
        beside.append(
            asyncio.create_task(replay(app_state.store, settings.day, settings.clock, app_state.live.closing))
        )
    if settings.backup is not None:
        copies = copy_nightly(app_state.store, settings.store, settings.backup, app_state.live.closing)
        beside.append(asyncio.create_task(copies))
    if settings.settings_file is None:
        return beside
    inputs = Inputs(app_state.store, app_state.judges, settings.clock, settings.settings_file, app_state.whose)
    cooks = await asyncio.to_thread(app_state.cooks)
    if cooks:
        await app_state.live.watched(cooks[0].id)
    return [*beside, asyncio.create_task(inputs.run(app_state.live.closing))]


def _first_start(app_state: AppState) -> None:
    """Make the owner when there is none yet, and say the password and a link for the owner's phone, once."""
    if app_state.accounts.owner() is not None or app_state.settings.tell is None:
        return
    password = new_password()
    app_state.accounts.set_owner(app_state.passwords.hash(password))
    link = f"{app_state.settings.address}/pair/{app_state.accounts.pairing(OWNER)}"
    app_state.settings.tell(f"{password}\n{link}")


def _templates() -> Jinja2Templates:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"asset": asset, "menu": pages.MENU, "_": _said_at_the_door, "spoken": _spoken}
    environment.filters |= {"found": _found, "refused": _refused}
    return Jinja2Templates(env=environment)


@pass_context
def _spoken(context: Context) -> str:
    """What the one who asks reads in."""
    return faults.spoken_by(context["request"])


@pass_context
def _found(context: Context, text: str) -> str:
    """A finished text, as why something was refused, in the language of the page."""
    preferences = context.get("preferences")
    say = texts_of(faults.spoken_by(context["request"])) if preferences is None else preferences.say
    return str(say.found(text))


@pass_context
def _refused(context: Context, text: str) -> str:
    """Why something was refused, in the language and the degrees of the page."""
    preferences = context.get("preferences")
    told = _found(context, text)
    if preferences is None or preferences.degrees == "F":
        return told
    return _FAHRENHEIT.sub(lambda found: preferences.temperature(celsius_from_fahrenheit(float(found[1]))), told)


@pass_context
def _said_at_the_door(context: Context, message: str, **values: object) -> str:
    """A message on a page of nobody's: the door, a link, a fault. All others have a person's own in its place."""
    return texts_of(_spoken(context))(message, **values)


def _manifest() -> dict[str, Any]:
    path = STATIC / ".vite" / "manifest.json"
    if not path.is_file():
        return {}
    built: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return built


def asset(kind: str) -> str:
    """The address of the built script or style; "" when the assets were not built."""
    built = _manifest().get("src/main.ts", {})
    name = built.get("file", "") if kind == "script" else (built.get("css") or [""])[0]
    return f"/static/{name}" if name else ""


def _small_routes(app: FastAPI) -> None:
    @app.get("/health", include_in_schema=False)
    def health() -> JSONResponse:
        return JSONResponse({"status": "up"})

    @app.get("/manifest.webmanifest", include_in_schema=False)
    def manifest() -> JSONResponse:
        icons = [{"src": "/static/icon.svg", "sizes": "any", "type": "image/svg+xml"}]
        colours = {"background_color": "#efe5d3", "theme_color": "#1d1a17"}
        page = {"name": "Pitreckon", "short_name": "Pitreckon", "start_url": "/", "display": "standalone"}
        return JSONResponse({**page, **colours, "icons": icons}, media_type="application/manifest+json")

    @app.get("/sw.js", include_in_schema=False)
    def service_worker() -> Response:
        path = STATIC / "sw.js"
        if not path.is_file():
            return JSONResponse(faults.body_of(404, "the page's script was not built", faults.REMEDIES[404]), 404)
        return FileResponse(path, media_type="text/javascript", headers=NO_CACHE)

    @app.get("/api/openapi.json", include_in_schema=False)
    def openapi(visitor: Viewer) -> JSONResponse:
        return JSONResponse(app.openapi())

    @app.get("/api", include_in_schema=False)
    def api_page(visit: ViewerVisit) -> Response:
        return visit.page("api.html", row=None, paths=app.openapi()["paths"])


def owner_of(store: str | Path, memory_kib: int) -> str:
    """Give the owner a new password, which is returned, and end every session of theirs."""
    password = new_password()
    with Store.open(store) as opened:
        Accounts(opened, utc_now).set_owner(Passwords(memory_kib).hash(password))
    return password
