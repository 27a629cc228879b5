"""What could be done now, on the screen."""

import math
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from rich.console import Console

from pitreckon.cli.screen import print_hung
from pitreckon.cook import Cook
from pitreckon.reckon import Quantiles
from pitreckon.reckon.helping import SURER, WELL, Sifted, sifted, sooner_words, that_help
from pitreckon.reckon.whatif import ItemThen, Together, WhatIf
from pitreckon.reckon.words import CAUTION, colour_word
from pitreckon.units import (
    Scale,
    format_bulk,
    format_clock,
    format_percent,
    format_temperature,
    instant_after,
    round_half_up,
)

UNDONE = 0.8


WAITS: Final = 0.5
"""A supper that is likelier late than not may have to wait: then it is said till when it surely has to."""


def print_options(
    console: Console,
    cook: Cook,
    options: tuple[WhatIf, ...],
    now: datetime,
    degrees: Scale,
    together: Together,
    *,
    everything: bool = False,
) -> None:
    """What helps supper most, in a few lines; with ``everything`` all else by what it is done to."""
    found = sifted(options, cook)
    base = found.as_it_is
    console.print(f"[bold]What could be done at {format_clock(now, cook.zone_info, seen_from=now)}[/bold]")
    if base is not None:
        console.print(f"Left as it is: {_supper(base, cook, now)}.")
    well = base is not None and (base.on_time or 0.0) >= WELL
    if well and not found.helping:
        console.print("All is well as it is.")
    elif not found.helping and found.left:
        console.print("Nothing that can be done now helps supper: leave it as it is.")
    elif found.helping:
        console.print("What helps supper most:")
    for number, option in enumerate(found.helping, 1):
        assert base is not None
        console.print(f"\n[bold]{number}  {_what(option, degrees)}[/bold]: {_brings(option, base)}")
        for line in (*_steps(option, base), *([f"how: {option.how}"] if option.how else []), *_prices(option)):
            print_hung(console, line)
    if base is not None and base.on_time is not None and base.on_time < WAITS and together[1] is not None:
        half, sure = (None if at is None else format_clock(at, cook.zone_info, seen_from=now) for at in together[1:])
        end = "" if sure is None else f", by {sure} almost surely"
        console.print(f"\nIf supper can wait: left as it is, all of it is ready by {half} with even odds{end}.")
    if found.left and not everything:
        console.print(f"\nTried and bringing less: {found.left}; --all shows them.")
    if everything:
        _print_all(console, cook, found, now, degrees)
    console.print(f"\n{CAUTION}", style="dim")


def _print_all(console: Console, cook: Cook, found: Sifted, now: datetime, degrees: Scale) -> None:
    """Every meat as it is and under what was tried, by what that is done to."""
    base = found.as_it_is
    if base is not None:
        console.print(f"\n[bold]{base.what}[/bold]{_sums(base, degrees)}")
        for item in base.items:
            print_hung(console, f"{item.label}: {_item(item, cook, now)}")
    groups = ((("what helps most", found.helping),) if found.helping else ()) + found.rest
    for label, those in groups:
        console.print(f"\n[bold]{label}[/bold]")
        for option in those:
            console.print(f"  {_what(option, degrees)}{_sums(option, degrees)}")
            for item in option.items:
                if option.changes(item, base):
                    print_hung(console, f"{item.label}: {_item(item, cook, now)}", 5)
            details = [f"how: {option.how}"] if option.how else []
            for line in (*details, *(f"brings: {words}" for words in option.brings), *_prices(option)):
                print_hung(console, line, 5)


def _supper(option: WhatIf, cook: Cook, now: datetime) -> str:
    """How it comes out for all of supper."""
    words = []
    if option.on_time is not None:
        words.append(f"all ready, done and still good {format_percent(option.on_time)}")
    if option.all_ready[1] is not None:
        at = format_clock(option.all_ready[1], cook.zone_info, seen_from=now)
        words.append(f"all of it ready by {at} with even odds")
    return ", ".join(words) or "not ready in sight"


def _brings(option: WhatIf, base: WhatIf) -> str:
    """What it brings to supper."""
    words = [] if option.on_time is None else [format_percent(option.on_time)]
    return ", ".join([*words, *(each for each in (sooner_words(option, base),) if each)])


