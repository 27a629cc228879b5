"""``pitreckon serve``: the live page."""

import io
import logging
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Ledger


def serve(
    ledger: Ledger = None,
    host: Annotated[
        str, typer.Option(help="Where to listen: this machine alone, or 0.0.0.0 for your network.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="The port to listen on.")] = 8025,
    public_url: Annotated[
        str | None, typer.Option(metavar="URL", help="What a phone types to get here, for pairing links.")
    ] = None,
    settings: Annotated[
        Path | None,
        typer.Option(metavar="SETTINGS.toml", help="What comes in from a broker, and where alerts go."),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")] = 256,
    new_owner_password: Annotated[
        bool, typer.Option("--new-owner-password", help="Make a new owner's password first, and say it.")
    ] = False,
) -> None:
    """Serve the live page: what to do next and when, on any phone that you let in."""
    from pitreckon.errors import InputError, Place
    from pitreckon.intake.settings import top_of
    from pitreckon.ledger.store.place import usual_place
    from pitreckon.text.file import read_text
    from pitreckon.web.app import owner_of
    from pitreckon.web.serve import bound
    from pitreckon.web.serve import serve as serve_page
    from pitreckon.web.settings import STATIC, WebSettings

    logging.basicConfig(level=logging.WARNING, format="pitreckon: %(message)s")
    if not STATIC.is_dir():
        typer.echo("The page's script and style were not built: sh scripts/build_web.sh does it.", err=True)
    if public_url is not None and not public_url.startswith(("http://", "https://")):
        raise InputError(
            f"'{public_url}' is no address of a page",
            "Write it as in http://barn.lan:8025",
            Place(field="--public-url"),
        )
    page = WebSettings(
        store=ledger or usual_place(),
        host=host,
        port=port,
        public_url=public_url,
        settings_file=settings,
        members=members,
        tell=lambda words: _tell(words, phones_can=WebSettings("", host, port, public_url).phones_can),
    )
    if settings is not None:
        top_of(read_text(settings), str(settings))  # what is wrong with it is said before anything runs
    if new_owner_password:
        typer.echo(f"The owner's new password: {owner_of(page.store, page.argon_memory_kib)}")
    with bound(page) as listening:
        typer.echo(f"The page is at {page.address} (Ctrl-C ends it).")
        if not page.phones_can:
            typer.echo("Only this machine can open it; --host 0.0.0.0 lets the phones of your network in.")
        serve_page(page, listening)


def _tell(words: str, *, phones_can: bool) -> None:
    """The first start: said once, and kept nowhere. phones_can: open the link; a picture of it is for them alone."""
    import segno

    password, link = words.splitlines()
    typer.echo(f"\nThe owner's password, shown this once: {password}")
    if not phones_can:
        typer.echo(f"Or open this in a browser here within 15 minutes: {link}\n")
        return
    picture = io.StringIO()
    segno.make(link, error="m").terminal(picture, compact=True)
    typer.echo(f"Or open this on your phone within 15 minutes: {link}\n{picture.getvalue()}")
