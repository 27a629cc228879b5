"""Two programs on one ledger: each hears at once of what the other commits, nothing is lost, nothing is doubled."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest
from tests.ledger.test_ledger_store_tables import address_of
from tests.patience import PATIENCE_S, until

from pitreckon.ledger import Act
from pitreckon.ledger.keeping.check import look_over
from pitreckon.ledger.store import Entry, Store
from pitreckon.ledger.store import store as store_module

NOON = datetime(2026, 10, 17, 12, tzinfo=UTC)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.servers)])
def address(request: pytest.FixtureRequest, tmp_path) -> str:  # type: ignore[no-untyped-def]
    return address_of(request.param, request, tmp_path)


@pytest.fixture
def both(address: str) -> Iterator[tuple[Store, Store]]:
    with Store.open(address) as one, Store.open(address) as other:
        one.add_cook("plan", "supper", cook_id="supper")
        yield one, other


def entry(key: str) -> Entry:
    return Entry(key, Act(NOON, "racks", "sauced"), "Ann")


def both_hear(both: tuple[Store, Store], here: list[int], there: list[int]) -> int:
    """Each appends until the other hears of it, as whoever watches begins to listen in a while; the last number."""
    for store, heard in zip(both, (there, here), strict=True):
        begins = len(heard)
        for n in count():
            store.append("supper", [entry(f"{store is both[0]} {n}")])
            time.sleep(0.1)
            if any(seq == store.last_seq("supper") for seq in heard[begins:]):
                break
            assert n < 10.0 * PATIENCE_S
    last = both[0].last_seq("supper")
    until(lambda: here[-1:] == there[-1:] == [last], "all that was said")
    return last


def test_the_other_s_commit_is_heard_of_and_one_s_own_only_once(both: tuple[Store, Store]) -> None:
    """At commit f67b174 the second server told of an act only by polling, 29 s later, and never as news."""
    one, other = both
    here: list[int] = []
    there: list[int] = []
    cooks: set[str] = set()
    for store, heard in ((one, here), (other, there)):
        store.watch(lambda cook_id, seq, heard=heard: (cooks.add(cook_id), heard.append(seq)))
    last = both_hear(both, here, there)
    here.clear()
    there.clear()
    one.append("supper", [entry("a")])
    until(lambda: there == [last + 1], "the one's commit at the other")
    other.append("supper", [entry("b"), entry("c")])
    until(lambda: here[-1:] == [last + 3], "the other's commit at the one")
    time.sleep(1.5)
    assert here == [last + 1, last + 3], "each once"
    assert there == [last + 1, last + 3]
    assert cooks == {"supper"}


def test_whoever_stopped_watching_hears_nothing(both: tuple[Store, Store]) -> None:
    one, other = both
    heard: list[int] = []
    stays: list[int] = []
    stop = one.watch(lambda _cook_id, seq: heard.append(seq))
    one.watch(lambda _cook_id, seq: stays.append(seq))
    other.watch(lambda _cook_id, _seq: None)
    both_hear(both, stays, stays)
    stop()
    known = len(heard)
    other.append("supper", [entry("a")])
    until(lambda: stays[-1] == other.last_seq("supper"), "the other's commit at whoever still watches")
    assert known > 0
    assert len(heard) == known


def test_two_write_at_once_and_a_third_sends_the_same_again(both: tuple[Store, Store]) -> None:
    one, other = both

    def write(store: Store, keys: list[str]) -> None:
        for key in keys:
            store.append("supper", [entry(key)])

    shared = [f"s{n}" for n in range(20)]
    threads = [
        threading.Thread(target=write, args=(store, [*(f"{name}{n}" for n in range(40)), *shared]))
        for store, name in ((one, "a"), (other, "b"))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [each.id for each in one.entries("supper")]
    assert len(kept) == len(set(kept)) == 100
    assert [each.seq for each in other.entries("supper")] == list(range(1, 101))


@pytest.mark.parametrize("jump", [timedelta(days=-400), timedelta(hours=-1), timedelta(days=400)])
def test_a_clock_that_jumps_loses_and_doubles_nothing(
    both: tuple[Store, Store], address: str, monkeypatch: pytest.MonkeyPatch, jump: timedelta
) -> None:
    one, other = both
    one.append("supper", [entry("before")])
    real = datetime.now(UTC)
    monkeypatch.setattr(store_module, "utc_now", lambda: real + jump)
    other.append("supper", [entry("while")])
    one.append("supper", [entry("before"), entry("while")])  # sent again: known again
    monkeypatch.undo()
    one.append("supper", [entry("after")])
    found = one.entries("supper")
    assert [(each.seq, each.id) for each in found] == [(1, "before"), (2, "while"), (3, "after")]
    assert abs(found[1].recorded_utc - (real + jump)) < timedelta(seconds=1), "as that clock had it"
    one.close()
    other.close()
    assert look_over(address).faults == ()
