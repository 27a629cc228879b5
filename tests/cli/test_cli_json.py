"""``--json``: one documented object, ordered, in agreement with itself, and the same to the byte."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from conftest import Call, outlook_of

from pitreckon.reckon import MARK_NAMES
from pitreckon.reckon.document import NumberDocument, OutlookDocument, TimeDocument

pytestmark = pytest.mark.kernel

FEW = ("--members", "8", "--json")


def _moments(outlook: OutlookDocument) -> Iterator[tuple[OutlookDocument, TimeDocument]]:
    for item in outlook.items:
        for stage in item.stages:
            yield item, stage.begins
            yield item, stage.ends
        for window in item.windows:
            yield item, window.opens
            yield item, window.closes
        for name in MARK_NAMES:
            yield item, getattr(item.marks, name)


def test_the_object_is_the_documented_one(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    answer = pitreckon("reckon", cook_file, "--log", log_file, "--seed", "3", *FEW)
    assert (answer.code, answer.err) == (0, "")
    outlook = outlook_of(answer)  # unknown or missing keys are refused
    assert (outlook.seed, outlook.members, outlook.zone) == (3, 8, "America/Chicago")
    assert outlook.now.isoformat() == "2026-10-17T22:05:00+00:00"
    (item,) = outlook.items
    assert (item.cut, item.pieces, item.put_on_planned) == ("chicken-wing", 24, False)
    assert 0.0 < item.core_c.p50 < 100.0
    assert 0.0 < item.loss_fraction.p50 < 0.3
    assert item.on_time is not None


def test_quantiles_are_in_order_and_seconds_agree_with_instants(pitreckon: Call, cook_file: Path) -> None:
    outlook = outlook_of(pitreckon("reckon", cook_file, *FEW))
    known = 0
    for item, moment in _moments(outlook):
        seconds = [moment.p05_s, moment.p50_s, moment.p95_s]
        instants = [moment.p05, moment.p50, moment.p95]
        beyond = [math.inf if value is None else value for value in seconds]
        assert beyond == sorted(beyond)
        assert 0.0 <= moment.reached <= 1.0
        for value, instant in zip(seconds, instants, strict=True):
            assert (value is None) == (instant is None)
            if value is not None and instant is not None:
                known += 1
                assert abs(instant - item.put_on - timedelta(seconds=value)) < timedelta(milliseconds=1)
                assert instant.utcoffset() == timedelta(0)
    assert known > 12
    for item in outlook.items:
        for number in (getattr(item, name) for name in type(item).model_fields):
            if isinstance(number, NumberDocument):
                assert number.p05 <= number.p50 <= number.p95


def test_trips_agree_with_themselves(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    for ask in ((cook_file,), (cook_file, "--log", log_file)):
        outlook = outlook_of(pitreckon("reckon", *ask, *FEW))
        (item,) = outlook.items
        tasks = [task.act for trip in outlook.trips for task in trip.tasks]
        assert tasks == [window.act for window in item.windows]
        assert tasks == ["put on", "sauce", "take off"][not item.put_on_planned :]
        assert (outlook.free_until, outlook.be_back_by) == (
            outlook.trips[0].no_sooner_than,
            outlook.trips[0].no_later_than,
        )
        before = outlook.now
        for trip in outlook.trips:
            assert before <= trip.no_sooner_than <= trip.at <= trip.no_later_than
            before = trip.at
            assert all(task.pit == "barn kettle" and task.pieces == 24 for task in trip.tasks)
        assert 0.0 <= item.windows[-1].too_late_now <= item.windows[-1].open_now <= 1.0


def test_same_seed_same_bytes_whatever_the_threads(
    pitreckon: Call, cook_file: Path, log_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """40 members are two blocks of the kernel, so that two threads do share the work."""
    ask = ("reckon", cook_file, "--log", log_file, "--members", "40", "--json")
    outs = []
    for cores in (1, 2):
        monkeypatch.setattr(os, "cpu_count", lambda cores=cores: cores)
        outs.append(pitreckon(*ask).out)
    assert outs[0] == outs[1]
    assert json.loads(outs[0])["members"] == 40


def test_another_seed_other_draws(pitreckon: Call, cook_file: Path) -> None:
    one, two = (json.loads(pitreckon("reckon", cook_file, *FEW, "--seed", seed).out) for seed in "12")
    assert one["items"][0]["marks"]["ready"] != two["items"][0]["marks"]["ready"]


def test_rejected_entries_are_in_it(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    log_file.write_text(log_file.read_text() + "17:10,reading,wings,1,probe,300 F,\n")
    outlook = outlook_of(pitreckon("reckon", cook_file, "--log", log_file, *FEW))
    (told,) = outlook.rejected
    assert "300 °F" in told
    assert "line 7" in told
