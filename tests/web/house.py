"""A house for tests: a store in a folder of the test, a cook, and people at its doors."""

from __future__ import annotations

import asyncio
import atexit
import re
import shutil
import tempfile
import tomllib
import traceback
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, wraps
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from httpx import ASGITransport
from tests.patience import PATIENCE_S

import pitreckon
from pitreckon.ledger.store import Store
from pitreckon.text import toml
from pitreckon.web.app import make_app
from pitreckon.web.settings import Clock, WebSettings

NOW = datetime(2026, 10, 17, 21, 35, tzinfo=UTC)  # 16:35 in Chicago, five minutes after the wings of COOK
PLACE = "http://pit.test"


def settings(folder: Path, **changes: object) -> WebSettings:
    """A fresh store, cheap hashes, a clock that stands at the cook, and nobody who reckons."""
    told: list[str] = []
    shutil.copy(_empty_store(), folder / "ledger.sqlite")
    plain = {
        "store": str(folder / "ledger.sqlite"),
        "clock": Clock(1.0, datetime.now(UTC), NOW),
        "argon_memory_kib": 64,
        "reckons": False,
        "members": 16,
        "tell": told.append,
    }
    made = WebSettings(**{**plain, **changes})  # type: ignore[arg-type]
    TOLD[made.store] = told
    return made


PRODUCT = Path(pitreckon.__file__).parent
TOLD: dict[str, list[str]] = {}


@cache
def _empty_store() -> Path:
    """Made once: building a store takes longer than most tests."""
    path = Path(tempfile.mkdtemp()) / "ledger.sqlite"
    Store.open(path).close()
    atexit.register(shutil.rmtree, path.parent)
    return path


@dataclass
class Door:
    """A browser: its cookies, and the token that its forms carry."""

    client: httpx.AsyncClient
    token: str = ""

    async def get(self, path: str, **more: object) -> httpx.Response:
        return await self.client.get(path, headers={"Accept": "text/html", **more.pop("headers", {})}, **more)  # type: ignore

    async def post(self, path: str, data: dict[str, object] | None = None, **more: object) -> httpx.Response:
        form = {"form_token": self.token, **(data or {})}
        return await self.client.post(path, data=form, headers={"Accept": "text/html"}, **more)  # type: ignore

    async def there(self, path: str) -> str:
        """A page once what it has to wait for is there: it asks for itself again till then."""
        async with asyncio.timeout(PATIENCE_S):
            while 'data-again="3"' in (page := (await self.get(path)).text):
                await asyncio.sleep(0.2)
        return page

    async def send(self, path: str, body: object) -> httpx.Response:
        return await self.client.post(path, json=body, headers={"X-Pitreckon-Form": self.token})

    async def learn(self) -> None:
        """Read the token off a page, as a browser does."""
        page = await self.get("/setup")
        found = re.search(r'data-token="([0-9a-f]+)"', page.text)
        assert found, page.text[:300]
        self.token = found[1]


@dataclass
class Town:
    """A running app, and ways to its doors."""

    app: FastAPI
    password: str
    link: str

    @contextmanager
    def browser(self, address: str = "10.0.0.7") -> Iterator[Door]:
        transport = ASGITransport(app=self.app, client=(address, 50_000), raise_app_exceptions=False)
        yield Door(httpx.AsyncClient(transport=transport, base_url=PLACE))

    async def owner(self) -> Door:
        with self.browser() as door:
            answer = await door.client.post("/login", data={"password": self.password})
            assert answer.status_code == 303, answer.text
            await door.learn()
            return door

    async def somebody(self, role: str, name: str) -> Door:
        owner = await self.owner()
        page = await owner.post("/setup/pairing", {"role": role})
        (link,) = re.findall(r"<code>(http[^<]+/pair/[^<]+)</code>", page.text)
        with self.browser("10.0.0.8") as door:
            answer = await door.client.post(link, data={"name": name})
            assert answer.status_code == 303, answer.text
            await door.learn()
            return door


@asynccontextmanager
async def town(made: WebSettings) -> AsyncIterator[Town]:
    """The app from its start to its end; it keeps its loop free of the store and of files' texts all the while."""
    app = make_app(made)
    with off_the_loop() as on_it:
        async with app.router.lifespan_context(app):
            told = TOLD[made.store]
            password, link = told[0].splitlines() if told else ("", "")
            yield Town(app, password, link)
    assert not on_it, on_it


@contextmanager
def off_the_loop() -> Iterator[list[str]]:
    """Where the product asks the store, or takes a TOML text apart, in the thread of a running loop.

    That stops every page until a database far away has answered. What a test asks on its own loop is its own affair.
    """
    found: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        for name in ("read", "write", "append_soon"):
            patch.setattr(Store, name, _watched(getattr(Store, name), found))
        loads = _watched(tomllib.loads, found)
        patch.setattr(toml, "tomllib", SimpleNamespace(loads=loads, TOMLDecodeError=tomllib.TOMLDecodeError))
        yield found


def _watched(function: Callable[..., Any], found: list[str]) -> Callable[..., Any]:
    @wraps(function)
    def watched(*given: Any, **named: Any) -> Any:
        if asyncio._get_running_loop() is not None:
            frames = traceback.extract_stack()[:-1]
            own = [frame for frame in frames if not frame.filename.startswith(str(PRODUCT))]
            if not own[-1].filename.startswith(str(Path(__file__).parents[1])):
                path = " < ".join(frame.name for frame in reversed(frames[frames.index(own[-1]) + 1 :]))
                found.append(f"{function.__qualname__} < {path}")
        return function(*given, **named)

    return watched
