"""The store's promises, on SQLite and on a real PostgreSQL server: what is acknowledged is there, once, in order."""

from __future__ import annotations

import asyncio
import math
import threading
from collections.abc import Iterator
from concurrent.futures import Future
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import event, text
from sqlalchemy.exc import DatabaseError

from pitreckon.errors import InputError, StoreError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.store import Correction, Entry, Receipt, Store, StoredEntry

NOON = datetime(2026, 10, 10, 12, tzinfo=UTC)
PLAN = "[cook]\nname = 'supper'\n"


def reading(minute: float, value_c: float = 120.0, **changes: object) -> Reading:
    return replace(Reading(NOON + timedelta(minutes=minute), "pit air", "big box", None, value_c), **changes)


LOOK = Look(NOON, "racks", 2, "colour", 1.0, "mahogany", note="the thin end")
ACT = Act(NOON, "racks", "wrapped", "foil", note="ein Löffel Öl 🔥")


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.servers)])
def address(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    if request.param == "sqlite":
        return str(tmp_path_factory.mktemp("store") / "ledger.sqlite")
    return request.getfixturevalue("postgres_server").new_database()


@pytest.fixture(scope="module")
def store(address: str) -> Iterator[Store]:
    """One for all tests: each has a cook of its own in it."""
    with Store.open(address) as opened:
        yield opened


@pytest.fixture
def cook_id(store: Store) -> str:
    return store.add_cook(PLAN, "supper").id


def test_cooks_are_kept_and_found(store: Store) -> None:
    first = store.add_cook(PLAN, "Harvest Table!")
    assert first.id.startswith("harvest-table-")
    assert (first.plan_toml, first.plan_version, first.last_seq) == (PLAN, 1, 0)
    second = store.add_cook(PLAN, "Harvest Table!")
    assert second.id != first.id
    assert {first.id, second.id} <= {cook.id for cook in store.cooks()}
    assert store.cook(first.id) == first
    named = store.add_cook(PLAN, "supper", cook_id="supper")
    assert store.add_cook(PLAN, "supper", cook_id="supper") == named, "adding it again is no second cook"
    with pytest.raises(InputError, match="another cook has the id 'supper'"):
        store.add_cook(PLAN + "# other", "supper", cook_id="supper")


def test_a_plan_is_replaced(store: Store, cook_id: str) -> None:
    told: list[tuple[str, int]] = []
    stop = store.watch(lambda *what: told.append(what))
    changed = store.replace_plan(cook_id, PLAN + "# new")
    assert (changed.plan_toml, changed.plan_version) == (PLAN + "# new", 2)
    assert store.cook(cook_id) == changed
    store.append(cook_id, [])  # the watcher runs after the answer; the next answer is behind it
    assert told[0] == (cook_id, 0)
    stop()
    with pytest.raises(InputError, match="no cook 'other'"):
        store.replace_plan("other", PLAN)


@pytest.mark.parametrize("bad", ["", " ", "a/b", "ä", "x" * 65, "-x"])
def test_a_bad_cook_id_is_refused(store: Store, bad: str) -> None:
    if bad == "":
        assert store.add_cook(PLAN, "supper", cook_id=bad).id, "none given: one is made"
        return
    with pytest.raises(InputError, match="cannot be the id of a cook"):
        store.add_cook(PLAN, "supper", cook_id=bad)


def test_what_goes_in_comes_out(store: Store, cook_id: str) -> None:
    events = [
        reading(0, 121.123456789012345, source_line=7),
        reading(1, math.inf, rejected="no thermometer says that"),
        Reading(NOON, "probe", "racks", 2, -3.5),
        LOOK,
        Look(NOON, "racks", None, "weight", 1.25, source_line=3, rejected="the scale was off"),
        ACT,
        Act(NOON, "big box", "lid open", duration_s=90.0),
        Act(NOON, "big box", "fed the fire", fuel_kg=0.1 + 0.2),
        Act(NOON + timedelta(microseconds=1), "racks", "hold", air_c=60.0, piece=3, source_line=9),
    ]
    before = datetime.now(UTC)
    receipts = store.append(cook_id, [Entry(f"e{n}", event, "pit phone") for n, event in enumerate(events)])
    assert receipts == [Receipt(f"e{n}", n + 1, new=True) for n in range(len(events))]
    entries = store.entries(cook_id)
    assert [entry.event for entry in entries] == events
    assert [entry.seq for entry in entries] == list(range(1, len(events) + 1))
    assert {entry.by for entry in entries} == {"pit phone"}
    assert all(before <= entry.recorded_utc <= datetime.now(UTC) for entry in entries)
    assert store.ledger(cook_id) == Ledger.of(events)
    assert store.last_seq(cook_id) == store.cook(cook_id).last_seq == len(events)


def test_no_number_stays_no_number(store: Store, cook_id: str) -> None:
    store.append(cook_id, [Entry("r", reading(0, math.nan, rejected="set aside"))])
    store.append(cook_id, [Entry("l", replace(LOOK, kind="spot temperature", value=math.nan, rejected="set aside"))])
    (kept,), (look,) = store.ledger(cook_id).all_readings, store.ledger(cook_id).all_looks
    assert math.isnan(kept.value_c)
    assert math.isnan(look.value)
    (again,) = store.append(cook_id, [Entry("r", reading(0, math.nan, rejected="set aside"))])
    assert again == Receipt("r", 1, new=False)


def test_a_retry_is_known(store: Store, cook_id: str) -> None:
    entries = [Entry("a", reading(0)), Entry("b", LOOK), Entry("c", Correction("a", None, "wrong pit"))]
    first = store.append(cook_id, entries)
    assert store.append(cook_id, entries) == [replace(receipt, new=False) for receipt in first]
    mixed = store.append(cook_id, [Entry("d", ACT), *entries, Entry("d", ACT)])
    assert [(receipt.seq, receipt.new) for receipt in mixed] == [
        *((4, True), (1, False), (2, False), (3, False), (4, False))
    ]
    assert store.last_seq(cook_id) == 4
    assert len(store.entries(cook_id)) == 4


def test_a_retry_may_be_judged_anew_by_another_hand(store: Store, cook_id: str) -> None:
    store.append(cook_id, [Entry("a", reading(0, source_line=4), "logger")])
    again = Entry("a", reading(0, source_line=5, rejected="stuck"), "phone")
    assert store.append(cook_id, [again]) == [Receipt("a", 1, new=False)]
    assert store.entries(cook_id)[0].event == reading(0, source_line=4), "the first stands"


@pytest.mark.parametrize(
    "other",
    [
        reading(0, 121.0),
        reading(1),
        reading(0, on="small box"),
        reading(0, channel="probe"),
        reading(0, piece=1),
        reading(0, math.nan),
        LOOK,
        Correction("z", None),
    ],
)
def test_one_id_for_two_things_is_refused_and_nothing_of_it_kept(store: Store, cook_id: str, other: object) -> None:
    store.append(cook_id, [Entry("z", ACT), Entry("a", reading(0))])
    with pytest.raises(InputError, match=r"'a' is recorded already and says something else \(number 2\)") as fault:
        store.append(cook_id, [Entry("b", LOOK), Entry("a", other)])  # type: ignore[arg-type]
    assert fault.value.place.field == "id"
    with pytest.raises(InputError, match="'c' is recorded already"):
        store.append(cook_id, [Entry("c", LOOK), Entry("c", ACT)])
    assert [entry.id for entry in store.entries(cook_id)] == ["z", "a"]


def test_ids_are_a_cook_s_own(store: Store, cook_id: str) -> None:
    other = store.add_cook(PLAN, "lunch").id
    store.append(cook_id, [Entry("a", reading(0))])
    assert store.append(other, [Entry("a", LOOK)]) == [Receipt("a", 1, new=True)]
    with pytest.raises(InputError, match="no entry 'a' to correct"):
        store.append(store.add_cook(PLAN, "third").id, [Entry("b", Correction("a"))])


def test_corrections_take_back_and_put_right(store: Store, cook_id: str) -> None:
    late = replace(LOOK, value=0.55, text="amber")
    store.append(cook_id, [Entry("a", reading(0)), Entry("b", LOOK), Entry("c", ACT), Entry("d", reading(0, 130.0))])
    store.append(cook_id, [Entry("x", Correction("b", late, "looked again")), Entry("y", Correction("a"))])
    assert store.ledger(cook_id) == Ledger.of([late, ACT, reading(0, 130.0)])
    assert store.ledger(cook_id, until_seq=5) == Ledger.of([reading(0), late, ACT, reading(0, 130.0)])
    assert store.ledger(cook_id, until_seq=4) == Ledger.of([reading(0), LOOK, ACT, reading(0, 130.0)])
    store.append(cook_id, [Entry("z", Correction("a", reading(0, 99.0)))])
    assert store.ledger(cook_id).all_readings == (reading(0, 99.0), reading(0, 130.0)), "the latest holds, in its place"
    seen = {entry.id: entry for entry in store.entries(cook_id)}
    assert {name: entry.corrected_by for name, entry in seen.items() if entry.corrected_by} == {"a": "z", "b": "x"}
    assert seen["x"].event == Correction("b", late, "looked again")


def test_what_cannot_be_corrected(store: Store, cook_id: str) -> None:
    with pytest.raises(InputError, match="entry 'x': there is no entry 'a' to correct"):
        store.append(cook_id, [Entry("x", Correction("a")), Entry("a", ACT)])
    assert store.append(cook_id, [Entry("a", ACT), Entry("x", Correction("a"))])[1].new
    with pytest.raises(InputError, match=r"'x' is a correction itself\. Correct 'a' once more"):
        store.append(cook_id, [Entry("y", Correction("x"))])
    assert store.last_seq(cook_id) == 2


def test_entries_are_filtered_and_paged(store: Store, cook_id: str) -> None:
    store.append(cook_id, [Entry(f"r{n}", reading(n)) for n in range(5)])
    store.append(
        cook_id, [Entry("l", LOOK), Entry("a", ACT), Entry("x", Correction("l")), Entry("y", Correction("r1"))]
    )

    def ids(found: list[StoredEntry]) -> str:
        return " ".join(entry.id for entry in found)

    assert ids(store.entries(cook_id, 4)) == "r4 l a x y"
    assert ids(store.entries(cook_id, 1, 2)) == "r1 r2"
    assert ids(store.entries(cook_id, kinds=["look", "act"])) == "l a"
    assert ids(store.entries(cook_id, kinds=[])) == ""
    assert ids(store.entries(cook_id, on="racks")) == "l a x", "a correction is of what it corrects"
    assert ids(store.entries(cook_id, newest_first=True, limit=3)) == "y x a"
    assert ids(store.entries(cook_id, newest_first=True, before_seq=3)) == "r1 r0"
    with pytest.raises(InputError, match="'probe' is no kind of entry"):
        store.entries(cook_id, kinds=["probe"])


def test_a_cook_that_is_not_there(store: Store) -> None:
    for ask in (
        store.cook,
        store.ledger,
        store.entries,
        store.last_seq,
        store.export_csv,
        lambda name: store.append(name, [Entry("a", ACT)]),
        lambda name: list(store.export_jsonl(name)),
    ):
        with pytest.raises(InputError, match="there is no cook 'nobody'"):
            ask("nobody")


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (Entry("", ACT), "id"),
        (Entry(" a", ACT), "id"),
        (Entry("a ", ACT), "id"),
        (Entry("a\nb", ACT), "id"),
        (Entry("x" * 65, ACT), "id"),
        (Entry("a", replace(ACT, on="")), "on"),
        (Entry("a", replace(ACT, on="a\0b")), "on"),
        (Entry("a", replace(ACT, note="a\0b")), "note"),
        (Entry("a", replace(ACT, note="\ud800")), "note"),
        (Entry("a", replace(ACT, detail="x" * 4001)), "detail"),
        (Entry("a", replace(ACT, act="sang")), "what"),
        (Entry("a", replace(LOOK, text="\0")), "text"),
        (Entry("a", replace(LOOK, kind="smell")), "what"),
        (Entry("a", reading(0, channel="oven")), "channel"),
        (Entry("a", reading(0, rejected="\0")), "rejected"),
        (Entry("a", reading(0, piece=0)), "piece"),
        (Entry("a", reading(0, piece=10**12)), "piece"),
        (Entry("a", reading(0, at_utc=NOON.replace(tzinfo=None))), "at"),
        (Entry("a", reading(0, at_utc=NOON.replace(year=9999))), "at"),
        (Entry("a", Correction("", None)), "of_id"),
        (Entry("a", Correction("b", None, "\0")), "why"),
        (Entry("a", Correction("b", reading(0, piece=-1))), "piece"),
        (Entry("a", ACT, "\0"), "by"),
    ],
)
def test_what_no_store_can_keep_is_refused_by_name(store: Store, cook_id: str, entry: Entry, field: str) -> None:
    with pytest.raises(InputError) as fault:
        store.append(cook_id, [Entry("good", LOOK), entry])
    assert fault.value.place.field == field
    assert field == "id" or "entry 'a'" in fault.value.trouble
    assert store.last_seq(cook_id) == 0


