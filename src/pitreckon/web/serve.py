"""Running the application: a server that lets go of open streams when it is told to end."""

import asyncio
import socket
import ssl
from pathlib import Path
from types import FrameType
from typing import Final

import h11
import uvicorn
from fastapi import FastAPI
from uvicorn.protocols.http.h11_impl import H11Protocol

from pitreckon.errors import InputError, Place
from pitreckon.web.app import make_app
from pitreckon.web.settings import WebSettings

GRACE_S: Final = 2
KEPT_S: Final = 20
"""How long a line that says nothing more is kept for the next request [s]: longer than most clients do."""
HEAD_S: Final = 10.0
"""How long a request's head may take to come [s]."""
BACKLOG: Final = 128
"""So many may wait to be let in; those beyond come again by themselves."""
CONNECTIONS: Final = 512
"""Beyond these a request is told to come again."""


class Patient(H11Protocol):
    """A connection that says nothing, or not all of a request's head, is closed; uvicorn alone would wait for ever."""

    _hurry: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Somebody is there."""
        super().connection_made(transport)
        self._hurry = self.loop.call_later(HEAD_S, self._give_up)

    def data_received(self, data: bytes) -> None:
        """Some of what they say."""
        super().data_received(data)
        waits = self.conn.their_state is h11.IDLE
        if not waits and self._hurry is not None:
            self._hurry.cancel()
            self._hurry = None
        elif waits and self._hurry is None:
            self._hurry = self.loop.call_later(HEAD_S, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        """They have gone."""
        if self._hurry is not None:
            self._hurry.cancel()
        super().connection_lost(exc)

    def _give_up(self) -> None:
        self._hurry = None
        if self.conn.their_state is h11.IDLE and not self.transport.is_closing():
            self.transport.close()


class Server(uvicorn.Server):
    """A server that ends its streams first; uvicorn alone would wait for them."""

    def __init__(self, config: uvicorn.Config, app: FastAPI) -> None:
        super().__init__(config)
        self._app = app

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal to end: uvicorn's own, and every stream's."""
        app_state = getattr(self._app.state, "app_state", None)
        if app_state is not None:
            app_state.live.hurry()
        super().handle_exit(sig, frame)


def bound(settings: WebSettings) -> socket.socket:
    """A socket that listens; whoever comes before the page is there waits a little.

    Raises InputError: the port is taken, or the address is not this machine's. It listens at once, because two programs
    may bind one port as long as neither does, and only the first would serve.
    """
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((settings.host, settings.port))
        listening.listen(BACKLOG)
    except OSError as fault:
        listening.close()
        raise InputError(
            f"cannot listen on {settings.host} port {settings.port}: {fault.strerror}",
            "Give another --port, or a --host that is this machine's",
            Place(field="--port"),
        ) from fault
    listening.set_inheritable(False)
    return listening


def check_certificate(certificate: Path, key: Path) -> None:
    """Raises InputError: the two cannot be read, or are not of each other."""
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key, password="")
    except (OSError, ValueError) as fault:  # ssl.SSLError is an OSError
        words = getattr(fault, "reason", None) or getattr(fault, "strerror", None) or fault
        raise InputError(
            f"the certificate cannot be used ({str(words).replace('_', ' ').lower()})",
            "Give --certificate and --key as PEM files that belong together, the key without a password",
            Place(str(certificate), field="--certificate"),
        ) from fault


def serve(settings: WebSettings, listening: socket.socket | None = None) -> None:
    """Serve until told to end."""
    app = make_app(settings)
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        backlog=BACKLOG,
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=GRACE_S,
        timeout_keep_alive=KEPT_S,
        server_header=False,
        proxy_headers=False,  # the application looks at them itself, from named proxies alone
        http=Patient,
        ws="none",
        limit_concurrency=CONNECTIONS,
        ssl_certfile=settings.certificate,
        ssl_keyfile=settings.key,
    )
    Server(config, app).run(sockets=[listening or bound(settings)])