def _steps(option: WhatIf, base: WhatIf) -> list[str]:
    """Which meats come out otherwise, on one line: ``butt 44 to 80 %``."""
    pairs = zip(option.items, base.items, strict=True)
    moved = [
        f"{then.label} {format_percent(was.on_time).removesuffix(' %')} to {format_percent(then.on_time)}"
        for then, was in pairs
        if then.on_time is not None and was.on_time is not None and abs(then.on_time - was.on_time) >= SURER
    ]
    return [", ".join(moved)] if len(base.items) > 1 and moved else []


def _prices(option: WhatIf) -> list[str]:
    return [f"costs: {cost}" for cost in option.costs]


def document_of(
    cook: Cook, options: Sequence[WhatIf], now: datetime, members: int, seed: int, together: Together
) -> dict[str, Any]:
    """Every option for ``print_json``: SI, UTC instants, the best first."""
    helping = that_help(options)
    return {
        "cook": cook.name,
        "now": now,
        "members": members,
        "seed": seed,
        "options": [
            {
                "what": option.what,
                "on": option.on,
                "acts": [
                    {"at": a.at_utc, "on": a.on, "act": a.act, "detail": a.detail, "air_c": a.air_c}
                    for a in option.acts
                ],
                "on_time": option.on_time,
                "fuel_kg": option.fuel_kg,
                "moved_s": option.moved_s,
                "helps": option in helping,
                "all_ready": dict(zip(("p05", "p50", "p95"), option.all_ready, strict=True)),
                "how": option.how,
                "brings": option.brings,
                "costs": option.costs,
                "items": [_then_document(item) for item in option.items],
            }
            for option in options
        ],
        "all_ready": dict(zip(("p05", "p50", "p95"), together, strict=True)),
        "caution": CAUTION,
    }


def _then_document(item: ItemThen) -> dict[str, Any]:
    def at(seconds: float) -> datetime | None:
        return instant_after(item.outlook.put_on_utc, round(seconds, 3)) if math.isfinite(seconds) else None

    def spread(found: Quantiles) -> dict[str, float]:
        return {"p05": found.p05, "p50": found.p50, "p95": found.p95}

    ready = item.ready
    return {
        "item": item.label,
        "ready": {"p05": at(ready.p05), "p50": at(ready.p50), "p95": at(ready.p95), "reached": ready.reached},
        "on_time": item.on_time,
        "done": item.done,
        "colour": spread(item.colour),
        "loss_fraction": spread(item.loss),
    }


def _what(option: WhatIf, degrees: Scale) -> str:
    set_c = next((act.air_c for act in option.acts if act.act == "set pit"), None)
    if set_c is None:
        return option.what
    return f"{option.what}: set it to {format_temperature(set_c, degrees)}"


def _sums(option: WhatIf, degrees: Scale) -> str:
    words = []
    if option.on_time is not None:
        words.append(f"all ready, done and still good {format_percent(option.on_time)}")
    if option.moved:
        words.append(option.moved)
    if option.fuel_kg is not None:
        words.append(f"about {format_bulk(option.fuel_kg, 'lb' if degrees == 'F' else 'kg')} of fuel from now")
    return f"   {', '.join(words)}" if words else ""


def _item(item: ItemThen, cook: Cook, now: datetime) -> str:
    words = [f"ready {_window(item.ready, item, cook, now)}"]
    if item.on_time is not None:
        words.append(f"ready, done and still good {format_percent(item.on_time)}")
    if item.done < UNDONE and math.isfinite(item.ready.p50):
        words.append(f"but done only {format_percent(item.done)} likely")
    if math.isfinite(item.colour.p50):
        words.append(colour_word(item.colour.p50))
    if math.isfinite(item.loss.p50):
        words.append(f"{format_percent(item.loss.p50)} of its weight lost as water")
    return ", ".join(words)


def _window(quantiles: Quantiles, item: ItemThen, cook: Cook, now: datetime) -> str:
    if not math.isfinite(quantiles.p50):
        return "not in sight"

    def clock(seconds: float) -> str:
        if not math.isfinite(seconds):
            return ""
        at = instant_after(item.outlook.put_on_utc, round_half_up(seconds / 60.0) * 60.0)
        return format_clock(at, cook.zone_info, seen_from=now)

    low, middle, high = map(clock, (quantiles.p05, quantiles.p50, quantiles.p95))
    if not math.isfinite(quantiles.p95):
        return f"{middle}, {low} at the earliest"
    return middle if low == high else f"{middle} ({low} to {high})"
