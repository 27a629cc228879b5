"""What a record rests on beside values: who said what and when, what was taken back, earlier plans, the meat, the
settings.

All of it is in the record's chain as steps: the settings, each plan that was replaced, what was said of the meat, each
entry as it was recorded, corrections and what they took back too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

from pitreckon.cook.looks import LOOK_KINDS, TEMPERATURE
from pitreckon.ledger import Ledger
from pitreckon.ledger.chain import canonical, digest
from pitreckon.ledger.events import PHOTO, Act, Event, Look, Reading
from pitreckon.ledger.store import Correction, MeatSaid, ReplacedPlan, StoredEntry
from pitreckon.ledger.store.documents import document_of, write_utc
from pitreckon.safety.rules.meat import Handled, handled_from
from pitreckon.safety.wording import temperature

if TYPE_CHECKING:
    from pitreckon.ledger.store import Store

LATE: Final = timedelta(minutes=10)
"""What was written so long after its time is said to have been written later (common practice, no source)."""
LOG, LEDGER = "log", "ledger"


@dataclass(frozen=True)
class Kept:
    """source: ``ledger``, or ``log`` for a file, which knows neither who wrote it and when, nor what was taken back.

    entries: as recorded, by number; plans: that were replaced; meat: all that was said of it
    """

    source: str = LOG
    entries: tuple[StoredEntry, ...] = ()
    plans: tuple[ReplacedPlan, ...] = ()
    meat: tuple[MeatSaid, ...] = ()
    plan_version: int = 1


@dataclass(frozen=True, slots=True)
class ToldLine:
    """One thing that a reader of the record has to know of.

    kind: taken back, put right, typed in, written later, came late, photo, plan replaced, meat
    at_utc: of what it is about; by: who, "" not known; recorded_utc: when it was written, None: not known
    words: with its temperatures as marks; why: in the words of whoever took it back
    """

    kind: str
    at_utc: datetime
    words: str
    by: str = ""
    recorded_utc: datetime | None = None
    why: str = ""


def kept_of(store: Store, cook_id: str, until_seq: int | None = None) -> Kept:
    """What a store keeps of a cook, entries up to and at a number. Raises InputError: no such cook."""
    row = store.cook(cook_id)
    last = row.last_seq if until_seq is None else min(until_seq, row.last_seq)
    entries = store.entries(cook_id, limit=max(last, 1), before_seq=last + 1)
    plans, meat = store.replaced_plans(cook_id), store.meat_said(cook_id)
    return Kept(LEDGER, tuple(entries), tuple(plans), tuple(meat), row.plan_version)


def handled_in(kept: Kept) -> dict[str, Handled]:
    """What was done to the meat, by the item, as was said last."""
    return {each.item: handled_from(each.words) for each in kept.meat}


def entry_order(ledger: Ledger) -> list[Event]:
    """Every entry of a ledger, those not used included, in the order of their times; one order for one ledger."""
    every: list[Event] = [*ledger.all_readings, *ledger.all_looks, *ledger.all_acts]
    return sorted(every, key=lambda event: (event.at_utc, canonical(document_of(event))))


# --- the chain


def steps_of(kept: Kept, ledger: Ledger, settings: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """What the chain goes over, in its order: words for people, and the document.

    ledger: what counts where the source is a log; settings: of the record, as it has them
    """
    yield "settings", {"step": "settings", **settings}
    for plan in kept.plans:
        text = {"version": plan.plan_version, "plan": digest(plan.plan_toml.encode())}
        when = {"replaced": write_utc(plan.replaced_utc), "by": plan.replaced_by}
        yield f"plan {plan.plan_version}, replaced {when['replaced']}", {"step": "plan", **text, **when}
    for said in kept.meat:
        what = {"item": said.item, "number": said.number, "words": said.words}
        yield (
            f"meat of {said.item}: {said.words}",
            {"step": "meat", **what, "said": write_utc(said.said_utc), "by": said.by},
        )
    if kept.source == LOG:
        for event in entry_order(ledger):
            yield _step_words(document_of(event)), document_of(event)
    for stored in kept.entries:
        yield _stored_step(stored)


def _stored_step(stored: StoredEntry) -> tuple[str, dict[str, Any]]:
    event = stored.event
    if isinstance(event, Correction):
        own = None if event.event is None else document_of(event.event)
        said: dict[str, Any] = {"kind": "correction", "of": event.of_id, "event": own, "why": event.why}
        words = f"correction of {event.of_id} by {stored.by}"
    else:
        said = document_of(event)
        words = _step_words(said) + (f", by {stored.by}" if stored.by else "")
    head = {"seq": stored.seq, "id": stored.id, "by": stored.by, "recorded": write_utc(stored.recorded_utc)}
    return words, {"step": "entry", **head, "entry": said}


def _step_words(document: Mapping[str, Any]) -> str:
    what = document.get("what") or document.get("channel") or ""
    return f"{document['kind']} {document['at']} {document.get('on', '')}: {what}"


# --- what is told


def told_of(kept: Kept, ledger: Ledger) -> tuple[ToldLine, ...]:
    """What was taken back, typed in, written later, replaced or said of the meat, in the order of what it is about."""
    lines = list(_of_log(ledger)) if kept.source == LOG else [*_of_entries(kept), *_late_readings(kept)]
    lines += [
        ToldLine(
            "plan replaced", each.replaced_utc, f"plan {each.plan_version} gave way to plan {each.plan_version + 1}",
            each.replaced_by, each.replaced_utc,
        )
        for each in kept.plans
    ]  # fmt: skip
    lines += [ToldLine("meat", m.said_utc, f"{m.item}: {m.words}", m.by, m.said_utc) for m in kept.meat]
    return tuple(sorted(lines, key=lambda line: (line.at_utc, line.kind, line.words)))


def _of_log(ledger: Ledger) -> Iterator[ToldLine]:
    for look in ledger.all_looks:
        if _typed(look):
            yield ToldLine("typed in", look.at_utc, event_words(look))


def _of_entries(kept: Kept) -> Iterator[ToldLine]:
    known: dict[str, StoredEntry] = {}
    for stored in kept.entries:
        event = stored.event
        if isinstance(event, Correction):
            yield from _correction(stored, event, known.get(event.of_id))
            continue
        known[stored.id] = stored
        if isinstance(event, Reading):
            continue
        for name in PHOTO.findall(event.note):
            words = f"{event_words(event)}, {name[:16]}"
            yield ToldLine("photo", event.at_utc, words, stored.by, stored.recorded_utc)
        line = ToldLine("", event.at_utc, event_words(event), stored.by, stored.recorded_utc)
        if isinstance(event, Look) and _typed(event):
            yield replace(line, kind="typed in")
        elif stored.recorded_utc - event.at_utc > LATE:
            yield replace(line, kind="written later")


def _correction(stored: StoredEntry, correction: Correction, target: StoredEntry | None) -> Iterator[ToldLine]:
    was = None if target is None or isinstance(target.event, Correction) else target.event
    words = correction.of_id if was is None else event_words(was)
    at_utc = stored.recorded_utc if was is None else was.at_utc
    kind = "taken back" if correction.event is None else "put right"
    if correction.event is not None:
        words += f"; now {event_words(correction.event)}"
    if target is not None and target.by:
        words += f" (of {target.by})"
    yield ToldLine(kind, at_utc, words, stored.by, stored.recorded_utc, correction.why)


def _late_readings(kept: Kept) -> Iterator[ToldLine]:
    """Readings that came late are counted by who sent them: an outage brings thousands."""
    late: dict[tuple[str, str], list[tuple[datetime, datetime]]] = {}
    for stored in kept.entries:
        event = stored.event
        if isinstance(event, Reading) and stored.recorded_utc - event.at_utc > LATE:
            late.setdefault((stored.by, event.on), []).append((event.at_utc, stored.recorded_utc))
    for (by, on), times in late.items():
        first, last = min(times), max(recorded for _, recorded in times)
        count = "1 reading" if len(times) == 1 else f"{len(times)} readings"
        yield ToldLine("came late", first[0], f"{count} of {on}", by, last)


def _typed(look: Look) -> bool:
    """Was a temperature read off by a person?"""
    return LOOK_KINDS[look.kind].quantity is TEMPERATURE


def event_words(event: Event) -> str:
    """An entry in words, its temperatures as marks."""
    on = event.on if event.piece is None else f"{event.on} {event.piece}"
    if isinstance(event, Reading):
        return f"{on}: {event.channel} {temperature(event.value_c, 1)}"
    if isinstance(event, Look):
        how = temperature(event.value, 1) if _typed(event) else event.text or f"{event.value:g}"
        return f"{on}: {event.kind} {how}"
    return f"{on}: {event.act}{_how(event)}"


def _how(act: Act) -> str:
    if act.air_c is not None:
        return f" {temperature(act.air_c)}"
    return f" {act.detail}" if act.detail else ""
