"""What every request and every answer passes: a limit on bodies, and headers that shut side doors."""

import asyncio
import json
import time
from typing import Final

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pitreckon.web.errors import REMEDIES, body_of

POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data: blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=()",
}
PIECE_S: Final = 20.0
"""So long a body may say nothing [s]."""
BODY_S: Final = 120.0
"""So long all of it may take [s]; 4 MB come through a poor telephone line in that."""
_RAW: Final = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]


class Guard:
    """ASGI around the app.

    most: bytes of a body
    """

    def __init__(self, app: ASGIApp, most: int) -> None:
        self.app, self.most = app, most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        read, whole = 0, False
        until = time.monotonic() + BODY_S

        async def counted() -> Message:
            nonlocal read, whole
            message = await receive() if whole else await _in_time(receive, until)
            if message["type"] == "http.request":
                whole = not message.get("more_body", False)
                read += len(message.get("body", b""))
                if read > self.most:
                    raise HTTPException(413, self._words, {"Connection": "close"})
            return message

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                given = list(message.get("headers", []))
                has = {name.lower() for name, _ in given}
                given += [pair for pair in _RAW if pair[0] not in has]
                if b"cache-control" not in has:
                    given.append((b"cache-control", b"no-store"))
                message = {**message, "headers": given}
            await send(message)

        if _declared(scope) > self.most:
            await self._refuse(with_headers)
        else:
            await self.app(scope, counted, with_headers)

    @property
    def _words(self) -> str:
        return f"the body is larger than {self.most // 1024} kB"

    async def _refuse(self, send: Send) -> None:
        body = json.dumps(body_of(413, self._words, REMEDIES[413])).encode()
        headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": 413, "headers": [*headers, (b"connection", b"close")]})
        await send({"type": "http.response.body", "body": body})


async def _in_time(receive: Receive, until: float) -> Message:
    """The next piece of a body. Raises HTTPException: it does not come."""
    left_s = min(PIECE_S, until - time.monotonic())
    try:
        return await asyncio.wait_for(receive(), max(left_s, 0.0))
    except TimeoutError:
        raise HTTPException(408, "what was sent broke off", {"Connection": "close"}) from None


def _declared(scope: Scope) -> int:
    for name, value in scope["headers"]:
        if name == b"content-length" and value.isdigit():
            return int(value)
    return 0