def test_many_senders_at_once(store: Store, cook_id: str) -> None:
    """Numbers have no gaps and no twins; each sender's own entries keep their order, its batches stay together."""
    senders, batches, size = 6, 12, 5
    errors: list[BaseException] = []

    def send(sender: int) -> None:
        try:
            for batch in range(batches):
                ids = [f"{sender}-{batch}-{n}" for n in range(size)]
                receipts = store.append(cook_id, [Entry(name, reading(batch)) for name in ids])
                first = receipts[0].seq
                assert [(each.id, each.seq) for each in receipts] == [(name, first + n) for n, name in enumerate(ids)]
                assert store.last_seq(cook_id) >= receipts[-1].seq, "what is acknowledged can be seen"
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=send, args=(sender,)) for sender in range(senders)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not errors
    entries = store.entries(cook_id)
    assert [entry.seq for entry in entries] == list(range(1, senders * batches * size + 1))
    for sender in range(senders):
        own = [entry.id for entry in entries if entry.id.startswith(f"{sender}-")]
        assert own == [f"{sender}-{batch}-{n}" for batch in range(batches) for n in range(size)]


def test_a_bad_batch_does_not_take_those_beside_it(store: Store, cook_id: str) -> None:
    """All wait for one commit: the writer is held up until the three are in the queue."""
    gate = threading.Event()
    held: Future[None] = store._writer.submit(lambda _connection: gate.wait(60))
    good = store.append_soon(cook_id, [Entry("a", ACT)])
    bad = store.append_soon(cook_id, [Entry("b", LOOK), Entry("a", LOOK)])
    broken = store._writer.submit(lambda connection: connection.execute(text("SELECT * FROM nowhere")))
    last = store.append_soon(cook_id, [Entry("c", LOOK)])
    gate.set()
    held.result()
    assert good.result() == [Receipt("a", 1, new=True)]
    with pytest.raises(InputError, match="'a' is recorded already"):
        bad.result()
    with pytest.raises(StoreError, match="nowhere"):
        broken.result()
    assert last.result() == [Receipt("c", 2, new=True)]


