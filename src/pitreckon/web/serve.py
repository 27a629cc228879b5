"""Running the application: a server that lets go of open streams when it is told to end."""

import socket
from types import FrameType
from typing import Final

import uvicorn
from fastapi import FastAPI

from pitreckon.errors import InputError, Place
from pitreckon.web.app import make_app
from pitreckon.web.settings import WebSettings

GRACE_S: Final = 2


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
    """The socket to listen on. Raises InputError: it is taken, or not this machine's."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((settings.host, settings.port))
    except OSError as fault:
        listening.close()
        raise InputError(
            f"cannot listen on {settings.host} port {settings.port}: {fault.strerror}",
            "Give another --port, or a --host that is this machine's",
            Place(field="--port"),
        ) from fault
    listening.set_inheritable(False)
    return listening


def serve(settings: WebSettings, listening: socket.socket | None = None) -> None:
    """Serve until told to end."""
    app = make_app(settings)
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=GRACE_S,
        server_header=False,
        proxy_headers=False,
    )
    Server(config, app).run(sockets=[listening or bound(settings)])
