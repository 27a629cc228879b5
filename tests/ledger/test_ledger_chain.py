"""The chain of hashes: its links by hand, and every way of tampering found and named."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.chain import canonical, chain_of, differences, digest

START = datetime(2026, 10, 17, 12, tzinfo=UTC)
PLAN = "[cook]\nname = 'supper'\n"


def entries(count: int = 8) -> list[Reading | Look | Act]:
    made: list[Reading | Look | Act] = [Act(START, "racks", "put on")]
    return made + [Reading(START + timedelta(minutes=n), "probe", "racks", None, 40.0 + n) for n in range(1, count)]


def test_the_digest_is_that_of_the_standard() -> None:
    """FIPS 180-4 and NIST's example of SHA-256: one block, "abc" (from memory)."""
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_each_link_by_hand() -> None:
    chain = chain_of(PLAN, entries(3))
    before = hashlib.sha256(PLAN.encode()).hexdigest()
    assert chain.plan == before
    for link, event in zip(chain.links, entries(3), strict=True):
        document = {
            "kind": "act" if isinstance(event, Act) else "reading",
            "at": event.at_utc.strftime("%Y-%m-%dT%H:%M:%SZ"),
        }
        if isinstance(event, Act):
            document |= {"on": "racks", "what": "put on"}
        else:
            document |= {"channel": "probe", "on": "racks", "value_c": event.value_c}  # type: ignore[dict-item, union-attr]
        own = hashlib.sha256(json.dumps(document, sort_keys=True, separators=(",", ":")).encode()).hexdigest()
        before = hashlib.sha256((before + own).encode()).hexdigest()
        assert (link.digest, link.link) == (own, before)
    assert chain.head == before


def test_nothing_differs_from_itself() -> None:
    assert differences(chain_of(PLAN, entries()), chain_of(PLAN, entries())) == ()


@pytest.mark.parametrize("place", range(8))
def test_a_changed_entry_is_found_and_named(place: int) -> None:
    events = entries()
    old = events[place]
    events[place] = replace(old, note="x") if isinstance(old, Act) else replace(old, value_c=99.0)  # type: ignore[call-arg]
    (found,) = differences(chain_of(PLAN, entries()), chain_of(PLAN, events))
    assert found.fault
    assert f"entry {place + 1} was changed" in found.words


@pytest.mark.parametrize("place", range(8))
def test_a_missing_entry_is_found_and_named(place: int) -> None:
    events = entries()
    del events[place]
    (found,) = differences(chain_of(PLAN, entries()), chain_of(PLAN, events))
    assert found.fault
    assert f"entry {place + 1} is missing" in found.words


@pytest.mark.parametrize("place", range(7))
def test_an_entry_put_in_between_is_found(place: int) -> None:
    events = entries()
    events.insert(place, Reading(START, "probe", "racks", None, 12.0))
    (found,) = differences(chain_of(PLAN, entries()), chain_of(PLAN, events))
    assert found.fault
    assert "was put in" in found.words


def test_entries_moved_are_found() -> None:
    events = entries()
    events[2], events[5] = events[5], events[2]
    found = differences(chain_of(PLAN, entries()), chain_of(PLAN, events))
    assert found
    assert all(each.fault for each in found)


def test_what_came_later_is_no_fault() -> None:
    (found,) = differences(chain_of(PLAN, entries(8)), chain_of(PLAN, entries(10)))
    assert not found.fault
    assert found.words.startswith("2 entries came after")


def test_another_plan_is_found() -> None:
    found = differences(chain_of(PLAN, entries()), chain_of(PLAN + " ", entries()))
    assert any("plan" in each.words and each.fault for each in found)


def test_a_link_that_was_changed_is_found() -> None:
    chain = chain_of(PLAN, entries())
    links = list(chain.links)
    links[3] = replace(links[3], link="0" * 64)
    found = differences(replace(chain, links=tuple(links)), chain_of(PLAN, entries()))
    assert any("its links was changed" in each.words for each in found)


LEAVES = st.none() | st.booleans() | st.integers(-9, 9) | st.text(max_size=4)
JSON = st.recursive(LEAVES, lambda x: st.lists(x) | st.dictionaries(st.text(max_size=3), x), max_leaves=8)


@given(JSON)
def test_canonical_json_is_one_form(value: object) -> None:
    once = canonical(value)
    assert canonical(json.loads(once)) == once
