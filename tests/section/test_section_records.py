"""Records in little room: the same numbers as in an array that has room for all."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.section.records import BLANK, Packed, room
from pitreckon.section.trace import CHANNELS, Trace


def recorded(seed: int, records: int = 12, members: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """An array as a run leaves it, some channels in single precision, rubbish where nothing is; and where that is."""
    rng = np.random.default_rng(seed)
    ends = rng.integers(0, records + 1, members)
    blank = np.arange(records)[:, None] >= ends
    out = rng.normal(size=(records, len(CHANNELS), members))
    out[:, ::2] = out[:, ::2].astype(np.float32)
    out[:, 3][rng.random((records, members)) < 0.2] = np.nan
    out[:, 5] *= 1e300
    return out, blank


def trace_of(values) -> Trace:
    n = values.shape[2]
    empty = np.zeros((2, n))
    return Trace(np.arange(values.shape[0]) * 60.0, values, empty, empty, empty, empty[0], empty)


@settings(max_examples=examples(40), deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 14), st.integers(1, 6))
def test_it_reads_as_the_array_does(seed, records, members):
    out, blank = recorded(seed, records, members)
    packed = Packed.of(out, blank)
    whole = np.where(blank[:, None, :], np.nan, out)
    mine, its = trace_of(packed), trace_of(whole)
    assert mine.values.tobytes() == its.values.tobytes()
    assert mine.members == its.members == members
    index = np.random.default_rng(seed).permutation(members)[: max(members - 1, 1)]
    some, others = mine.take(index), its.take(index)
    for channel in CHANNELS:
        assert mine[channel].tobytes() == its[channel].tobytes()
        assert some[channel].tobytes() == others[channel].tobytes()
        written = mine.written(channel)
        assert written.tobytes() == its[channel][: len(written)].tobytes()
        for record in range(records):
            assert mine.row(channel, record).tobytes() == its.row(channel, record).tobytes()
        if records > 1:
            for at_s in (-5.0, 0.0, 30.0, 60.0 * records - 75.0, 1e6):
                assert mine.at(channel, at_s).tobytes() == its.at(channel, at_s).tobytes()
    for many in (0, 1, records):
        mine_some, its_some = np.empty((2, many, len(CHANNELS), members))
        mine.copy_to(mine_some)
        its.copy_to(its_some)
        assert mine_some.tobytes() == its_some.tobytes()


def test_what_is_blank_in_all_members_takes_no_room_but_for_two():
    out, _ = recorded(1, records=100, members=4)
    blank = np.arange(100)[:, None] >= np.array([3, 9, 0, 7])
    packed = Packed.of(out, blank)
    assert (packed.written, packed.shape) == (9 + BLANK, (100, len(CHANNELS), 4))
    assert {each.dtype.itemsize for each in packed.channels} == {4, 8}
    assert np.isnan(packed.series(0)[9:]).all()
    assert Packed.of(out, np.ones_like(blank)).written == BLANK
    assert Packed.of(out, np.zeros_like(blank)).written == 100


def test_single_precision_is_taken_only_where_it_is_exact():
    out, blank = recorded(2)
    blank[:] = False
    for channel, each in enumerate(Packed.of(out, blank).channels):
        assert (each.dtype == np.float32) is (channel % 2 == 0), CHANNELS[channel]


@pytest.mark.parametrize("shape", [(1, 2, 3), (300, 16, 64), (0, 16, 4)])
def test_room_is_an_array_like_another(shape):
    array = room(shape)
    assert array.shape == shape
    assert array.flags.c_contiguous
    assert array.flags.aligned
    array[:] = 1.0
    assert array.sum() == np.prod(shape)
