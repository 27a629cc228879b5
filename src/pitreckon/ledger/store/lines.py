"""A cook and its ledger as JSON Lines: a head with the plan, a line an entry, and a last line with their number."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.forms.checks import fault
from pitreckon.ledger.store.documents import Document, document_of, event_of, read_utc, write_utc
from pitreckon.ledger.store.records import CookRow, Correction, Entry, StoredEntry
from pitreckon.ledger.store.rows import Row, row_of
from pitreckon.ledger.store.schema import us_of

FORM: Final = 1
_LONGEST_LINE: Final = 2_000_000  # the head holds a whole plan
_REMEDY: Final = "Give a file that 'pitreckon export' wrote, whole"


@dataclass(frozen=True, slots=True)
class Imported:
    """A cook as read from lines; ``rows`` are ready to be taken in."""

    cook_id: str
    name: str
    plan_toml: str
    created_us: int
    rows: tuple[Row, ...]


def head_line(cook: CookRow) -> str:
    """The first line."""
    return _line(
        {
            "pitreckon": "ledger",
            "form": FORM,
            "cook": cook.id,
            "name": cook.name,
            "created": write_utc(cook.created_utc),
            "plan": cook.plan_toml,
        }
    )


def entry_line(stored: StoredEntry) -> str:
    """The line of one entry."""
    line: Document = {"seq": stored.seq, "id": stored.id, "recorded": write_utc(stored.recorded_utc)}
    if stored.by:
        line["by"] = stored.by
    event = stored.event
    if isinstance(event, Correction):
        line |= {"kind": "correction", "of_id": event.of_id}
        line |= {"why": event.why} if event.why else {}
        line |= {"event": document_of(event.event)} if event.event is not None else {}
    else:
        line |= document_of(event)
    return _line(line)


def end_line(entries: int) -> str:
    """The last line."""
    return _line({"end": True, "entries": entries})


def _line(document: Mapping[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n"


def read_lines(lines: Iterable[str], file: str | None = None) -> Imported:
    """What the lines of an export hold; ``file`` is their name for messages.

    Raises InputError: something in them is wrong, or missing at the end (file, line and field).
    """
    number = 0
    head: Document | None = None
    rows: list[Row] = []
    ended = False
    for number, text in enumerate(lines, start=1):
        if not text.strip():
            continue
        try:
            if ended:
                raise InputError("there are lines behind the last one", _REMEDY)  # noqa: TRY301
            document = _object(text)
            if head is None:
                head = _head(document)
            elif "end" in document:
                _end(document, len(rows))
                ended = True
            else:
                rows.append(_entry(document))
        except InputError as error:
            raise error.at(file=file, line=number) from None
    if head is None or not ended:
        raise InputError("the file breaks off" if head else "the file is empty", _REMEDY, Place(file, number or None))
    return Imported(head["cook"], head["name"], head["plan"], us_of(head["created"]), tuple(rows))


def _object(text: str) -> Document:
    try:
        document = json.loads(text, parse_constant=_no_constant) if len(text) <= _LONGEST_LINE else None
    except (ValueError, RecursionError):
        document = None
    if not isinstance(document, dict):
        raise InputError("the line is no JSON object", _REMEDY)
    return document


def _no_constant(word: str) -> float:
    raise ValueError(word)


def _head(document: Document) -> Document:
    if document.get("pitreckon") != "ledger":
        raise InputError("it does not begin as a ledger does", _REMEDY)
    if document.get("form") != FORM:
        raise fault("form", f"form {str(document.get('form'))[:20]} is not known here", "Update Pitreckon")
    for name in ("cook", "name", "plan"):
        if not isinstance(document.get(name), str):
            raise fault(name, f"{name} is missing or no text", _REMEDY)
    return {**document, "created": read_utc("created", document.get("created"))}


def _end(document: Document, entries: int) -> None:
    if document.get("entries") != entries:
        raise fault("entries", f"there are {entries} entries and not {str(document.get('entries'))[:20]}", _REMEDY)


def _entry(document: Document) -> Row:
    rest = {name: value for name, value in document.items() if name not in {"seq", "id", "recorded", "by"}}
    entry_id, by = document.get("id"), document.get("by", "")
    if not isinstance(entry_id, str) or not isinstance(by, str):
        raise fault("id", "id is missing, or id or by is no text", _REMEDY)
    recorded: datetime = read_utc("recorded", document.get("recorded"))
    row = row_of(Entry(entry_id, _correction(rest) if rest.get("kind") == "correction" else event_of(rest), by))
    return {**row, "recorded_us": us_of(recorded)}


def _correction(document: Document) -> Correction:
    event, of_id, why = document.get("event"), document.get("of_id"), document.get("why", "")
    if not isinstance(of_id, str) or not isinstance(why, str) or not isinstance(event, (dict, type(None))):
        raise fault("of_id", "the correction does not say what it corrects, or how", _REMEDY)
    return Correction(of_id, None if event is None else event_of(event), why)
