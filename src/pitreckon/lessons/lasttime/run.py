"""How an item went, on its own clock: stages, temperatures and looks by the time since put-on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.cook import Cook
from pitreckon.ledger import Ledger, Look, Reading
from pitreckon.ledger.events import CHECKS
from pitreckon.lessons.card.finished import FinishedItem, StageRecord, finished_item

MOST_POINTS: Final = 240
"""Of a line of a picture."""
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stage on the run's clock: from_s, until_s [s since put-on]."""

    record: StageRecord
    from_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class Run:
    """One item of a finished cook, on its own clock.

    name: of the cook; stretches: its stages; core, pit: what a probe in it and the pit's readout showed,
        (s since put-on, degC), thinned; looks: (s since put-on, look)
    """

    name: str
    finished: FinishedItem
    stretches: tuple[Stretch, ...]
    core: Points
    pit: Points
    looks: tuple[tuple[float, Look], ...]

    @property
    def off_s(self) -> float:
        """How long it was on the pit [s]."""
        return (self.finished.off_utc - self.finished.put_on_utc).total_seconds()

    @property
    def end_s(self) -> float:
        """How far there is anything to show [s since put-on]."""
        return max([self.off_s, *(each.until_s for each in self.stretches)])


def run_of(cook: Cook, ledger: Ledger, item: str | None, name: str = "") -> Run:
    """A finished item on its own clock. item: its label; None: the only one that is done.

    Raises InputError: there is no such item, or it is not off the pit
    """
    done = finished_item(cook, ledger, item)
    label, at_s, stretches = done.item.label, 0.0, []
    for record in done.stages:
        stretches.append(Stretch(record, at_s, at_s + record.took_s))
        at_s += record.took_s
    zero, end_s = done.put_on_utc.timestamp(), at_s

    def since(readings: Sequence[Reading]) -> Points:
        found = [(each.at_utc.timestamp() - zero, each.value_c) for each in readings]
        return thinned([pair for pair in found if 0.0 <= pair[0] <= end_s])

    probes = ledger.readings("probe", label)
    pieces = Counter(each.piece for each in probes)
    mine = [each for each in probes if pieces and each.piece == pieces.most_common(1)[0][0]]
    looks = [(each.at_utc.timestamp() - zero, each) for each in ledger.looks(label) if each.kind not in CHECKS]
    return Run(
        name or cook.name,
        done,
        tuple(stretches),
        since(mine),
        since(ledger.readings("pit air", done.item.pit)),
        tuple(pair for pair in looks if 0.0 <= pair[0] <= end_s),
    )


def thinned(points: Sequence[tuple[float, float]]) -> Points:
    """Every n-th, so that no more than ``MOST_POINTS`` are left, the last one among them."""
    step = -(-len(points) // MOST_POINTS) or 1
    kept = list(points[::step])
    return tuple(kept if not points or kept[-1] == points[-1] else [*kept, points[-1]])
