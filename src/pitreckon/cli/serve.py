"""The work behind ``pitreckon serve``: the live page."""

from __future__ import annotations

import io
import logging
from pathlib import Path

import segno
import typer

from pitreckon.errors import InputError, Place
from pitreckon.intake.settings import top_of
from pitreckon.ledger.store.place import usual_place
from pitreckon.text.file import read_text
from pitreckon.web.app import owner_of
from pitreckon.web.serve import bound, serve
from pitreckon.web.settings import LOOPBACK, STATIC, WebSettings


def serve_page(
    store: str | None,
    host: str,
    port: int,
    public_url: str | None,
    settings_file: Path | None,
    members: int,
    new_owner_password: bool,
) -> None:
    """Say where the page is, and serve it until told to end."""
    logging.basicConfig(level=logging.WARNING, format="pitreckon: %(message)s")
    if not STATIC.is_dir():
        typer.echo("The page's script and style were not built: sh scripts/build_web.sh does it.", err=True)
    if public_url is not None and not public_url.startswith(("http://", "https://")):
        raise InputError(
            f"'{public_url}' is no address of a page",
            "Write it as in http://barn.lan:8025",
            Place(field="--public-url"),
        )
    settings = WebSettings(
        store=store or usual_place(),
        host=host,
        port=port,
        public_url=public_url,
        settings_file=settings_file,
        members=members,
        tell=_tell,
    )
    if settings_file is not None:
        top_of(read_text(settings_file), str(settings_file))  # what is wrong with it is said before anything runs
    if new_owner_password:
        typer.echo(f"The owner's new password: {owner_of(settings.store, settings.argon_memory_kib)}")
    with bound(settings) as listening:
        typer.echo(f"The page is at {settings.address} (Ctrl-C ends it).")
        if host == LOOPBACK:
            typer.echo("Only this machine can open it; --host 0.0.0.0 lets the phones of your network in.")
        serve(settings, listening)


def _tell(words: str) -> None:
    """The first start: said once, and kept nowhere."""
    password, link = words.splitlines()
    picture = io.StringIO()
    segno.make(link, error="m").terminal(picture, compact=True)
    typer.echo(
        f"\nThe owner's password, shown this once: {password}\n"
        f"Or open this on your phone within 15 minutes: {link}\n{picture.getvalue()}"
    )
