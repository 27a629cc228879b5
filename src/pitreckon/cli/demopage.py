"""The demo's end: the invented day once more on the live page, sixty times as fast."""

import contextlib
import os
import signal
import socket
import sys
import threading
import urllib.request
from datetime import timedelta
from pathlib import Path

import typer

from pitreckon.cli.demo import COOK_FILE
from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.units import format_clock
from pitreckon.web.serve import bound, serve
from pitreckon.web.settings import PORT, STATIC, Clock, Day, WebSettings

SPEED = 60.0
BEGINS = timedelta(hours=5)
"""Where in the day the replay begins: the butt is nearly wrapped, the racks are about to go on."""
SHOW_S = 8.0
"""How long the page stays up where nobody sits before it: long enough to see that it answers."""
ANSWERS_S = 120.0
"""How long it may take to answer: a machine that does much else is slow to begin."""
MEMBERS = 128
STORE = "day.sqlite"
TRIES = 20


def show_day(cook: Cook, day: Ledger, folder: Path) -> None:
    """Serve the page until told to end; where there is no terminal, for a moment."""
    if not STATIC.is_dir():
        typer.echo("The live page was not built (sh scripts/build_web.sh does it), so the demo ends here.")
        return
    store = folder / STORE
    for leftover in folder.glob(f"{STORE}*"):
        leftover.unlink()
    listening = _free_port()
    settings = WebSettings(
        store=str(store),
        port=listening.getsockname()[1],
        members=MEMBERS,
        clock=Clock(SPEED, shows=cook.start_utc + BEGINS),
        day=Day("demo", cook.name, COOK_FILE, day),
        tell=_tell,
    )
    begins = cook.start_utc + BEGINS
    clock = format_clock(begins, cook.zone_info, seen_from=begins)
    typer.echo(f"The same day on the live page, an hour a minute, from {clock} on.")
    if not sys.stdin.isatty():
        threading.Timer(SHOW_S, _look_and_end, (f"{settings.address}/health",)).start()
    with listening, contextlib.suppress(KeyboardInterrupt):
        serve(settings, listening)
    typer.echo("The page has ended.")


def _look_and_end(address: str) -> None:
    """Where nobody sits before it: does it answer? Then that is all; and if not, it ends all the same."""
    try:
        with urllib.request.urlopen(address, timeout=ANSWERS_S) as answer:  # our own page, on this machine
            typer.echo(f"Nobody is here to look; it answers ({answer.status}).")
    except OSError as fault:
        typer.echo(f"Nobody is here to look; it does not answer ({fault}).")
    finally:
        os.kill(os.getpid(), signal.SIGINT)


def _free_port() -> socket.socket:
    """A socket on the usual port, or on the next that nobody has."""
    for port in range(PORT, PORT + TRIES):
        with contextlib.suppress(InputError):
            return bound(WebSettings(store="", port=port))
    raise InputError(f"ports {PORT} to {PORT + TRIES - 1} are all taken", "End one of the programs that listen there")


def _tell(words: str) -> None:
    password, link = words.splitlines()
    typer.echo(f"Open {link}\n(or log in with the password {password}); Ctrl-C ends it.")
