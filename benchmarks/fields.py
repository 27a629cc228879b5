"""``python -m benchmarks.run fields``: what it costs to see every cell of every member, as labelled arrays.

A simulation that stops for its fields is held against one run of the same job that keeps nothing but its records, in
turns and by processor time on one thread, so that what else the machine does counts for little.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xarray as xr

import pitreckon as pr
from pitreckon import catalog
from pitreckon.library import given
from pitreckon.reckon.prepare import ensemble
from pitreckon.section.simulate import simulate_all

WHAT = (("St. Louis ribs", 6.0), ("Boston butt", 14.0), ("Brisket flat", 14.0))
"""Cuts, and how long each is followed [h]."""
MEMBERS, EVERY_S = 64, 600.0
PIT = "pellet-cooker"


def processor_s(work: Callable[[], object]) -> float:
    """Processor time of one call [s]."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def field_rows(rounds: int = 5) -> list[dict[str, Any]]:
    """A row for each cut."""
    return [_row(cut, hours, rounds) for cut, hours in WHAT]


def _row(cut: str, hours: float, rounds: int) -> dict[str, Any]:
    kind = catalog.cut(cut)
    track = given.track_of(kind, given.pit_of(PIT, kind, None), (), given.Meat(), 1)
    horizon_s = hours * 3600.0
    job = ensemble(track, track.prior(MEMBERS), horizon_s).job

    def fields() -> xr.Dataset:
        return pr.simulate(cut, PIT, members=MEMBERS, every_s=EVERY_S, until_s=horizon_s, threads=1)

    def once() -> object:
        return simulate_all([job], threads=1)

    once()
    arrays = fields()
    took = [(processor_s(once), processor_s(fields)) for _ in range(rounds)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "run.nc"
        written = [processor_s(lambda: arrays.to_netcdf(path)) for _ in range(rounds)]
        size_mb = path.stat().st_size / 1e6

        def back() -> None:
            with xr.open_dataset(path) as opened:
                opened.load()

        read = [processor_s(back) for _ in range(rounds)]
    return {
        "cut": kind.name,
        "hours": hours,
        "members": MEMBERS,
        "cells": arrays.sizes["cell"],
        "times": arrays.sizes["time"],
        "once_ms_member": min(each for each, _ in took) / MEMBERS * 1e3,
        "fields_ms_member": min(each for _, each in took) / MEMBERS * 1e3,
        "over_once": statistics.median(with_fields / alone for alone, with_fields in took),
        "memory_mb": arrays.nbytes / 1e6,
        "file_mb": size_mb,
        "write_ms": min(written) * 1e3,
        "read_ms": min(read) * 1e3,
    }
