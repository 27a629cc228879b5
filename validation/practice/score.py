"""A row against its band: hit or miss, how far from the middle in half bands, and the sign by itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, sqrt

from validation.practice.table import Row

CUT = 3.0
"""Distances are cut here, so that one row far off does not weigh as much as many; so is a number never reached."""


@dataclass(frozen=True)
class Scored:
    """A row and what the model gives; value is nan where it was never reached."""

    row: Row
    value: float

    @property
    def hit(self) -> bool:
        """In the band, its ends included."""
        return self.row.low <= self.value <= self.row.high

    @property
    def half_bands(self) -> float:
        """Signed distance from the band's middle in half bands, cut at 3; nan for a band without two ends."""
        if not self.row.bounded:
            return float("nan")
        if not isfinite(self.value):
            return CUT
        return max(-CUT, min(CUT, uncut_half_bands(self.row, self.value)))

    @property
    def sign_right(self) -> bool | None:
        """Does it go the right way? None: the row has no sign. Nothing at all is no way."""
        if not self.row.sign:
            return None
        change = self.value - (1.0 if self.row.form == "ratio" else 0.0)
        return change > 0.0 if self.row.sign == "+" else change < 0.0


def uncut_half_bands(row: Row, value: float) -> float:
    """Signed distance from the middle of a bounded band in half bands."""
    return (value - 0.5 * (row.low + row.high)) / (0.5 * (row.high - row.low))


def value_of(row: Row, numbers: Mapping[tuple[str, str, str], float]) -> float:
    """A row's value from the numbers of its cooks by (set-up, quantity, unit)."""
    own = numbers[row.setup, row.quantity, row.unit]
    if row.form == "value":
        return own
    other = numbers[row.against, row.quantity, row.unit]
    if row.form == "less":
        return own - other
    return own / other if other else float("nan")


def wanted(rows: Iterable[Row]) -> dict[str, list[tuple[str, str]]]:
    """What has to be measured on each set-up: (quantity, unit)."""
    found: dict[str, dict[tuple[str, str], None]] = {}
    for row in rows:
        for key in row.setups:
            found.setdefault(key, {})[row.quantity, row.unit] = None
    return {key: list(each) for key, each in found.items()}


@dataclass(frozen=True)
class Tally:
    """Rows counted: hits of rows, rms distance [half bands], signs right of signs."""

    rows: int
    hits: int
    rms: float
    signs: int
    signs_right: int

    def __str__(self) -> str:
        share = f" ({100.0 * self.hits / self.rows:.0f} %)" if self.rows else ""
        return (
            f"{self.hits} of {self.rows}{share} hit, rms {self.rms:.2f} half bands, "
            f"{self.signs_right} of {self.signs} signs"
        )


def tally(scored: Sequence[Scored]) -> Tally:
    """Count."""
    far = [s.half_bands for s in scored if s.row.bounded]
    signs = [s.sign_right for s in scored if s.sign_right is not None]
    rms = sqrt(sum(d * d for d in far) / len(far)) if far else float("nan")
    return Tally(len(scored), sum(s.hit for s in scored), rms, len(signs), sum(signs))