def test_asyncio_waits_without_blocking(store: Store, cook_id: str) -> None:
    async def several() -> list[list[Receipt]]:
        futures = [store.append_soon(cook_id, [Entry(f"e{n}", reading(n))]) for n in range(20)]
        return await asyncio.gather(*(asyncio.wrap_future(each) for each in futures))

    assert [receipt.seq for (receipt,) in asyncio.run(several())] == list(range(1, 21))


def test_watchers_hear_of_each_commit_until_they_stop(store: Store, cook_id: str) -> None:
    told: list[tuple[str, int]] = []
    heard = threading.Event()

    def watcher(cook: str, seq: int) -> None:
        told.append((cook, seq))
        heard.set()

    stop = store.watch(watcher)
    store.append(cook_id, [Entry("a", ACT), Entry("b", LOOK)])
    assert heard.wait(60)
    assert told == [(cook_id, 2)]
    stop()
    store.append(cook_id, [Entry("c", ACT)])
    store.append(cook_id, [])
    assert told == [(cook_id, 2)]


def test_a_watcher_that_fails_harms_nobody(store: Store, cook_id: str, caplog: pytest.LogCaptureFixture) -> None:
    def waits(cook: str, _seq: int) -> None:
        store.append(cook, [Entry("never", ACT)])

    stop = store.watch(waits)
    store.append(cook_id, [Entry("a", ACT)])
    assert store.append(cook_id, [Entry("b", ACT)]) == [Receipt("b", 2, new=True)]
    stop()
    assert "a watcher waits for the writer" in caplog.text
    assert store.last_seq(cook_id) == 2


