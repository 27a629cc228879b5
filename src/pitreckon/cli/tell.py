"""The work behind ``pitreckon alerts``: what the cook should be told now, printed or sent."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import typer

from pitreckon.alerts import AlertSettings, due, read_alert_settings
from pitreckon.cli.run import moment_of, reckon_with_progress
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import read_log
from pitreckon.units import format_clock


def tell(
    cook_file: Path,
    log_file: Path | None,
    settings_file: Path | None,
    at: str | None,
    members: int,
    seed: int,
    set_aside: bool,
    degrees: Literal["F", "C"],
    dry_run: bool,
) -> None:
    """Reckon, and print or send what is due.

    Raises InputError: something in a file is wrong, or there is no address to send to.
    """
    cook = read_cook(cook_file)
    settings = AlertSettings(cook) if settings_file is None else read_alert_settings(settings_file, cook)
    settings = replace(settings, scale=degrees)
    if not dry_run:
        if not settings.urls:
            raise InputError(
                "there is no address to send to",
                "Write urls under [alerts] and give the file with --settings, or print them with --dry-run",
                Place(None if settings_file is None else str(settings_file), field="urls"),
            )
        from pitreckon.alerts.send import check_urls  # noqa: PLC0415  loads every service that it knows

        check_urls(settings.urls)
    ledger = None if log_file is None else read_log(log_file, cook, set_aside=set_aside)
    now = None if at is None else moment_of(at, cook, ledger)
    outlook = reckon_with_progress(cook, ledger, now, members, seed)
    alerts = due(outlook, ledger or Ledger(), settings, outlook.now_utc, frozenset())
    for alert in alerts:
        typer.echo(f"{alert.title}\n  {alert.text}")
    if not alerts:
        typer.echo(f"Nothing to tell at {format_clock(outlook.now_utc, cook.zone_info)}.")
    if dry_run or not alerts:
        return
    from pitreckon.alerts.send import send  # noqa: PLC0415

    sent = send(alerts, settings.urls)
    typer.echo(f"{len(sent)} of {len(alerts)} sent.")
    if len(sent) < len(alerts):
        raise InputError("not every message went out", "Check the addresses and the network", Place(field="urls"))
