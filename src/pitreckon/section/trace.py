"""What a run of the section leaves behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.section.records import Records

if TYPE_CHECKING:
    from pitreckon.section.snapshot import Snapshot


CHANNELS = (
    "core_c",
    "place1_c",
    "place2_c",
    "surface_c",  # mean of the upper faces
    "mean_c",  # mean of the meat by volume
    "air_c",
    "colour",
    "evaporated",  # share of the raw piece's mass
    "dripped",
    "gelatin_core",
    "gelatin_mean",
    "shrunk_mean",
    "glaze_ratio",  # glaze water per solids; nan where there is none
    "kill_log10",  # log10 of the equivalent seconds at 70 degC of the least-heated cell
    "stage",
    "activity",  # mean water activity of the upper faces
)
CHANNEL = {name: i for i, name in enumerate(CHANNELS)}

MARKS = ("colour_set", "tender", "core_done", "glaze_set", "too_dark", "too_soft")
MARK = {name: i for i, name in enumerate(MARKS)}


@dataclass(frozen=True)
class Trace:
    """Records of an ensemble.

    time_s: record times since put-on [s], shape (records,)
    recorded: shape (records, channels, members); nan after a member's course has ended
    marks_s: time of each mark, shape (marks, members); nan where not reached
    stage_end_s: end of each stage, shape (stages, members); nan where not reached
    balance: relative faults of the water and heat balances, shape (2, members)
    failed_s: when a member's numbers went out of bounds [s], shape (members,); nan for all that went well
    effort: steps taken and steps refused, shape (2, members)
    snapshot: the members at the moment that was asked to be kept
    """

    time_s: Floats
    recorded: Floats | Records
    marks_s: Floats
    stage_end_s: Floats
    balance: Floats
    failed_s: Floats
    effort: Floats
    snapshot: Snapshot | None = None

    @property
    def members(self) -> int:
        """How many."""
        return int(self.recorded.shape[2])

    @property
    def values(self) -> Floats:
        """All of it, shape (records, channels, members)."""
        if isinstance(self.recorded, np.ndarray):
            return self.recorded
        out = np.full(self.recorded.shape, np.nan)
        self.copy_to(out)
        return out

    def copy_to(self, out: Floats) -> None:
        """The first records, as many as ``out`` [record, channel, member] has room for."""
        if isinstance(self.recorded, np.ndarray):
            out[:] = self.recorded[: out.shape[0]]
            return
        rows = min(self.recorded.written, out.shape[0])
        out[rows:] = np.nan
        for channel in range(out.shape[1]):
            out[:rows, channel] = self.recorded.series(channel)[:rows]

    def __getitem__(self, channel: str) -> Floats:
        written = self.written(channel)
        if written.shape[0] == self.time_s.size:
            return written
        whole = np.full((self.time_s.size, written.shape[1]), np.nan)
        whole[: written.shape[0]] = written
        return whole

    def written(self, channel: str) -> Floats:
        """A channel without records that are blank in every member, but for two behind the last one that is not."""
        at = CHANNEL[channel]
        values: Floats = self.recorded[:, at] if isinstance(self.recorded, np.ndarray) else self.recorded.series(at)
        return values

    def row(self, channel: str, record: int) -> Floats:
        """A channel at a record, shape (members,)."""
        at = CHANNEL[channel]
        if isinstance(self.recorded, np.ndarray):
            values: Floats = self.recorded[record, at]
            return values
        return self.recorded.row(at, record)

    def take(self, index: NDArray[np.int64]) -> Trace:
        """Some of the members, in the order of ``index``."""
        old = self.recorded
        return Trace(
            self.time_s,
            np.ascontiguousarray(old[:, :, index]) if isinstance(old, np.ndarray) else old.take(index),
            np.ascontiguousarray(self.marks_s[:, index]),
            np.ascontiguousarray(self.stage_end_s[:, index]),
            np.ascontiguousarray(self.balance[:, index]),
            np.ascontiguousarray(self.failed_s[index]),
            np.ascontiguousarray(self.effort[:, index]),
            None if self.snapshot is None else self.snapshot.take(index),
        )

    def mark(self, name: str) -> Floats:
        """Times of a mark [s since put-on], nan where not reached; shape (members,)."""
        times: Floats = self.marks_s[MARK[name]]
        return times

    @property
    def failed(self) -> dict[int, str]:
        """Why a member failed, by member; empty when all went well."""
        return {
            int(i): f"numbers went out of bounds {self.failed_s[i] / 60:.0f} min after put-on"
            for i in np.flatnonzero(~np.isnan(self.failed_s))
        }

    @property
    def loss(self) -> Floats:
        """Water lost as a share of the raw piece, evaporated and dripped; shape (records, members)."""
        return self["evaporated"] + self["dripped"]

    def at(self, channel: str, time_s: float) -> Floats:
        """Channel at a time by linear interpolation between records; the last value holds after the end."""
        hi = int(np.clip(np.searchsorted(self.time_s, time_s), 1, self.time_s.size - 1))
        lo = hi - 1
        w = float(np.clip((time_s - self.time_s[lo]) / (self.time_s[hi] - self.time_s[lo]), 0.0, 1.0))
        out: Floats = (1 - w) * self.row(channel, lo) + w * self.row(channel, hi)
        return out
