"""``pitreckon alerts``: what the cook should be told now, printed or sent."""

from dataclasses import replace
from typing import Annotated

import typer

from pitreckon.cli.options import (
    DEFAULT_MEMBERS,
    At,
    CookFile,
    Dates,
    Json,
    Log,
    Members,
    Seed,
    SetAside,
    Settings,
    Shown,
)


def alerts(
    cook_file: CookFile,
    log: Log = None,
    settings: Settings = None,
    at: At = None,
    members: Members = DEFAULT_MEMBERS,
    seed: Seed = 1,
    set_aside: SetAside = False,
    dates: Dates = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only show it: nothing is recorded or sent.")] = False,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """What the cook should be told at a moment: a window about to open, be back, a pit off its set, a lost probe."""
    from pitreckon.alerts import AlertSettings, due, read_alert_settings
    from pitreckon.cli.run import log_of, moment_of, read_plan, reckon_with_progress
    from pitreckon.errors import InputError, Place
    from pitreckon.ledger import Ledger
    from pitreckon.units import format_clock

    cook = read_plan(cook_file, degrees, log)
    ways = AlertSettings(cook) if settings is None else read_alert_settings(settings, cook)
    ways = replace(ways, scale=degrees)
    if not dry_run:
        if not ways.urls:
            raise InputError(
                "there is no address to send to",
                "Write urls under [alerts] and give the file with --settings, or print them with --dry-run",
                Place(None if settings is None else str(settings), field="urls"),
            )
        from pitreckon.alerts.send import check_urls  # loads every service that it knows

        check_urls(ways.urls)
    known = log_of(log, cook, set_aside=set_aside, dates=dates)
    now = None if at is None else moment_of(at, cook, known)
    outlook = reckon_with_progress(cook, known, now, members, seed)
    told = [each.written(degrees) for each in due(outlook, known or Ledger(), ways, outlook.now_utc, frozenset())]
    if not as_json:
        for alert in told:
            typer.echo(f"{alert.title}\n  {alert.text}")
        if not told:
            typer.echo(f"Nothing to tell at {format_clock(outlook.now_utc, cook.zone_info)}.")
    sent = None
    if not dry_run and told:
        from pitreckon.alerts.send import send

        sent = len(send(told, ways.urls))
        if not as_json:
            typer.echo(f"{sent} of {len(told)} sent.")
    if as_json:
        from pitreckon.cli.envelope import print_json

        messages = [
            {"kind": a.kind, "on": a.on, "title": a.title, "text": a.text, "at": a.at_utc, "keys": a.keys} for a in told
        ]
        print_json("alerts", {"cook": cook.name, "now": outlook.now_utc, "alerts": messages, "sent": sent})
    if sent is not None and sent < len(told):
        raise InputError("not every message went out", "Check the addresses and the network", Place(field="urls"))
