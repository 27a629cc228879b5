"""The one ``until`` text of a stage: a mark, a core temperature, a duration or a clock time."""

import re
from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from pitreckon.cook.plan import Until
from pitreckon.cook.scales import COLOUR, PROBE_FEEL
from pitreckon.errors import ErrorKind, InputError
from pitreckon.text.words import plain
from pitreckon.units import (
    next_clock,
    parse_clock,
    parse_duration,
    parse_instant,
    parse_temperature,
    shown,
)

_MARKS = {
    "colour": Until("colour"),
    "color": Until("colour"),
    "colour set": Until("colour"),
    "color set": Until("colour"),
    "tender": Until("tender"),
    "probe tender": Until("tender"),
    "glaze": Until("glaze"),
    "glaze set": Until("glaze"),
}
_STEPS = {step: Until("colour", level) for step, level in COLOUR.items() if level} | {
    step: Until("tender", level) for step, level in PROBE_FEEL.items() if level
}
_WORDS = {plain(step): until for step, until in _STEPS.items()} | _MARKS
_FORMS = (
    "Write a mark (colour, tender, glaze), a core temperature (203 F), a duration (2h30, 90 min) "
    "or a clock time (18:00)"
)
_DATED = re.compile(r"[0-9]{4}-")


def parse_until(
    text: str,
    *,
    after_utc: datetime | None = None,
    zone: ZoneInfo | None = None,
    serve_utc: datetime | None = None,
) -> Until:
    """What ends a stage.

    Written ``colour``, ``tender``, ``glaze``, a step of a scale (``amber``), ``203 F``, ``2h30``, ``18:00``
    or ``serve``. A clock time without a day is the first such time after ``after_utc``; clock times need that
    and the zone.

    >>> parse_until("tender").ends_by, parse_until("203 F").core_c, parse_until("2h30").duration_s
    ('tender', 95.0, 9000.0)

    Raises InputError: none of these, or a clock time where there is no clock.
    """
    word = plain(text)
    if word in _WORDS:
        return _WORDS[word]
    if word == "serve":
        if serve_utc is None:
            raise InputError("the stage lasts until serving, and no serving time is given", "Add serve to [cook]")
        return Until("clock", serve_utc)
    if ":" in text or _DATED.match(text.strip()):
        if zone is None or after_utc is None:
            raise InputError(
                f"{shown(text)} is a clock time, and there is no day here", "Write a duration such as 2h30"
            )
        if _DATED.match(text.strip()):
            return Until("clock", parse_instant(text, zone))
        return Until("clock", next_clock(after_utc, parse_clock(text), zone))
    return _amount(text)


def _amount(text: str) -> Until:
    trouble: InputError | None = None
    kinds: tuple[tuple[str, Callable[[str], float]], ...] = (
        ("core", parse_temperature),
        ("minutes", parse_duration),
    )
    for what, parse in kinds:
        try:
            return Until(what, parse(text))
        except InputError as error:
            # A range error of the stage itself, or a slip with a unit, says more than the list of forms.
            if error.place.field is not None or error.kind is ErrorKind.SLIP:
                trouble = error
    raise trouble or InputError(f"{shown(text)} is nothing that a stage can wait for", _FORMS)


def mark_text(until: Until) -> str:
    """The word for a mark, which :func:`parse_until` reads: ``tender``, or the step nearest to its level.

    >>> mark_text(Until("colour")), mark_text(Until("colour", 0.55))
    ('colour', 'amber')
    """
    if not isinstance(until.value, float | int):
        return until.ends_by
    level = until.value
    steps = {step: each.value for step, each in _STEPS.items() if each.ends_by == until.ends_by}
    return min(steps, key=lambda step: abs(float(steps[step] or 0.0) - level))  # type: ignore[arg-type]
