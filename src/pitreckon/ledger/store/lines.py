"""A cook and its ledger as JSON Lines: a head with the plan, a line an entry, and a last line with their number."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.forms.checks import fault
from pitreckon.ledger.store.cameout import check_how
from pitreckon.ledger.store.documents import (
    Document,
    check_long_text,
    check_text,
    document_of,
    event_of,
    read_utc,
    write_utc,
)
from pitreckon.ledger.store.records import (
    CameOut,
    CookRow,
    Correction,
    Entry,
    LeftOut,
    MeatSaid,
    ReplacedPlan,
    StoredEntry,
)
from pitreckon.ledger.store.rows import Row, row_of
from pitreckon.ledger.store.schema import us_of
from pitreckon.ledger.store.states import NO_STATE, CookState, state_of

FORM: Final = 1
WITH_PLANS: Final = 2
"""The form of an export that has lines of replaced plans and of what was said of the meat."""
WITH_MARKS: Final = 3
"""The form of one that also says what became of the cook, how it came out, or that nothing is to be learned from it."""
_LONGEST_LINE: Final = 2_000_000  # the head holds a whole plan
_LONGEST_PLAN: Final = 200_000
_MOST_VERSIONS: Final = 1_000_000
_REMEDY: Final = "Give a file that 'pitreckon export' wrote, whole"


@dataclass(frozen=True, slots=True)
class Imported:
    """A cook as read from lines; ``rows`` are ready to be taken in."""

    cook_id: str
    name: str
    plan_toml: str
    created_us: int
    rows: tuple[Row, ...]
    plans: tuple[ReplacedPlan, ...] = ()
    meat: tuple[MeatSaid, ...] = ()
    left_out: LeftOut | None = None
    state: CookState = NO_STATE
    came_out: tuple[CameOut, ...] = ()


def head_line(cook: CookRow, *, form: int = FORM) -> str:
    """The first line."""
    return _line(
        {
            "pitreckon": "ledger",
            "form": form,
            "cook": cook.id,
            "name": cook.name,
            "created": write_utc(cook.created_utc),
            "plan": cook.plan_toml,
        }
    )


def plan_line(plan: ReplacedPlan) -> str:
    """The line of a plan that was replaced."""
    said = {"version": plan.plan_version, "replaced": write_utc(plan.replaced_utc), "by": plan.replaced_by}
    return _line({"replaced_plan": {**said, "plan": plan.plan_toml}})


def meat_line(said: MeatSaid) -> str:
    """The line of what somebody said was done to an item's meat."""
    when = {"number": said.number, "said": write_utc(said.said_utc), "by": said.by}
    return _line({"meat": {"item": said.item, **when, "words": said.words}})


def left_out_line(mark: LeftOut) -> str:
    """The line that says who wants nothing learned from the cook."""
    return _line({"left_out": {"said": write_utc(mark.said_utc), "by": mark.by}})


def state_line(state: CookState) -> str:
    """The line of what became of a cook that was not served."""
    return _line({"state": state.document})


def came_out_line(said: CameOut) -> str:
    """The line of how somebody says that it came out."""
    when = {"said": write_utc(said.said_utc), "by": said.by}
    return _line({"came_out": {"rating": said.rating, **when, "note": said.note}})


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
    plans: list[ReplacedPlan] = []
    meat: list[MeatSaid] = []
    left_out: LeftOut | None = None
    state = NO_STATE
    came_out: list[CameOut] = []
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
            elif "replaced_plan" in document:
                plans.append(_plan(document["replaced_plan"], head["cook"]))
            elif "meat" in document:
                meat.append(_meat(document["meat"]))
            elif "left_out" in document:
                left_out = _left_out(document["left_out"], head["cook"])
            elif "state" in document:
                state = state_of(document["state"])
            elif "came_out" in document:
                came_out.append(_came_out(document["came_out"], head["cook"]))
            else:
                rows.append(_entry(document))
        except InputError as error:
            raise error.at(file=file, line=number) from None
    if head is None or not ended:
        raise InputError("the file breaks off" if head else "the file is empty", _REMEDY, Place(file, number or None))
    first = (head["cook"], head["name"], head["plan"], us_of(head["created"]))
    return Imported(*first, tuple(rows), tuple(plans), tuple(meat), left_out, state, tuple(came_out))


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
    if document.get("form") not in {FORM, WITH_PLANS, WITH_MARKS}:
        raise fault("form", f"form {str(document.get('form'))[:20]} is not known here", "Update Pitreckon")
    for name in ("cook", "name", "plan"):
        if not isinstance(document.get(name), str):
            raise fault(name, f"{name} is missing or no text", _REMEDY)
    return {**document, "created": read_utc("created", document.get("created"))}


def _plan(found: Any, cook_id: str) -> ReplacedPlan:
    version, plan, by = _parts(found, version=int, plan=str, by=str)
    if not 1 <= version <= _MOST_VERSIONS:
        raise fault("version", f"there is no plan {version}", _REMEDY)
    check_long_text("plan", plan, _LONGEST_PLAN)
    check_text("by", by)
    return ReplacedPlan(cook_id, version, plan, read_utc("replaced", found.get("replaced")), by)


def _meat(found: Any) -> MeatSaid:
    item, number, words, by = _parts(found, item=str, number=int, words=str, by=str)
    if not 1 <= number <= _MOST_VERSIONS:
        raise fault("number", f"there is no number {number}", _REMEDY)
    return MeatSaid(item, number, words, read_utc("said", found.get("said")), by)


def _left_out(found: Any, cook_id: str) -> LeftOut:
    (by,) = _parts(found, by=str)
    check_text("by", by)
    return LeftOut(cook_id, read_utc("said", found.get("said")), by)


def _came_out(found: Any, cook_id: str) -> CameOut:
    rating, by, note = _parts(found, rating=int, by=str, note=str)
    said = CameOut(cook_id, by, rating, note, read_utc("said", found.get("said")))
    check_how(said)
    return said


def _parts(found: Any, **kinds: type) -> list[Any]:
    """Values of a JSON object, each of its kind."""
    for name, kind in kinds.items():
        if not isinstance(found, dict) or type(found.get(name)) is not kind:
            raise fault(name, f"{name} is missing or of the wrong kind", _REMEDY)
    return [found[name] for name in kinds]


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
