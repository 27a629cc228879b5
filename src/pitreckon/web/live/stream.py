"""Server-sent events: a page is told that there is something newer, and fetches it itself."""

import asyncio
import json
import time
from collections.abc import AsyncIterator
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.responses import StreamingResponse

from pitreckon.web.access.sessions import Visitor
from pitreckon.web.live.live import News, Watched
from pitreckon.web.live.state import AppState

BREATH_S: Final = 12.0
"""A line is sent at least this often, so that nobody between takes the stream for dead [s]."""
ASK_AGAIN_S: Final = 60.0
RETRY_MS: Final = 1500


def line_of(news: News) -> str:
    """One event as it goes over the wire."""
    return f"id: {news.seq}\nevent: {news.kind}\ndata: {json.dumps(news.data)}\n\n"


async def stream_of(app_state: AppState, cook_id: str, visitor: Visitor) -> StreamingResponse:
    """The stream of a cook. Ends when the server closes or the session does.

    Raises InputError: no such cook, or its plan cannot be read.
    """
    watched = await app_state.live.watched(cook_id)
    return StreamingResponse(
        _lines(app_state, watched, visitor),
        media_type="text/event-stream",
        headers={"X-Accel-Buffering": "no"},
    )


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
