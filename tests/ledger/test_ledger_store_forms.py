"""Whatever is recorded, however often it is sent and corrected: it reads, leaves and comes back the same."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest
from conftest import COOK, LOG
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.events import ACTS, CHANNELS, LOOKS, Event
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.store import Correction, Entry, Store
from pitreckon.ledger.store.documents import document_of, event_of

NOON = datetime(2026, 10, 10, 12, tzinfo=UTC)
PLAN = "# any text\n"
# Not made smaller when one fails: that would take minutes against a database, and a history is short as it is drawn.
thorough = settings(
    max_examples=examples(40),
    phases=[Phase.generate],
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
names = count(1)

instants = st.datetimes(datetime(1971, 1, 1), datetime(2199, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
labels = st.text(st.characters(categories=["L", "N"], max_codepoint=0x2FF), min_size=1, max_size=8)
pieces = st.none() | st.integers(1, 500)
lines = st.none() | st.integers(1, 10**6)
numbers = st.floats(allow_nan=False)
amounts = st.none() | st.floats(allow_nan=False)
whys = st.none() | texts
events: st.SearchStrategy[Event] = st.one_of(
    st.builds(Reading, instants, st.sampled_from(CHANNELS), labels, pieces, numbers, whys, lines),
    st.builds(Look, instants, labels, pieces, st.sampled_from(LOOKS), numbers, texts, whys, lines, texts),
    st.builds(Act, instants, labels, st.sampled_from(ACTS), texts, pieces, amounts, amounts, amounts, lines, texts),
)
bys = texts.map(lambda text: text[:8])


@st.composite
def histories(draw: st.DrawFn) -> list[Entry]:
    """Entries with ids of their own, in which corrections name entries before them."""
    made: list[Entry] = []
    for n, (event, by) in enumerate(draw(st.lists(st.tuples(events, bys), max_size=10))):
        made.append(Entry(f"e{n}", event, by))
        if draw(st.booleans()):
            target = draw(st.sampled_from([entry for entry in made if not isinstance(entry.event, Correction)]))
            correction = Correction(target.id, draw(st.none() | events), draw(texts))
            made.append(Entry(f"c{n}", correction, draw(bys)))
    return made


def held(entries: list[Entry]) -> Ledger:
    """What the ledger of these entries is, by the plain meaning of a correction."""
    holds: dict[str, Event | None] = {}
    for entry in entries:
        if isinstance(entry.event, Correction):
            holds[entry.event.of_id] = entry.event.event
        else:
            holds[entry.id] = entry.event
    return Ledger.of(event for event in holds.values() if event is not None)


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.servers)])
def store(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    if request.param == "sqlite":
        address = str(tmp_path_factory.mktemp("store") / "ledger.sqlite")
    else:
        address = request.getfixturevalue("postgres_server").new_database()
    with Store.open(address) as opened:
        yield opened


@pytest.fixture(scope="module")
def other(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    with Store.open(tmp_path_factory.mktemp("store") / "other.sqlite") as opened:
        yield opened


def new_cook(store: Store) -> str:
    return store.add_cook(PLAN, "supper", cook_id=f"cook{next(names)}").id


@thorough
@given(events)
def test_an_event_is_its_document(event: Event) -> None:
    assert event_of(json.loads(json.dumps(document_of(event), allow_nan=False))) == event


@thorough
@given(history=histories(), chance=st.randoms(use_true_random=False))
def test_retries_and_corrections(store: Store, history: list[Entry], chance: object) -> None:
    """Sent in pieces, some pieces again and again: recorded once, in order, and the ledger is what holds."""
    cook_id = new_cook(store)
    sent = 0
    while sent < len(history):
        upto = chance.randint(sent + 1, len(history))  # type: ignore[attr-defined]
        back = chance.randint(0, sent)  # type: ignore[attr-defined]
        receipts = store.append(cook_id, history[back:upto])
        assert [receipt.seq for receipt in receipts] == list(range(back + 1, upto + 1))
        assert [receipt.new for receipt in receipts] == [n >= sent for n in range(back, upto)]
        sent = upto
    entries = store.entries(cook_id)
    assert [(entry.id, entry.event, entry.by) for entry in entries] == [(e.id, e.event, e.by) for e in history]
    for until in (None, len(history) // 2):
        assert store.ledger(cook_id, until) == held(history[:until])


@thorough
@given(history=histories(), half=st.integers(0, 20))
def test_out_and_in_again(store: Store, other: Store, history: list[Entry], half: int) -> None:
    cook_id = new_cook(store)
    store.append(cook_id, history[:half])
    early = list(store.export_jsonl(cook_id))
    store.append(cook_id, history)
    lines = list(store.export_jsonl(cook_id))
    assert other.import_jsonl(early) == cook_id
    assert other.import_jsonl(lines) == cook_id, "what it has is known, the rest is added"
    assert list(other.export_jsonl(cook_id)) == lines, "to the byte, times of recording too"
    assert other.entries(cook_id) == store.entries(cook_id)
    assert other.import_jsonl(lines) == cook_id
    assert other.last_seq(cook_id) == len(history)


def an_export(store: Store) -> tuple[str, list[str]]:
    cook_id = new_cook(store)
    at = NOON + timedelta(minutes=1)
    store.append(
        cook_id,
        [
            Entry("a", Reading(NOON, "pit air", "big box", None, 120.0, "stuck"), "logger"),
            Entry("b", Look(at, "racks", 2, "colour", 1.0, "mahogany")),
            Entry("c", Correction("b", None, "other rack")),
        ],
    )
    return cook_id, list(store.export_jsonl(cook_id))


def test_an_export_reads_as_it_should(store: Store) -> None:
    cook_id, (head, *entries, end) = an_export(store)
    assert json.loads(head) == {
        "pitreckon": "ledger",
        "form": 1,
        "cook": cook_id,
        "name": "supper",
        "created": json.loads(head)["created"],
        "plan": PLAN,
    }
    first, _, third = map(json.loads, entries)
    del first["recorded"], third["recorded"]
    assert first == {"seq": 1, "id": "a", "by": "logger", "kind": "reading", "at": "2026-10-10T12:00:00Z"} | {
        "channel": "pit air",
        "on": "big box",
        "value_c": 120.0,
        "rejected": "stuck",
    }
    assert third == {"seq": 3, "id": "c", "kind": "correction", "of_id": "b", "why": "other rack"}
    assert json.loads(end) == {"end": True, "entries": 3}


def test_an_export_is_of_the_moment_in_which_it_began(store: Store) -> None:
    cook_id, whole = an_export(store)
    lines = store.export_jsonl(cook_id)
    begun = [next(lines)]
    store.append(cook_id, [Entry("late", Act(NOON, "racks", "rest"))])
    assert begun + list(lines) == whole


def without(line: str, field: str) -> str:
    return json.dumps({name: value for name, value in json.loads(line).items() if name != field})


def changed(line: str, **fields: object) -> str:
    return json.dumps(json.loads(line) | fields)


@pytest.mark.parametrize(
    ("spoil", "line", "field", "words"),
    [
        (lambda lines: [], None, None, "the file is empty"),
        (lambda lines: lines[:-1], 4, None, "breaks off"),
        (lambda lines: lines[:3] + lines[4:], 4, "entries", "there are 2 entries and not 3"),
        (lambda lines: [*lines, lines[1]], 6, None, "behind the last one"),
        (lambda lines: [lines[0][:30], *lines[1:]], 1, None, "no JSON object"),
        (lambda lines: ["[1]", *lines[1:]], 1, None, "no JSON object"),
        (lambda lines: ["[" * 100_000, *lines[1:]], 1, None, "no JSON object"),
        (lambda lines: [lines[1], *lines], 1, None, "does not begin as a ledger does"),
        (lambda lines: [changed(lines[0], form=4), *lines[1:]], 1, "form", "form 4 is not known"),
        (lambda lines: [without(lines[0], "plan"), *lines[1:]], 1, "plan", "missing"),
        (lambda lines: [changed(lines[0], cook="a b"), *lines[1:]], 1, "cook", "cannot be the id"),
        (lambda lines: [changed(lines[0], created="noon"), *lines[1:]], 1, "created", "no instant"),
        (lambda lines: [lines[0], changed(lines[1], id=7), *lines[2:]], 2, "id", "no text"),
        (lambda lines: [lines[0], changed(lines[1], kind="sight"), *lines[2:]], 2, "kind", "unknown"),
        (lambda lines: [lines[0], changed(lines[1], kind=["act"]), *lines[2:]], 2, "kind", "unknown"),
        (lambda lines: [lines[0], changed(lines[1], value_c="hot"), *lines[2:]], 2, "value_c", "no number"),
        (lambda lines: [lines[0], changed(lines[1], value_c=True), *lines[2:]], 2, "value_c", "no number"),
        (lambda lines: [lines[0], lines[1].replace("120.0", "NaN"), *lines[2:]], 2, None, "no JSON object"),
        (lambda lines: [lines[0], changed(lines[1], value_c=10**400), *lines[2:]], 2, "value_c", "no number"),
        (lambda lines: [lines[0], changed(lines[1], piece=1.5), *lines[2:]], 2, "piece", "no whole number"),
        (lambda lines: [lines[0], changed(lines[1], smell="good"), *lines[2:]], 2, "smell", "no such field"),
        (lambda lines: [lines[0], without(lines[1], "value_c"), *lines[2:]], 2, "value_c", "has none"),
        (lambda lines: [lines[0], changed(lines[1], at="2026-10-10 12:00"), *lines[2:]], 2, "at", "no instant"),
        (lambda lines: [lines[0], changed(lines[1], at="9999-10-10T12:00:00Z"), *lines[2:]], 2, "at", "our times"),
        (lambda lines: [*lines[:3], without(lines[3], "of_id"), lines[4]], 4, "of_id", "does not say"),
        (lambda lines: [*lines[:3], changed(lines[3], event={"kind": "act"}), lines[4]], 4, "at", "has none"),
        (lambda lines: [*lines[:3], changed(lines[3], of_id="z"), lines[4]], None, "of_id", "no entry 'z'"),
        (lambda lines: [*lines[:2], changed(lines[2], id="a"), *lines[3:]], None, "id", "says something else"),
    ],
)
def test_a_spoilt_export_is_refused_by_line_and_field(
    store: Store, other: Store, spoil: object, line: int | None, field: str | None, words: str
) -> None:
    cook_id, lines = an_export(store)
    with pytest.raises(InputError, match=words) as fault:
        other.import_jsonl(spoil(lines), "supper.jsonl")  # type: ignore[operator]
    assert (fault.value.place.file, fault.value.place.line, fault.value.place.field) == ("supper.jsonl", line, field)
    assert cook_id not in {cook.id for cook in other.cooks()}, "all or nothing"


def test_another_plan_under_the_same_id_is_refused(store: Store, other: Store) -> None:
    cook_id, lines = an_export(store)
    other.import_jsonl(lines)
    with pytest.raises(InputError, match="another cook has the id"):
        other.import_jsonl([changed(lines[0], plan="# other"), *lines[1:]])
    assert other.cook(cook_id).plan_toml == PLAN


def test_a_log_goes_in_and_comes_out_as_a_log(store: Store) -> None:
    cook = cook_from_text(COOK, "wings.toml")
    ledger = log_from_text(LOG, "log.csv", cook)
    cook_id = store.add_cook(COOK, cook.name).id
    store.append(cook_id, [Entry(f"row {n}", event) for n, event in enumerate(ledger.events)])
    wrong = Reading(ledger.events[-1].at_utc, "pit air", "barn kettle", None, 20.0)
    store.append(cook_id, [Entry("wrong", wrong), Entry("undo", Correction("wrong", None, "the lid was off"))])
    assert store.ledger(cook_id) == ledger
    again = log_from_text(store.export_csv(cook_id), "again.csv", cook)
    assert len(again) == len(ledger)
    assert [replace(look, source_line=None) for look in again.all_looks] == [
        replace(look, source_line=None) for look in ledger.all_looks
    ]
    assert "°" not in store.export_csv(cook_id, degrees="C")


def test_a_long_ledger_comes_out_whole(tmp_path: Path) -> None:
    """More entries than a page of an export, than ids of one question, than variables of one statement."""
    with Store.open(tmp_path / "a.sqlite") as one, Store.open(tmp_path / "b.sqlite") as two:
        cook_id = new_cook(one)
        at = [NOON + timedelta(seconds=n) for n in range(5001)]
        sent = [Entry(f"e{n}", Reading(at[n], "pit air", "big box", None, n / 7)) for n in range(5001)]
        assert one.append(cook_id, sent)[-1].seq == 5001
        assert not any(receipt.new for receipt in one.append(cook_id, sent))
        two.import_jsonl(one.export_jsonl(cook_id))
        assert two.ledger(cook_id) == one.ledger(cook_id)
        assert len(two.ledger(cook_id).all_readings) == 5001
