"""This time against last time in sentences, for every door: each knows its message, for readers of other languages."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import Final

from pitreckon.lessons.lasttime.worth import Against, Worth
from pitreckon.text.said import said
from pitreckon.units import format_duration

STEP_MIN: Final = 5.0
"""Minutes of a model are told no finer than this."""
LITTLE_MIN: Final = 2.5
"""Less than this is nothing to speak of."""


def headline(found: Against) -> str:
    """How much longer it was on the pit."""
    this, last = _span(found.this.off_s / 60.0), _span(found.last.off_s / 60.0)
    if abs(found.longer) < LITTLE_MIN:
        return said("As long on the pit as last time: {this}.", this=this)
    message = "{far} longer on the pit than last time: {this}, not {last}."
    if found.longer < 0.0:
        message = "{far} less on the pit than last time: {this}, not {last}."
    return said(message, far=_span(abs(found.longer)), this=this, last=last)


def worth_lines(found: Against) -> Iterator[str]:
    """Each difference with what it was worth by itself, the largest first; then all of them and what they leave."""
    for each in found.worths:
        yield said("{what}: {worth}", what=each.words, worth=worth_words(each))
    if found.together is None:
        yield said(
            "Nothing that was written down was otherwise: {far} is the meat itself and the fire's own ways.",
            far=_span(abs(found.longer)),
        )
        return
    if len(found.worths) > 1 and not isnan(found.together.minutes):
        yield said("all of it together: {worth}", worth=worth_words(found.together))
    if not isnan(found.together.minutes):
        rest = found.rest
        if abs(rest) < LITTLE_MIN:
            yield said("That is all of it.")
        else:
            message = "{far} longer is left: the meat itself, the fire's own ways, and the model's error."
            if rest < 0.0:
                message = "{far} less is left: the meat itself, the fire's own ways, and the model's error."
            yield said(message, far=_span(abs(rest)))


def worth_words(worth: Worth) -> str:
    """``about 25 min sooner (15 to 35)``"""
    if isnan(worth.minutes):
        return said("what that was worth is not known: too few of the simulated got there")
    if abs(worth.minutes) < LITTLE_MIN:
        return said("nothing to speak of")
    low, high = sorted((abs(worth.low), abs(worth.high)))
    if worth.low < 0.0 < worth.high:
        low = 0.0
    words = said("about {far} sooner" if worth.minutes < 0.0 else "about {far} later", far=_span(abs(worth.minutes)))
    if _step(low) == _step(high):
        return words
    return said("{about} ({low} to {high} min)", about=words, low=_step(low), high=_step(high))


def _step(minutes: float) -> int:
    return int(STEP_MIN * round(minutes / STEP_MIN))


def _span(minutes: float) -> str:
    return format_duration(60.0 * max(_step(minutes), int(STEP_MIN)))
