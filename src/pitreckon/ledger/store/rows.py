"""An entry as a row of ``events``, and back.

What has a column goes there; the rest of a look, an act or a correction is JSON in ``body``.
"""

import json
import math
import re
from collections.abc import Mapping
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault
from pitreckon.ledger.events import Act, Event, Look, Reading
from pitreckon.ledger.store.documents import check_event, check_text, document_of, named
from pitreckon.ledger.store.documents import event_of as event_of_document
from pitreckon.ledger.store.records import Correction, Entry
from pitreckon.ledger.store.schema import us_of, utc_of

Row = dict[str, Any]
# What makes two entries of one id the same: not who sent it, nor from which line, nor what a check of its history
# thought of it, all of which may differ when the same thing is sent again.
CONTENT: Final = ("at_us", "kind", "what", "on_label", "piece", "value", "of_id", "body")
_ID: Final = re.compile(r"[!-~][ -~]{0,63}")
_LOOK_BODY: Final = ("text", "note")
_ACT_BODY: Final = ("detail", "air_c", "duration_s", "fuel_kg", "note")
_ACT_NUMBERS: Final = ("air_c", "duration_s", "fuel_kg")
EVENT_COLUMNS: Final = (
    *("kind", "at_us", "what", "on_label", "piece", "value"),
    *("rejected", "source_line", "of_id", "body"),
)
_NAN: Final = float("nan")


def row_of(entry: Entry) -> Row:
    """The row of an entry, without its cook, number and time of recording; checked.

    A correction's time and item are those of what it puts there, or filled in when what it corrects is known.

    Raises InputError: something that no store can keep, with the entry's id and the field.
    """
    check_id("id", entry.id)
    try:
        check_text("by", entry.by)
        event = entry.event
        row = _correction(event) if isinstance(event, Correction) else _event(event)
    except InputError as error:
        raise named(error, entry.id) from None
    row["id"] = entry.id
    row["by_whom"] = entry.by
    return row


def check_id(field: str, given: str) -> None:
    """Raise InputError unless it can be an id: 1 to 64 plain characters, no blank at either end."""
    if not _ID.fullmatch(given) or given[-1] == " ":
        raise fault(
            field, f"{given[:64]!r} cannot be an id", "Write 1 to 64 letters, digits and plain signs, such as a UUID"
        )


def _event(event: Event) -> Row:
    check_event(event)
    if isinstance(event, Reading):
        return _row("reading", event, event.channel, event.value_c, event.rejected, None)
    if isinstance(event, Look):
        return _row("look", event, event.kind, event.value, event.rejected, _rest(event, _LOOK_BODY))
    return _row("act", event, event.act, None, None, _rest(event, _ACT_BODY))


def _row(kind: str, event: Event, what: str, value: float | None, rejected: str | None, body: str | None) -> Row:
    return {
        "at_us": us_of(event.at_utc),
        "kind": kind,
        "what": what,
        "on_label": event.on,
        "piece": event.piece,
        "value": None if value is None or math.isnan(value) else float(value) + 0.0,  # SQLite keeps no -0.0
        "rejected": rejected,
        "source_line": event.source_line,
        "of_id": None,
        "body": body,
    }


def _rest(event: Event, names: tuple[str, ...]) -> str | None:
    document = document_of(event)
    rest = {name: document[name] for name in names if name in document}
    return _json(rest) if rest else None


def _json(document: Mapping[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _correction(correction: Correction) -> Row:
    check_id("of_id", correction.of_id)
    check_text("why", correction.why)
    event = correction.event
    if event is not None:
        check_event(event)
    return {
        "at_us": None if event is None else us_of(event.at_utc),
        "kind": "correction",
        "what": "",
        "on_label": None if event is None else event.on,
        "piece": None if event is None else event.piece,
        "value": None,
        "rejected": None,
        "source_line": None,
        "of_id": correction.of_id,
        "body": _json({"event": None if event is None else document_of(event), "why": correction.why}),
    }


def event_of(
    kind: str,
    at_us: int,
    what: str,
    on: str,
    piece: int | None,
    value: float | None,
    rejected: str | None,
    line: int | None,
    of_id: str | None,
    body: str | None,
) -> Event | Correction:
    """The event of what a row has under ``EVENT_COLUMNS``, in that order."""
    if kind == "reading":
        return Reading(utc_of(at_us), what, on, piece, _NAN if value is None else value, rejected, line)
    rest: dict[str, Any] = json.loads(body) if body else {}
    if kind == "correction":
        event = rest["event"]
        return Correction(str(of_id), None if event is None else event_of_document(event), rest["why"])
    if kind == "look":
        number = _NAN if value is None else value
        return Look(utc_of(at_us), on, piece, what, number, rejected=rejected, source_line=line, **rest)
    rest |= {name: float(rest[name]) for name in _ACT_NUMBERS if name in rest}
    return Act(utc_of(at_us), on, what, piece=piece, source_line=line, **rest)
