"""Server-sent events: a page is told that there is something newer, and fetches it itself."""

import asyncio
import json
import time
from collections import Counter
from collections.abc import AsyncIterator, Callable
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse
from starlette.types import Receive, Scope, Send

from pitreckon.web.access.sessions import Visitor
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.state import AppState
from pitreckon.web.live.watched import News, Watched
from pitreckon.web.settings import STREAMS_EACH

BREATH_S: Final = 12.0
"""A line is sent at least this often, so that nobody between takes the stream for dead [s]."""
ASK_AGAIN_S: Final = 60.0
RETRY_MS: Final = 1500


def line_of(news: News) -> str:
    """One event as it goes over the wire."""
    return f"id: {news.seq}\nevent: {news.kind}\ndata: {json.dumps(news.data)}\n\n"


async def stream_of(app_state: AppState, cook_id: str, visitor: Visitor) -> StreamingResponse:
    """The stream of a cook. Ends when the server closes or the session does.

    Raises InputError: no such cook, or its plan cannot be read. RefusalError: this person has too many open.
    """
    watched = await app_state.live.watched(cook_id)
    open_here, person_id = app_state.streams, visitor.person.id
    if open_here[person_id] >= STREAMS_EACH:
        raise RefusalError(
            429, f"{STREAMS_EACH} pages of yours are open already", "Close some of them, then load this one again", 30.0
        )
    open_here[person_id] += 1
    return _Counted(
        _lines(app_state, watched, visitor),
        media_type="text/event-stream",
        headers={"X-Accel-Buffering": "no"},
        left=lambda: _left(open_here, person_id),
    )


def _left(open_here: Counter[str], person_id: str) -> None:
    open_here[person_id] -= 1
    if open_here[person_id] <= 0:
        del open_here[person_id]


class _Counted(StreamingResponse):
    """Says when it is over, however it ends: also when nobody has read a line of it."""

    def __init__(self, content: AsyncIterator[str], *, left: Callable[[], None], **more: Any) -> None:
        super().__init__(content, **more)
        self._left = left

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._left()


async def _hello(app_state: AppState, cook_id: str) -> News:
    """The server's time, and how far the news are: a page that was made before the latest of them asks again."""
    last_seq = await run_in_threadpool(app_state.store.last_seq, cook_id)
    clock = app_state.settings.clock
    data = {"now": clock.now().isoformat(), "speed": clock.speed, "told": app_state.live.told(cook_id)}
    return News("hello", data, last_seq)


async def _lines(app_state: AppState, watched: Watched, visitor: Visitor) -> AsyncIterator[str]:
    asked = time.monotonic()
    with app_state.live.listening(watched) as queue:
        yield f"retry: {RETRY_MS}\n" + line_of(await _hello(app_state, watched.cook_id))
        while not app_state.live.closing.is_set():
            try:
                news = await asyncio.wait_for(queue.get(), BREATH_S)
            except TimeoutError:
                news = await _hello(app_state, watched.cook_id)
            if news is None:
                break
            yield line_of(news)
            if time.monotonic() - asked > ASK_AGAIN_S:
                asked = time.monotonic()
                if await run_in_threadpool(app_state.accounts.who, visitor.session) is None:
                    return
        yield line_of(News("closing", {}))
