"""The condensed ledger, and that one read on from where it was is the one read whole."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples
from tests.web.pit_server import COOK

from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.condense import EVERY_S, condensed
from pitreckon.ledger.store import Correction, Entry, Following, Store

START = datetime(2026, 10, 17, 12, tzinfo=UTC)
SECONDS = st.floats(0.0, 200.0).map(lambda s: START + timedelta(seconds=round(s, 1)))
READINGS = st.builds(
    Reading,
    SECONDS,
    st.just("pit air"),
    st.just("barn pit"),
    st.none(),
    st.floats(100.0, 150.0),
    st.sampled_from([None, None, None, "a spike"]),
    st.sampled_from([None, None, None, 7]),
)
LOOKS = st.builds(Look, SECONDS, st.just("racks"), st.none(), st.just("colour"), st.just(0.5), st.just("amber"))
ACTS = st.builds(Act, SECONDS, st.just("barn pit"), st.just("lid open"))
EVENTS = st.one_of(READINGS, READINGS, LOOKS, ACTS)


@given(st.lists(EVENTS, max_size=40))
def test_condensing_twice_changes_nothing(events: list[Reading | Look | Act]) -> None:
    once = condensed(Ledger.of(events))
    assert condensed(once) == once


@given(st.lists(EVENTS, max_size=40), SECONDS)
def test_cut_off_then_condensed_is_condensed_then_cut_off(events: list[Reading | Look | Act], at: datetime) -> None:
    ledger = Ledger.of(events)
    assert set(condensed(ledger.until(at)).events) == set(condensed(ledger).until(at).events)


@given(st.lists(READINGS, min_size=1, max_size=60))
def test_every_series_keeps_a_reading_of_each_stretch_and_no_two(readings: list[Reading]) -> None:
    live = [r for r in readings if r.source_line is None and r.rejected is None]
    kept = [r for r in condensed(Ledger.of(readings)).readings("pit air") if r.source_line is None]
    stretches = [int(r.at_utc.timestamp() // EVERY_S) for r in kept]
    assert len(stretches) == len(set(stretches))
    assert set(stretches) == {int(r.at_utc.timestamp() // EVERY_S) for r in live}
    files = [r for r in readings if r.source_line is not None]
    assert sum(r.source_line is not None for r in condensed(Ledger.of(readings)).all_readings) == len(files)


STEPS = st.lists(
    st.tuples(
        st.lists(st.tuples(EVENTS, st.integers(0, 3)), max_size=12),
        st.lists(st.integers(0, 1000), max_size=3),
        st.booleans(),
    ),
    max_size=5,
)


@settings(max_examples=examples(40), deadline=None)
@given(STEPS)
def test_read_on_is_read_whole(steps: list[tuple[list[tuple[Reading | Look | Act, int]], list[int], bool]]) -> None:
    with TemporaryDirectory() as folder, _store(Path(folder)) as store:
        following = Following(store)
        ids: list[str] = []
        events: dict[str, Reading | Look | Act] = {}
        for fresh, corrected, ask in steps:
            entries = []
            for event, _ in fresh:
                entry_id = f"e{len(ids)}"
                ids.append(entry_id)
                events[entry_id] = event
                entries.append(Entry(entry_id, event, "box"))
            for n, which in enumerate(corrected):
                if ids:
                    of = ids[which % len(ids)]
                    instead = None if which % 2 else events[of]
                    entries.append(Entry(f"c{len(ids)}-{n}-{which}", Correction(of, instead, "wrong"), "cook"))
            if entries:
                store.append("supper", entries)
            if ask:
                _same(following.ledger("supper"), condensed(store.ledger("supper")))
        _same(following.ledger("supper"), condensed(store.ledger("supper")))
        early = store.last_seq("supper") // 2
        _same(following.ledger("supper", early), condensed(store.ledger("supper", until_seq=early)))


def _same(one: Ledger, other: Ledger) -> None:
    """Nothing but the order of what was at one instant may differ."""
    key = repr
    assert sorted(one.events, key=key) == sorted(other.events, key=key)


def _store(folder: Path) -> Store:
    store = Store.open(folder / "ledger.sqlite")
    store.add_cook(COOK, "supper", cook_id="supper")
    return store
