"""``pitreckon serve``: the live page."""

import io
import logging
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.kept import keep
from pitreckon.cli.options import Ledger, On, Settings, Workers


def serve(
    ledger: Ledger = None,
    host: Annotated[
        str, typer.Option(help="Where to listen: this machine alone, or 0.0.0.0 for your network.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="The port to listen on.")] = 8025,
    public_url: Annotated[
        str | None, typer.Option(metavar="URL", help="What a phone types to get here, for pairing links.")
    ] = None,
    trusted_proxy: Annotated[
        list[str] | None,
        typer.Option(metavar="ADDRESS", help="A proxy before it, or a network of them: believed whom it names."),
    ] = None,
    certificate: Annotated[
        Path | None, typer.Option(metavar="FILE.pem", help="Serve HTTPS with this certificate and its chain.")
    ] = None,
    key: Annotated[Path | None, typer.Option(metavar="FILE.pem", help="The certificate's private key.")] = None,
    settings: Settings = None,
    backup: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Keep a copy of the ledger there for each night, by turns.")
    ] = None,
    alive: Annotated[
        str | None,
        typer.Option(metavar="URL", help="Where a sign of life goes every five minutes, as long as all is well."),
    ] = None,
    members: Annotated[int, typer.Option(min=8, max=100_000, help="Size of the ensemble.")] = 256,
    workers: Workers = None,
    on: On = None,
    new_owner_password: Annotated[
        bool, typer.Option("--new-owner-password", help="Make a new owner's password first, and say it.")
    ] = False,
) -> None:
    """Serve the live page: what to do next and when, on any phone that you let in."""
    from pitreckon.errors import InputError, Place
    from pitreckon.extras import require
    from pitreckon.intake.settings import INPUTS, top_of
    from pitreckon.ledger.store.place import usual_place
    from pitreckon.text.file import read_text
    from pitreckon.web.app import owner_of
    from pitreckon.web.serve import bound, check_certificate
    from pitreckon.web.serve import serve as serve_page
    from pitreckon.web.settings import STATIC, WebSettings
    from pitreckon.web.whoreckons import who_reckons

    logging.basicConfig(level=logging.WARNING, format="pitreckon: %(message)s")
    if not STATIC.is_dir():
        typer.echo("The page's script and style were not built: sh scripts/build_web.sh does it.", err=True)
    if public_url is not None and not public_url.startswith(("http://", "https://")):
        raise InputError(
            f"'{public_url}' is no address of a page",
            "Write it as in http://barn.lan:8025",
            Place(field="--public-url"),
        )
    if (certificate is None) != (key is None):
        raise InputError(
            "a certificate needs its key, and a key its certificate",
            "Give both or neither",
            Place(field="--certificate"),
        )
    if certificate is not None and key is not None:
        check_certificate(certificate, key)
    kept = ledger or usual_place()
    reckons = who_reckons(settings, workers, on, kept)
    page = WebSettings(
        store=kept,
        host=host,
        port=port,
        public_url=public_url,
        proxies=tuple(_network(each) for each in trusted_proxy or ()),
        certificate=certificate,
        key=key,
        backup=backup,
        settings_file=settings,
        alive=alive,
        members=members,
        workers=reckons.workers,
        cluster=reckons.cluster,
        tell=lambda words: _tell(words, phones_can=WebSettings("", host, port, public_url).phones_can),
    )
    if settings is not None:
        top = top_of(read_text(settings), str(settings))  # what is wrong with it is said before anything runs
        for each in INPUTS:
            if each.library and top.table(each.table) is not None:
                require(each.library, f"[{each.table}] of {settings}")
    if alive is not None:
        from pitreckon.alerts.send import check_urls  # loads every service that it knows

        check_urls((alive,), "--alive")
    if new_owner_password:
        typer.echo(f"The owner's new password: {owner_of(page.store, page.argon_memory_kib)}")
    with bound(page) as listening:
        typer.echo(f"The page is at {page.address} (Ctrl-C ends it).")
        if not page.phones_can:
            typer.echo("Only this machine can open it; --host 0.0.0.0 lets the phones of your network in.")
        keep("all that was recorded")
        serve_page(page, listening)


def _network(given: str) -> str:
    """An address or a network, in its one form. Raises InputError: it is none."""
    from ipaddress import ip_address, ip_network

    from pitreckon.errors import InputError, Place

    try:
        return str(ip_network(given)) if "/" in given else str(ip_address(given))
    except ValueError:
        raise InputError(
            f"'{given[:60]}' is no address and no network",
            "Write it as in 192.168.1.10 or 10.0.0.0/8; every proxy on the way is named",
            Place(field="--trusted-proxy"),
        ) from None


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
