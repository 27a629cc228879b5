"""What could be done now, on the screen."""

import math
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from rich.console import Console

from pitreckon.cli.screen import print_hung
from pitreckon.cook import Cook
from pitreckon.reckon import Quantiles
from pitreckon.reckon.whatif import LEAVE, ItemThen, WhatIf
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


WELL: Final = 0.9
"""With so much chance, and nothing that helps more, nothing need be done."""
WAITS: Final = 0.5
"""A supper that is likelier late than not may have to wait: then it is said till when."""
Together = Sequence[datetime | None]
"""When all of it is ready with 5, 50 and 95 % if it is left as it is."""


def print_options(
    console: Console, cook: Cook, options: tuple[WhatIf, ...], now: datetime, degrees: Scale, together: Together
) -> None:
    """Every option in words, the best first."""
    console.print(f"[bold]What could be done at {format_clock(now, cook.zone_info, seen_from=now)}[/bold], best first")
    base = next((option for option in options if option.what == LEAVE), None)
    if base is not None and options[0] is base and (base.on_time or 0.0) >= WELL:
        console.print("All is well as it is.")
    for number, option in enumerate(options, 1):
        console.print(f"\n[bold]{number}  {_what(option, degrees)}[/bold]{_sums(option, degrees)}")
        for item in option.items:
            if not option.changes(item, base):
                continue
            print_hung(console, f"{item.label}: {_item(item, cook, now)}")
        if option.how:
            print_hung(console, f"how: {option.how}")
        for brought in option.brings:
            print_hung(console, f"brings: {brought}")
        for cost in option.costs:
            print_hung(console, f"costs: {cost}")
    if base is not None and base.on_time is not None and base.on_time < WAITS and together[1] is not None:
        half, sure = (None if at is None else format_clock(at, cook.zone_info, seen_from=now) for at in together[1:])
        end = "" if sure is None else f", by {sure} almost surely"
        console.print(f"\nIf supper can wait: left as it is, all of it is ready by {half} with even odds{end}.")
    console.print(f"\n{CAUTION}", style="dim")


def document_of(
    cook: Cook, options: Sequence[WhatIf], now: datetime, members: int, seed: int, together: Together
) -> dict[str, Any]:
    """Every option for ``print_json``: SI, UTC instants, the best first."""
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
