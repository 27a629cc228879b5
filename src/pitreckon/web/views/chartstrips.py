"""Under the chart: each item as a strip on the chart's own axis of time, windows as smoke, what was done and seen."""

from typing import Any, Final

from pitreckon.ledger import Ledger
from pitreckon.reckon import ItemOutlook, Outlook
from pitreckon.units import instant_after
from pitreckon.web.views.reader import Preferences
from pitreckon.web.views.strips import open_chance, shown_windows

STEPS: Final = 24
WORTH: Final = 0.02


def chart_strips(outlook: Outlook, ledger: Ledger, preferences: Preferences) -> list[dict[str, Any]]:
    """One for each item, in order. Times are seconds since 1970, chances 0 to 1; ``says`` is in the reader's words."""
    return [_strip(item, ledger, preferences) for item in outlook.items]


def _strip(item: ItemOutlook, ledger: Ledger, preferences: Preferences) -> dict[str, Any]:
    say = preferences.say
    ready = item.marks["ready"]
    done = [(act.at_utc.timestamp(), act.act, "act") for act in ledger.acts(item.label)]
    done += [(look.at_utc.timestamp(), look.kind, "look") for look in ledger.looks(item.label)]
    return {
        "on": item.label,
        "put_on": item.put_on_utc.timestamp(),
        "ready": item.instant(ready.p50).timestamp() if ready.known else None,
        "windows": [each for n in range(len(shown_windows(item))) if (each := _window(item, n, preferences))],
        "done": [{"at": at, "what": what, "kind": kind, "says": say(what)} for at, what, kind in sorted(done)],
    }


def _window(item: ItemOutlook, n: int, preferences: Preferences) -> dict[str, Any] | None:
    """When an act can be done, as chances over time; None: hardly ever."""
    shown = shown_windows(item)
    window, after = shown[n], shown[n + 1] if n + 1 < len(shown) else None
    begin, end = window.opens_s.p05, window.closes_s
    last = end.p95 if end.reached >= 0.95 else end.p50 if end.known else max(window.opens_s.p50, begin) + 3600.0
    if after is not None and not end.known:
        last = after.opens_s.p95 if after.opens_s.reached >= 0.95 else after.opens_s.p50
    first = begin - 300.0
    at = [first + (max(last, begin + 600.0) - first) * k / STEPS for k in range(STEPS + 1)]
    chance = [open_chance(window, after, each) for each in at]
    if max(chance) < WORTH:
        return None
    return {
        "act": window.act,
        "says": preferences.say(window.act),
        "at": [instant_after(item.put_on_utc, each).timestamp() for each in at],
        "open": [round(each, 3) for each in chance],
    }
