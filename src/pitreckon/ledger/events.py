"""Readings, looks and acts, and the ledger that holds them in order of time.

A reading or a measured look outside its physical range is kept, with the reason in ``rejected``, and is
handed out by nothing but :attr:`Ledger.rejected`.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from operator import attrgetter
from typing import Final

from pitreckon.cook.looks import LOOK_KINDS

CHANNELS: Final = ("pit air", "probe")
LOOKS: Final = tuple(LOOK_KINDS)
PIT_LOOKS: Final = tuple(kind.name for kind in LOOK_KINDS.values() if kind.of_pit)
"""Looks at a pit, not at an item."""
CHECKS: Final = tuple(kind.name for kind in LOOK_KINDS.values() if kind.of_instrument)
"""What the probe in a piece, or the thermometer that spot temperatures are taken with, read in ice or boiling water."""
ITEM_ACTS: Final = ("put on", "wrapped", "unwrapped", "sauced", "took off", "moved", "rest", "hold", "served")
PIT_ACTS: Final = ("lit", "fed the fire", "filled the pan", "knocked the ash down", "shut down", "lid open", "set pit")
ACTS: Final = ITEM_ACTS + PIT_ACTS
OFF_ACTS: Final = ("took off", "rest", "hold", "served")
"""After one of these a piece is off the pit."""

PHOTO: Final = re.compile(r"\[photo ([0-9a-f]{64})\]")
"""How a note names its photo: by the SHA-256 of its file."""

# Beyond these a number is an instrument's fault, not a temperature.
PIT_AIR_RANGE_C: Final = (-40.0, 400.0)
MEAT_RANGE_C: Final = LOOK_KINDS["spot temperature"].range


@dataclass(frozen=True, slots=True)
class Reading:
    """A number from an instrument.

    at_utc: when
    channel: pit air | probe
    on: the pit's label for pit air, the item's label for a probe
    piece: which piece the probe is in, from 1; None: not said, or pit air
    value_c: [°C]; NaN when the instrument gave a fault code that was set aside
    rejected: why it is not used; None: it is used
    source_line: its line in the file that it came from
    """

    at_utc: datetime
    channel: str
    on: str
    piece: int | None
    value_c: float
    rejected: str | None = None
    source_line: int | None = None


@dataclass(frozen=True, slots=True)
class Look:
    """What the cook saw, felt or measured by hand on an item.

    kind: one of ``LOOKS``; its record is in :mod:`pitreckon.cook.looks`
    value: of a scale the level [-], 1.0 at the mark; of what is measured [°C], [m] or [kg]
    text: as the cook wrote it; note: what else the cook wrote
    by: whose eye or hand, "" where that is not known; no part of what was seen: two that differ in it alone are equal
    """

    at_utc: datetime
    on: str
    piece: int | None
    kind: str
    value: float
    text: str = ""
    rejected: str | None = None
    source_line: int | None = None
    note: str = ""
    by: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Act:
    """What the cook did to an item or a pit.

    on: the pit's label for fed the fire, lid open and set pit; else the item's
    detail: the wrap's catalog key for wrapped ("" when not said), the new pit's label for moved, else ""
    piece: which piece, from 1; None: all of them
    air_c: [°C] the new set temperature for set pit, the keeping temperature for hold
    duration_s: [s] how long, for lid open
    fuel_kg: [kg] how much, for fed the fire
    note: what else the cook wrote
    """

    at_utc: datetime
    on: str
    act: str
    detail: str = ""
    piece: int | None = None
    air_c: float | None = None
    duration_s: float | None = None
    fuel_kg: float | None = None
    source_line: int | None = None
    note: str = ""


Event = Reading | Look | Act
_at = attrgetter("at_utc")


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything recorded in one cook, each kind in order of time; rejected entries included.

    Use :meth:`readings`, :meth:`looks` and :meth:`acts`: they leave the rejected ones out.
    """

    all_readings: tuple[Reading, ...] = ()
    all_looks: tuple[Look, ...] = ()
    all_acts: tuple[Act, ...] = ()

    @classmethod
    def of(cls, events: Iterable[Event]) -> Ledger:
        """A ledger of these events in any order; those of one instant keep theirs."""
        readings: list[Reading] = []
        looks: list[Look] = []
        acts: list[Act] = []
        for event in events:
            if isinstance(event, Reading):
                readings.append(event)
            elif isinstance(event, Look):
                looks.append(event)
            else:
                acts.append(event)
        return cls(tuple(sorted(readings, key=_at)), tuple(sorted(looks, key=_at)), tuple(sorted(acts, key=_at)))

    def until(self, at_utc: datetime) -> Ledger:
        """The ledger as it stood at an instant: everything up to and at it."""
        return Ledger(
            self.all_readings[: bisect_right(self.all_readings, at_utc, key=_at)],
            self.all_looks[: bisect_right(self.all_looks, at_utc, key=_at)],
            self.all_acts[: bisect_right(self.all_acts, at_utc, key=_at)],
        )

    def readings(self, channel: str, on: str | None = None, piece: int | None = None) -> tuple[Reading, ...]:
        """The usable readings of a channel, of one pit or item and one piece if given, in order of time."""
        return tuple(
            entry
            for entry in self.all_readings
            if entry.rejected is None
            and entry.channel == channel
            and on in {None, entry.on}
            and piece in {None, entry.piece}
        )

    def looks(self, on: str | None = None) -> tuple[Look, ...]:
        """The usable looks, of one item if given, in order of time."""
        return tuple(look for look in self.all_looks if look.rejected is None and on in {None, look.on})

    def acts(self, on: str | None = None) -> tuple[Act, ...]:
        """The acts, on one item or pit if given, in order of time."""
        return tuple(act for act in self.all_acts if on in {None, act.on})

    @property
    def rejected(self) -> tuple[Reading | Look, ...]:
        """Every entry that is kept and not used, in order of time."""
        kept: list[Reading | Look] = [entry for entry in self.all_readings if entry.rejected is not None]
        kept += [look for look in self.all_looks if look.rejected is not None]
        return tuple(sorted(kept, key=_at))

    @property
    def events(self) -> tuple[Event, ...]:
        """Every entry, rejected ones included, in order of time."""
        every: list[Event] = [*self.all_readings, *self.all_acts, *self.all_looks]
        return tuple(sorted(every, key=_at))

    @property
    def first_utc(self) -> datetime | None:
        """When the earliest entry was made, UTC; None for an empty ledger."""
        starts = [kind[0].at_utc for kind in (self.all_readings, self.all_looks, self.all_acts) if kind]
        return min(starts, default=None)

    @property
    def last_utc(self) -> datetime | None:
        """When the latest entry was made, UTC; None for an empty ledger."""
        ends = [kind[-1].at_utc for kind in (self.all_readings, self.all_looks, self.all_acts) if kind]
        return max(ends, default=None)

    def __len__(self) -> int:
        return len(self.all_readings) + len(self.all_looks) + len(self.all_acts)