def test_the_ledger_only_grows(store: Store, cook_id: str) -> None:
    """Even a hand on the database itself changes no event."""
    store.append(cook_id, [Entry("a", ACT)])
    for statement in ("UPDATE events SET what = 'sauced'", "DELETE FROM events"):
        with pytest.raises(DatabaseError, match="only grows"), store._engine.begin() as connection:
            connection.execute(text(statement))
    assert store.ledger(cook_id) == Ledger.of([ACT])


def test_it_is_there_after_closing(address: str) -> None:
    with Store.open(address) as store:
        cook_id = store.add_cook(PLAN, "supper").id
        soon = [store.append_soon(cook_id, [Entry(f"e{n}", reading(n))]) for n in range(50)]
    assert all(each.result()[0].new for each in soon), "closing writes what waits"
    with pytest.raises(StoreError, match="closed"):
        store.append(cook_id, [Entry("late", ACT)])
    with Store.open(address) as again, Store.open(address) as beside:
        assert again.last_seq(cook_id) == 50
        again.append(cook_id, [Entry("x", ACT)])
        assert beside.append(cook_id, [Entry("x", ACT), Entry("y", ACT)]) == [
            Receipt("x", 51, new=False),
            Receipt("y", 52, new=True),
        ], "two programs on one store number as one"


