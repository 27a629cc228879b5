"""Where a plate stops being right: too dark, too pale, tough, mushy, dry, not hot enough inside, bitter.

Every mark is a judgement (common practice, no source) but the least temperature of the core, which is the catalog's.
What is usual for a cut is taken from its course, done as it should be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Cut
from pitreckon.lessons.diagnosis.run import BITTER

RAW: Final = "raw inside"


class Served(Protocol):
    """Plates as they are served, shape (members,) each.

    level: of colour, 1 as it should be; tender: 1 where a probe slides in; loss: water lost over the raw weight [-]
    peak_c: the hottest that the core was; dose: of its sugar
    """

    @property
    def level(self) -> Floats: ...
    @property
    def tender(self) -> Floats: ...
    @property
    def loss(self) -> Floats: ...
    @property
    def peak_c(self) -> Floats: ...
    @property
    def dose(self) -> Floats: ...


@dataclass(frozen=True, slots=True)
class Usual:
    """The middle of a cut done as it should be: colour level, tenderness, loss, hottest core, damp, shut."""

    level: float
    tender: float
    loss: float
    peak_c: float
    damp: float = 0.0
    shut: float = 0.0

    @classmethod
    def of(cls, plates: Served) -> Usual:
        """From an ensemble."""
        names = ("level", "tender", "loss", "peak_c", "damp", "shut")
        return cls(*(float(np.nanmedian(getattr(plates, name))) for name in names if hasattr(plates, name)))


@dataclass(frozen=True, slots=True)
class Marks:
    """Past these a plate is not right: colour levels, tenderness, loss [-], core temperatures [degC].

    rubbery_c: a cut that is done by its core was not hot enough to be pleasant; least_c: not hot enough to be safe
    """

    by_core: bool
    dark: float
    pale: float
    charred: float
    tough: float
    mushy: float
    rubbery_c: float
    dry: float
    least_c: float

    @classmethod
    def of(cls, cut: Cut, usual: Usual) -> Marks:
        """For a cut."""
        by_core = cut.texture.done_by == "core"
        return cls(
            by_core=by_core,
            dark=max(1.18, usual.level + 0.09),
            pale=min(0.78, usual.level - 0.2),
            charred=max(1.36, usual.level + 0.22),
            tough=0.84,
            mushy=usual.tender + 0.35 if by_core else max(1.13, usual.tender + 0.08),
            rubbery_c=usual.peak_c - 7.0,
            dry=usual.loss + 0.065,
            least_c=cut.texture.least_core_c.value,
        )

    def faults(self, plates: Served) -> dict[str, Bools]:
        """Which plates are past which mark, shape (members,) each; a plate that never got done is tough."""
        tender = np.nan_to_num(plates.tender, nan=0.0)
        tough = plates.peak_c < self.rubbery_c if self.by_core else tender < self.tough
        return {
            "too dark": plates.level > self.dark,
            "too pale": plates.level < self.pale,
            "tough": tough,
            "mushy": np.zeros_like(tough) if self.by_core else tender > self.mushy,  # what it loses tells there
            "dry": plates.loss > self.dry,
            RAW: ~(plates.peak_c >= self.least_c),
            "bitter": (plates.dose > BITTER) | (plates.level > self.charred),
        }
