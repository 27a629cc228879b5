"""What a lesson does not believe of a finished cook's ledger, and says so: what was set aside, what does not fit.

A cook that goes on can be asked what an odd entry means; one that is over cannot, and what it taught stays. So here
instruments are looked at as a whole, too: all readings of one that lie a day from everything that was done are of a
clock that is off, and nothing is learned from them.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger, Reading
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.sift import Sifted, unused_words
from pitreckon.reckon.summary import odd_words
from pitreckon.text.said import said
from pitreckon.units import format_duration

FAR: Final = timedelta(hours=12)
"""An instrument of which no reading is nearer than this to what was done and planned has another clock: a judgement."""


def without_wrong_clocks(cook: Cook, ledger: Ledger) -> tuple[Ledger, tuple[str, ...]]:
    """The ledger without instruments whose clocks are off by half a day or more, and a line for each of them."""
    done = [act.at_utc for act in ledger.all_acts] + [look.at_utc for look in ledger.all_looks]
    done += [item.put_on_utc for item in cook.items] + ([cook.serve_utc] if cook.serve_utc is not None else [])
    first, last = min(done), max(done)
    series: dict[tuple[str, str, int | None], list[Reading]] = {}
    for reading in ledger.all_readings:
        series.setdefault((reading.channel, reading.on, reading.piece), []).append(reading)
    out: set[int] = set()
    lines = []
    for (channel, on, _), readings in series.items():
        early, late = first - readings[-1].at_utc, readings[0].at_utc - last
        if max(early, late) < FAR:
            continue
        out |= {id(each) for each in readings}
        span = format_duration(max(early, late).total_seconds())
        message = (
            "{item}: all {n} readings of '{channel}' lie {span} or more before anything that was done: a wrong clock"
            if early > late
            else "{item}: all {n} readings of '{channel}' lie {span} or more after all that was done: a wrong clock"
        )
        lines.append(said(message, item=on, n=len(readings), channel=said(channel), span=span))
    if not out:
        return ledger, ()
    return Ledger.of([event for event in ledger.events if id(event) not in out]), tuple(lines)


def of_cook(cook: Cook, sifted: Sifted) -> tuple[str, ...]:
    """What of a whole cook could not be used."""
    last = sifted.ledger.last_utc
    return () if last is None else unused_words(cook, sifted, last)


def of_track(got: Posterior) -> tuple[str, ...]:
    """What of a piece does not fit, and what became of its probe."""
    last = got.track.ledger.last_utc
    return () if last is None else tuple(odd_words(got.track.cook, got, last))
