"""Each item drawn as one strip from put-on to serving: windows as smoke, a line for now. SVG, made here.

Smoke has soft edges and a hatch of its own for each window, so that it survives sunlight, greyscale and eyes that see
no colour; words stand by it. Nothing here needs a script, and every colour comes from the page's style.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape
from typing import Final

from pitreckon.reckon import ItemOutlook, Outlook, Window
from pitreckon.units import instant_after
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.spans import span_of, span_words

WIDTH: Final = 358.0
BROAD: Final = 640.0
"""Of a drawing on a phone, and of one in a wide place, where its letters stay as large as the rest."""
AXIS: Final = 20.0
PER_LETTER: Final = 7.3
STOPS: Final = 14
WORTH: Final = 0.02
ACTS: Final = {"put on": "on", "take off": "off", "put back": "back"}
SLANTS: Final = (45, -45, 90, 0)


@dataclass(frozen=True, slots=True)
class Size:
    """tall: of a strip; rail: where its line lies; half: of the densest smoke; words: their baseline."""

    tall: float
    rail: float
    half: float
    words: float


ROOMY: Final = Size(50.0, 36.0, 12.0, 14.0)
NARROW: Final = Size(41.0, 29.0, 10.0, 12.0)
"""For more items than ``FEW``."""
FEW: Final = 3


@dataclass(frozen=True, slots=True)
class Axis:
    """Instants to places on the strip."""

    start: datetime
    end: datetime
    width: float = WIDTH

    def x(self, at: datetime) -> float:
        """Where an instant is, in or out of the strip."""
        return self.width * ((at - self.start) / (self.end - self.start))

    def inside(self, at: datetime) -> bool:
        """Is it on the strip?"""
        return self.start <= at <= self.end


@dataclass(frozen=True, slots=True)
class Drawn:
    """One drawing twice: for a phone's width and for a wide place. The page's style shows the one that fits."""

    slim: str
    broad: str


def axis_of(outlook: Outlook, width: float = WIDTH) -> Axis:
    """From the first put-on to the last that matters, with a little room."""
    starts = [min(outlook.now_utc, *(item.put_on_utc for item in outlook.items))]
    ends = [outlook.serve_utc] if outlook.serve_utc is not None else []
    for item in outlook.items:
        ready = item.marks["ready"]
        last = ready.p95 if math.isfinite(ready.p95) else ready.p50
        if math.isfinite(last):
            ends.append(item.instant(last))
    first = starts[0]
    last_at = max([*ends, outlook.now_utc, first + timedelta(hours=1)])
    room = (last_at - first) * 0.03
    return Axis(first - room, last_at + room, width)


def strip(item: ItemOutlook, outlook: Outlook, axis: Axis, clock: ClockWords, name: str, size: Size = ROOMY) -> str:
    """One item's strip. ``name`` keeps what it defines apart from the others' on the page."""
    plumes = [_plume(item, window, axis, f"{name}w{n}", n, size) for n, window in _shown(item)]
    parts = [
        f'<svg class="strip" viewBox="0 0 {axis.width:g} {size.tall:g}" role="img" ',
        f'aria-label="{escape(said(item, clock))}">',
        _rail(item, outlook, axis, size.rail),
        *plumes,
        *_lines(outlook, axis, size.tall),
        *_labels(item, axis, clock, size.words),
        "</svg>",
    ]
    return "".join(parts)


def axis_strip(outlook: Outlook, axis: Axis, clock: ClockWords) -> str:
    """The hours under the strips, with now and serving."""
    parts = [f'<svg class="strip hours" viewBox="0 0 {axis.width:g} {AXIS:g}" aria-hidden="true">']
    total_h = (axis.end - axis.start).total_seconds() / 3600.0
    most = 5.5 * axis.width / WIDTH
    every = next(h for h in (1, 2, 3, 4, 6, 12, 24, 48, 96, 192) if total_h / h <= most or h == 192)
    local = axis.start.astimezone(clock.zone).replace(minute=0, second=0, microsecond=0)
    at = local.astimezone(axis.start.tzinfo)
    now_x = axis.x(outlook.now_utc)
    for _ in range(400):
        at += timedelta(hours=1)
        x = axis.x(at)
        if x > axis.width - 16:
            break
        hour = at.astimezone(clock.zone).hour
        if hour % every or x < 16:
            continue
        parts.append(f'<path class="tick" d="M{x:.1f} 0V4"/>')
        if abs(x - now_x) > 34:
            word = _hour(hour, clock)
            parts.append(f'<text x="{x:.1f}" y="17" text-anchor="middle">{word}</text>')
    anchor_x = min(max(now_x, 14), axis.width - 14)
    word = escape(clock.preferences.say("now"))
    parts.append(f'<text class="now" x="{anchor_x:.1f}" y="17" text-anchor="middle">{word}</text></svg>')
    return "".join(parts)


def _hour(hour: int, clock: ClockWords) -> str:
    if clock.preferences.hands == "12":
        return f"{hour % 12 or 12} {'pm' if hour >= 12 else 'am'}"
    return f"{hour:02d}:00"


def said(item: ItemOutlook, clock: ClockWords) -> str:
    """The strip in words, for who cannot see it."""
    say = clock.preferences.say
    words = []
    for _, window in _shown(item):
        span = span_of(item, window.opens_s, clock)
        act, when = say(window.act), span.may_be or span.likely
        if math.isfinite(window.closes_s.p50):
            late = clock(item.instant(window.closes_s.p50))
            words.append(
                say("{act} can begin from {when}, and is too late by about {late}", act=act, when=when, late=late)
            )
        else:
            words.append(say("{act} can begin from {when}", act=act, when=when))
    words.append(say("ready: {when}", when=span_words(item, item.marks["ready"], clock)))
    return f"{item.label}: {'; '.join(words)}."


def shown_windows(item: ItemOutlook) -> list[Window]:
    """The windows of which anything is known, in order."""
    return [window for _, window in _shown(item)]


def _shown(item: ItemOutlook) -> list[tuple[int, Window]]:
    return [(n, window) for n, window in enumerate(item.windows) if window.opens_s.known]


def open_chance(window: Window, after: Window | None, seconds: float) -> float:
    """Chance that an act can be done at a time; what never gets too late ends where the next thing begins."""
    closes = window.closes_s.chance_by(seconds)
    if after is not None and not math.isfinite(window.closes_s.p50):
        closes = max(closes, after.opens_s.chance_by(seconds))
    return max(window.opens_s.chance_by(seconds) - closes, 0.0)


def _plume(item: ItemOutlook, window: Window, axis: Axis, name: str, n: int, size: Size) -> str:
    """One window as smoke: as tall and as dark as it is likely to be open."""
    begin_s = (axis.start - item.put_on_utc).total_seconds()
    end_s = (axis.end - item.put_on_utc).total_seconds()
    following = item.windows[n + 1] if n + 1 < len(item.windows) else None
    left = max(window.opens_s.p05 - (window.opens_s.p50 - window.opens_s.p05) / 6 - 60.0, begin_s)
    ends = [s for s in (window.closes_s.p95, window.closes_s.p50) if math.isfinite(s)][:1]
    if following is not None and not ends:
        ends = [s for s in (following.opens_s.p95, following.opens_s.p50) if math.isfinite(s)][:1]
    right = min(max([*ends, left + 600.0]) * 1.02, end_s)
    if right <= left:
        return ""
    at = [left + (right - left) * k / STOPS for k in range(STOPS + 1)]
    chance = [open_chance(window, following, s) for s in at]
    if max(chance) < WORTH:
        return ""
    xs = [axis.x(instant_after(item.put_on_utc, s)) for s in at]
    top = "L".join(f"{x:.1f} {size.rail - size.half * _height(p):.1f}" for x, p in zip(xs, chance, strict=True))
    under = "L".join(
        f"{x:.1f} {size.rail + size.half * 0.8 * _height(p):.1f}"
        for x, p in reversed(list(zip(xs, chance, strict=True)))
    )
    stops = "".join(
        f'<stop offset="{(x - xs[0]) / (xs[-1] - xs[0]):.3f}" stop-opacity="{p:.2f}"/>'
        for x, p in zip(xs, chance, strict=True)
    )
    slant = SLANTS[n % len(SLANTS)]
    return (
        f'<defs><linearGradient id="{name}g" class="fade" gradientUnits="userSpaceOnUse" '
        f'x1="{xs[0]:.1f}" x2="{xs[-1]:.1f}" y1="0" y2="0">{stops}</linearGradient>'
        f'<mask id="{name}m" maskUnits="userSpaceOnUse" x="0" y="0" width="{axis.width:g}" height="{size.tall:g}">'
        f'<rect width="{axis.width:g}" height="{size.tall:g}" fill="url(#{name}g)"/></mask>'
        f'<pattern id="{name}h" patternUnits="userSpaceOnUse" width="5" height="5" patternTransform="rotate({slant})">'
        f'<path class="hatch" d="M0 2.5H5"/></pattern></defs>'
        f'<g mask="url(#{name}m)"><path class="smoke" d="M{top}L{under}Z"/>'
        f'<path d="M{top}L{under}Z" fill="url(#{name}h)"/></g>'
    )


def _height(chance: float) -> float:
    return 0.25 + 0.75 * math.sqrt(chance)


def _rail(item: ItemOutlook, outlook: Outlook, axis: Axis, rail: float) -> str:
    """What has been lies dark on the rail; what is to come is dotted."""
    on = max(axis.x(item.put_on_utc), 0.0)
    now = axis.x(outlook.now_utc)
    ready = item.marks["ready"]
    last = item.instant(ready.p50) if ready.known else axis.end
    end = min(max(axis.x(outlook.serve_utc or last), axis.x(last)), axis.width)
    parts = [f'<path class="rail to-come" d="M{max(on, min(now, end)):.1f} {rail:g}H{end:.1f}"/>']
    if now > on:
        parts.append(f'<path class="rail been" d="M{on:.1f} {rail:g}H{min(now, end):.1f}"/>')
    parts.append(f'<path class="put-on" d="M{on:.1f} {rail - 7:g}V{rail + 7:g}"/>')
    for stage in item.stages[:-1]:
        if stage.done and stage.ends_s.known:
            x = axis.x(item.instant(stage.ends_s.p50))
            parts.append(f'<path class="put-on" d="M{x:.1f} {rail - 5:g}V{rail + 5:g}"/>')
    if ready.known:
        x = axis.x(item.instant(ready.p50))
        parts.append(f'<circle class="ready" cx="{x:.1f}" cy="{rail:g}" r="4.5"/>')
    return "".join(parts)


def _lines(outlook: Outlook, axis: Axis, tall: float) -> list[str]:
    lines = []
    if outlook.serve_utc is not None and axis.inside(outlook.serve_utc):
        x = axis.x(outlook.serve_utc)
        lines.append(f'<path class="serve" d="M{x - 1.5:.1f} 0V{tall:g}M{x + 1.5:.1f} 0V{tall:g}"/>')
    x = axis.x(outlook.now_utc)
    return [*lines, f'<path class="now-line" d="M{x:.1f} 0V{tall:g}"/>']


def _labels(item: ItemOutlook, axis: Axis, clock: ClockWords, y: float) -> list[str]:
    """The word of each window over its median opening, left out where there is no room: the plan has them all."""
    wanted = [(ACTS.get(w.act, w.act), instant_after(item.put_on_utc, w.opens_s.p50)) for _, w in _shown(item)]
    out: list[str] = []
    taken = -1e9
    for place, (word, at) in enumerate(wanted):
        nexts = [axis.x(other) for _, other in wanted[place + 1 : place + 2]]
        for text in (f"{clock.preferences.say(word)} {_hand(at, clock)}", clock.preferences.say(word)):
            half = 0.5 * PER_LETTER * len(text)
            x = min(max(axis.x(at), taken + half, half), axis.width - half)
            fits = x - half >= taken and all(x + half <= other for other in nexts if text != word)
            if fits and abs(x - axis.x(at)) <= half + 14:
                out.append(f'<text x="{x:.1f}" y="{y:g}" text-anchor="middle">{escape(text)}</text>')
                taken = x + half + 4
                break
    return out


def _hand(at: datetime, clock: ClockWords) -> str:
    """Hours and minutes alone: the hours below tell the day and its half."""
    return clock.parts(at).hand


def strips(outlook: Outlook, clock: ClockWords) -> tuple[Sequence[Drawn], Drawn]:
    """Every item's strip in order, and the hours under them."""
    size = ROOMY if len(outlook.items) <= FEW else NARROW
    slim, broad = axis_of(outlook), axis_of(outlook, BROAD)
    drawn = [
        Drawn(
            strip(item, outlook, slim, clock, f"s{n}", size),
            strip(item, outlook, broad, clock, f"b{n}", size),
        )
        for n, item in enumerate(outlook.items)
    ]
    return drawn, Drawn(axis_strip(outlook, slim, clock), axis_strip(outlook, broad, clock))