def test_a_sender_that_runs_ahead_is_told(store: Store, cook_id: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from pitreckon.ledger.store import writer

    monkeypatch.setattr(writer, "_WAITING_ROWS", 3)
    gate = threading.Event()
    held = store._writer.submit(lambda _connection: gate.wait(60), rows=2)
    with pytest.raises(StoreError, match="cannot keep up"):
        store.append_soon(cook_id, [Entry("a", ACT), Entry("b", LOOK)])
    gate.set()
    held.result()
    assert [receipt.seq for receipt in store.append(cook_id, [Entry("a", ACT), Entry("b", LOOK)])] == [1, 2]


def test_ids_are_looked_up_one_by_one(tmp_path: Path) -> None:
    """Left to itself SQLite reads a cook's whole ledger instead, and taking in gets slower with each entry."""
    asked: list[tuple[str, object]] = []
    with Store.open(tmp_path / "ledger.sqlite") as store:
        cook_id = store.add_cook(PLAN, "supper").id

        @event.listens_for(store._engine, "before_cursor_execute")
        def note(_connection: object, _cursor: object, statement: str, values: object, *_rest: object) -> None:
            asked.append((statement, values))

        store.append(cook_id, [Entry(f"e{n}", reading(n)) for n in range(600)])
        questions = [each for each in asked if " id IN " in each[0]]
        assert len(questions) == 2
        with store._engine.connect() as connection:
            for statement, values in questions:
                plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
                assert "(cook_id=? AND id=?)" in str(plan)
