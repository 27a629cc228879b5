"""The end of the update by lines: futures moved, the past untouched, and the algebra against a closed form."""

from dataclasses import replace

import numpy as np
import pytest
from tests.reckon.supper import START

from pitreckon.cook import StagePlan, Until
from pitreckon.reckon.evidence import Predicted
from pitreckon.reckon.pace import Pace, Stretched, _moved, pace_like
from pitreckon.reckon.stages import Stage
from pitreckon.reckon.update import Information, weigh
from pitreckon.section.records import Packed
from pitreckon.section.trace import CHANNELS, MARKS, Trace

N = 400


def trace(n=3):
    times = np.arange(0.0, 7200.0 + 1.0, 300.0)
    values = np.tile(times[:, None, None], (1, len(CHANNELS), n))
    marks = np.full((len(MARKS), n), np.nan)
    marks[0], marks[1] = 1200.0, 4800.0
    ends = np.array([[1500.0] * n, [4800.0] * n, [5400.0] * n])
    return Trace(times, values, marks, ends, np.zeros((2, n)), np.full(n, np.nan), np.zeros((2, n)))


STAGES = (
    Stage(StagePlan("open", Until("colour")), None, None, False),
    Stage(StagePlan("wrapped", Until("tender"), wrap="foil"), "foil", None, True),
    Stage(StagePlan("rest", Until("minutes", 600.0)), "foil"),
)


def pace(n=3):
    was = np.array([[3600.0] * n, [4800.0] * n])
    then = np.array([[3600.0] * n, [4800.0, 6000.0, 4200.0][:n]])
    return Pace(3600.0, was, then)


def test_a_future_is_moved_and_a_past_is_not():
    moved = pace().applied(trace(), STAGES)
    np.testing.assert_array_equal(moved.marks_s[0], 1200.0)
    np.testing.assert_allclose(moved.marks_s[1], [4800.0, 6000.0, 4200.0])
    np.testing.assert_allclose(moved.stage_end_s[2], [5400.0, 6600.0, 4800.0])  # a rest keeps its length
    now = int(np.searchsorted(moved.time_s, 3600.0, side="right"))
    np.testing.assert_array_equal(moved.values[:now], trace().values[:now])


def test_what_a_channel_showed_it_shows_at_the_moved_time():
    moved = pace().applied(trace(), STAGES)
    # Each channel is the time at which it was: at a moved mark, that of the mark.
    for m, at in enumerate((4800.0, 6000.0, 4200.0)):
        assert moved.at("core_c", at)[m] == pytest.approx(4800.0)
    assert moved.at("core_c", 4800.0)[1] == pytest.approx(4200.0)  # half of the way there


def all_at_once(records, high, share, ahead):
    """Every channel of every record, moved by the same straight lines in one array."""
    low, up = (np.take_along_axis(records, at[:, None, :], axis=0) for at in (high - 1, high))
    share = share[:, None, :]
    moved = np.where(share <= 0.0, low, np.where(np.isfinite(up), (1.0 - share) * low + share * up, up))
    return np.concatenate((records[:ahead], moved))


@pytest.mark.parametrize("seed", range(6))
def test_records_that_are_stretched_when_asked_for_are_those_stretched_at_once(seed):
    rng = np.random.default_rng(seed)
    n, records, ahead = 7, 40, int(rng.integers(1, 38))
    out = rng.normal(size=(records, len(CHANNELS), n))
    out[:, ::2] = out[:, ::2].astype(np.float32)
    blank = np.arange(records)[:, None] >= rng.integers(0, 30, n)
    base = replace(trace(n), time_s=np.arange(records) * 300.0, recorded=Packed.of(out, blank))
    high = rng.integers(1, records, (records - ahead, n))
    share = np.clip(rng.normal(0.5, 0.6, high.shape), 0.0, 1.0)
    moved = replace(base, recorded=Stretched.of(base, ahead, high, share))
    whole = all_at_once(base.values, high, share, ahead)
    assert moved.values.tobytes() == whole.tobytes()
    index = rng.permutation(n)[:4]
    some = moved.take(index)
    assert some.values.tobytes() == np.ascontiguousarray(whole[:, :, index]).tobytes()
    for channel in (0, 5):
        name = CHANNELS[channel]
        assert moved[name].tobytes() == np.ascontiguousarray(whole[:, channel]).tobytes()
        for record in range(records):
            assert moved.row(name, record).tobytes() == whole[record, channel].tobytes()
            assert some.row(name, record).tobytes() == whole[record, channel, index].tobytes()


def test_a_clock_is_not_moved():
    stages = (*STAGES[:2], Stage(StagePlan("hold", Until("clock", START), air_c=65.0), None))
    assert pace().applied(trace(), stages).stage_end_s[2].tolist() == [5400.0, 6000.0, 5400.0]


def test_another_course_goes_at_the_same_pace():
    longer = trace()
    longer.stage_end_s[1] = 6000.0
    other = pace_like(pace(), longer, STAGES)
    assert other is not None
    np.testing.assert_allclose(other.then[-1], [6000.0, 8400.0, 4800.0])
    assert pace_like(pace(), longer, STAGES[2:]) is None


def test_lines_give_the_normal_posterior_where_few_members_count():
    """The logarithm of a time is a straight line of ten unknowns, seen ten times sharper than members can follow."""
    rng = np.random.default_rng(5)
    unknowns, seen = 10, 8
    slope_t, h = 0.1 * rng.standard_normal(unknowns), rng.standard_normal((seen, unknowns))
    z = rng.standard_normal((unknowns, N))
    truth = rng.standard_normal(unknowns)
    error = 0.3
    value = h @ truth + error * rng.standard_normal(seen)
    predicted = Predicted(tuple(("x", float(k)) for k in range(seen)), value, h @ z, error**2 * np.eye(seen))
    miss = value[:, None] - h @ z
    log_likelihood = -0.5 * np.sum((miss / error) ** 2, axis=0)
    times = np.exp(9.0 + slope_t @ z)
    evidence = weigh(np.zeros(N), log_likelihood, predicted)
    assert evidence.ess_untempered < 0.05 * N
    moved = _moved(times, z, evidence.weights, log_likelihood, predicted, Information.none(unknowns))
    assert moved is not None
    covariance = np.linalg.inv(np.eye(unknowns) + h.T @ h / error**2)
    mean, sd = 9.0 + slope_t @ covariance @ h.T @ value / error**2, np.sqrt(slope_t @ covariance @ slope_t)
    logs = np.log(moved)
    got = evidence.weights @ logs
    assert got == pytest.approx(mean, abs=0.35 * sd)
    assert np.sqrt(evidence.weights @ (logs - got) ** 2) == pytest.approx(sd, rel=0.3)
    # The members alone are wider or elsewhere.
    alone = np.sqrt(evidence.weights @ (np.log(times) - evidence.weights @ np.log(times)) ** 2)
    assert alone > 1.1 * sd
