"""What a run has recorded, in little room.

A run is given room to its horizon, and most members are done long before; and what the kernel reckons in single
precision needs no more to be kept in. So records past the last one with anything in it are left out, and a channel is
kept in single precision where that is the same to the bit.
"""

from __future__ import annotations

import mmap
from dataclasses import dataclass
from math import prod
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools, Floats

BLANK = 2
"""Blank records that are kept behind the last one with anything in it, where there are any: who draws a straight line
between two records, or looks for the last number, finds there what all later ones would show."""


def room(shape: tuple[int, ...]) -> Floats:
    """An array of a run's records, of which only what is written to takes memory; NumPy's own would take huge pages."""
    many = 8 * prod(shape)
    if not hasattr(mmap, "MAP_PRIVATE") or many < mmap.ALLOCATIONGRANULARITY:
        return np.empty(shape)
    pages = mmap.mmap(-1, many, flags=mmap.MAP_PRIVATE | mmap.MAP_ANONYMOUS)
    return np.frombuffer(pages, dtype=np.float64).reshape(shape)


class Records(Protocol):
    """Records of an ensemble.

    shape: (records, channels, members), with those that are left out; written: how many are not
    """

    @property
    def shape(self) -> tuple[int, int, int]: ...
    @property
    def written(self) -> int: ...

    def series(self, channel: int) -> Floats:
        """A channel's written records, shape (written, members)."""

    def row(self, channel: int, record: int) -> Floats:
        """A channel at a record, shape (members,); nan past those that are written."""

    def take(self, index: NDArray[np.int64]) -> Records:
        """Some of the members, in the order of ``index``."""


@dataclass(frozen=True)
class Packed:
    """Each channel as an array (written, members), in single precision where exact; records: with those left out."""

    records: int
    channels: tuple[NDArray[np.float32] | Floats, ...]

    @classmethod
    def of(cls, out: Floats, blank: Bools) -> Packed:
        """``out`` [record, channel, member] where it is not ``blank`` [record, member]; the rest may hold anything."""
        records = blank.shape[0]
        full = np.flatnonzero(~np.asarray(blank.all(axis=1)))
        rows = min(int(full[-1]) + 1 + BLANK if full.size else BLANK, records)
        blank = blank[:rows]
        channels: list[NDArray[np.float32] | Floats] = []
        for channel in range(out.shape[1]):
            double = np.where(blank, np.nan, out[:rows, channel])
            with np.errstate(over="ignore"):
                single = double.astype(np.float32)
            channels.append(single if np.array_equal(single, double, equal_nan=True) else double)
        return cls(records, tuple(channels))

    @property
    def shape(self) -> tuple[int, int, int]:
        """Records, channels, members."""
        return self.records, len(self.channels), self.channels[0].shape[1]

    @property
    def written(self) -> int:
        """Records that are not left out."""
        return int(self.channels[0].shape[0])

    def series(self, channel: int) -> Floats:
        """A channel's written records, shape (written, members)."""
        return self.channels[channel].astype(np.float64, copy=False)

    def row(self, channel: int, record: int) -> Floats:
        """A channel at a record, shape (members,)."""
        if record >= self.written:
            return np.full(self.shape[2], np.nan)
        return np.asarray(self.channels[channel][record], dtype=np.float64)

    def take(self, index: NDArray[np.int64]) -> Packed:
        """Some of the members."""
        return Packed(self.records, tuple(each[:, index] for each in self.channels))
