"""Events as JSON objects, checked on their way in.

The form is that of a line in an export: ``kind`` and ``at`` first, then what the event has; what it has not is left
out. A number that JSON has no word for is written ``"nan"``, ``"inf"`` or ``"-inf"``.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from datetime import UTC, datetime
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, is_label, is_utc, one_of
from pitreckon.ledger.events import ACTS, CHANNELS, LOOKS, Act, Event, Look, Reading

Document = dict[str, Any]
CLASSES: Final[Mapping[str, type[Event]]] = {"reading": Reading, "look": Look, "act": Act}
_ODD: Final = ("nan", "inf", "-inf")
_LONGEST_TEXT: Final = 4000
_MOST_PIECES: Final = 500
_YEARS: Final = (1971, 2199)


def kind_of(event: Event) -> str:
    """``reading``, ``look`` or ``act``."""
    return type(event).__name__.casefold()


def check_event(event: Event) -> None:
    """Raise InputError, with the field, unless a store can keep this and give the same back."""
    is_utc("at", event.at_utc)
    if not _YEARS[0] <= event.at_utc.year <= _YEARS[1]:
        raise fault("at", f"{event.at_utc.year} is not in our times", f"A year from {_YEARS[0]} to {_YEARS[1]}")
    is_label("on", event.on)
    if event.piece is not None and not 1 <= event.piece <= _MOST_PIECES:
        raise fault("piece", f"there is no piece {event.piece}", f"Write a number from 1 to {_MOST_PIECES}")
    if isinstance(event, Reading):
        one_of("channel", event.channel, CHANNELS)
    elif isinstance(event, Look):
        one_of("what", event.kind, LOOKS)
        check_text("note", event.note)
    else:
        one_of("what", event.act, ACTS)
        check_text("note", event.note)
    if isinstance(event, Look):
        check_text("text", event.text)
    if isinstance(event, Act):
        check_text("detail", event.detail)
    elif event.rejected is not None:
        check_text("rejected", event.rejected)


def check_text(field: str, text: str) -> None:
    """Raise InputError where a text is too long or has what no database takes (NUL, half a character)."""
    if len(text) > _LONGEST_TEXT:
        raise fault(field, f"it has {len(text)} characters", f"Write no more than {_LONGEST_TEXT}")
    if not (text.isascii() or _is_whole(text)) or "\0" in text:
        raise fault(field, "it has characters that are none", "Write plain text")


def check_long_text(field: str, text: str, longest: int) -> None:
    """The same for a whole file's text of no more than so many characters."""
    if len(text) > longest:
        raise fault(field, f"it has {len(text)} characters", f"Write no more than {longest}")
    for start in range(0, len(text), _LONGEST_TEXT):
        check_text(field, text[start : start + _LONGEST_TEXT])


def _is_whole(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def write_utc(at_utc: datetime) -> str:
    """An instant as ISO 8601 with a Z."""
    return at_utc.isoformat().replace("+00:00", "Z")


def read_utc(field: str, given: object) -> datetime:
    """The instant in UTC of an ISO 8601 text with an offset. Raises InputError."""
    try:
        at = datetime.fromisoformat(given) if isinstance(given, str) else None
        if at is not None and at.tzinfo is not None:
            return at.astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise fault(field, f"{field} is no instant", "Write it as in 2026-10-10T18:00:00Z")


_WHAT: Final = frozenset({"kind", "act"})
_OF_ENTRY: Final = frozenset({"by"})
"""Stands with the entry, and not once more in its event."""


def _outer(field: str) -> str:
    """A field's name in the JSON object: a look's kind and the act of an act are both "what" there."""
    return "what" if field in _WHAT else field


def document_of(event: Event) -> Document:
    """The JSON object of an event."""
    out: Document = {"kind": kind_of(event), "at": write_utc(event.at_utc)}
    for field in fields(event)[1:]:
        value = getattr(event, field.name)
        if field.name in _OF_ENTRY or value is None or (value == field.default and field.default is not MISSING):
            continue
        odd = isinstance(value, float) and not math.isfinite(value)
        out[_outer(field.name)] = str(value) if odd else value
    return out


def _text(field: str, given: object) -> str:
    if not isinstance(given, str):
        raise fault(field, f"{field} is no text", "Put it between double quotes")
    return given


def _whole(field: str, given: object) -> int:
    if isinstance(given, bool) or not isinstance(given, int):
        raise fault(field, f"{field} is no whole number", "Write digits alone")
    return given


def _number(field: str, given: object) -> float:
    try:
        if given in _ODD or (isinstance(given, (int, float)) and not isinstance(given, bool)):
            return float(given)
    except OverflowError:  # a whole number beyond every float
        pass
    raise fault(field, f"{field} is no number", f"Write digits, or one of {', '.join(_ODD)}")


_READ: Final[Mapping[str, Callable[[str, object], Any]]] = {
    "at_utc": read_utc,
    "piece": _whole,
    "source_line": _whole,
    "value_c": _number,
    "value": _number,
    "air_c": _number,
    "duration_s": _number,
    "fuel_kg": _number,
}


def event_of(document: Mapping[str, Any]) -> Event:
    """The event of a JSON object. Raises InputError with the field."""
    kind = document.get("kind")
    if not isinstance(kind, str) or kind not in CLASSES:
        raise fault("kind", "kind is missing or unknown", f"Write one of: {', '.join(CLASSES)}")
    record = CLASSES[kind]
    given = {"at_utc" if name == "at" else name: value for name, value in document.items() if name != "kind"}
    known = {_outer(field.name): field for field in fields(record) if field.name not in _OF_ENTRY}
    for name in given:
        if name not in known:
            raise fault(name[:40], f"a {kind} has no such field", f"Leave it out; there are {', '.join(known)}")
    values: dict[str, Any] = {}
    for name, field in known.items():
        if given.get(name) is not None:
            values[field.name] = _READ.get(name, _text)(name.removesuffix("_utc"), given[name])
        elif name == "piece":
            values[field.name] = None
        elif field.default is MISSING:
            raise fault(name.removesuffix("_utc"), f"the {kind} has none", "Every one needs it")
    event: Event = record(**values)
    check_event(event)
    return event


def named(error: InputError, entry_id: str) -> InputError:
    """The same fault, saying whose entry it is about."""
    return InputError(f"entry '{entry_id[:64]}': {error.trouble}", error.remedy, error.place)
