"""What instruments say of the middle of a piece: a probe's readings, spot temperatures, checks, and a told start.

One place for it, used by the program and by the twins that it is checked on.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from pitreckon.arrays import Floats
from pitreckon.safety.history.checks import UNCHECKED, Allowed
from pitreckon.safety.history.history import MEASURED, RECKONED, REJECTED, Series
from pitreckon.safety.history.probe import CONTACT_K, sift_probe
from pitreckon.safety.wording import temperature

SOON_S: Final = 1800.0
"""A reading so soon after put-on tells how the piece began [s]: the middle has hardly moved."""
SAME_S: Final = 600.0
"""A spot temperature and a probe's readings so near to it are of one moment [s]."""
TOLD: Final = RECKONED
"""A start temperature that stands in the plan is no reading."""


@dataclass(frozen=True)
class Heard:
    """What was noted of one piece, times since its put-on [s], temperatures [degC].

    probe_s, probe_c: readings in order of time, one an instant; rejected: those refused before
    spots: temperatures taken by hand; of those of soon before put-on (times below zero) the last one stands for it
    air: of the pit, times and temperatures; off_pit_s: when it came off
    told_c: the start that the cook told; None: nobody did; taken_c: the one that members begin at
    probe, hand: what the two instruments are allowed
    """

    probe_s: Floats = field(default_factory=lambda: np.zeros(0))
    probe_c: Floats = field(default_factory=lambda: np.zeros(0))
    rejected: Sequence[bool] | None = None
    spots: tuple[tuple[float, float], ...] = ()
    air: tuple[ArrayLike, ArrayLike] | None = None
    off_pit_s: float = float("inf")
    told_c: float | None = None
    taken_c: float | None = None
    probe: Allowed = UNCHECKED
    hand: Allowed = UNCHECKED


@dataclass(frozen=True)
class Middle:
    """The series of the middle, what its instruments may be off by [K], how fast it can warm, and what was found.

    learned_k: of ``error_k``, what is there because the house has learned that an instrument is off
    start_seen: a reading of soon after put-on bears out how it is taken to have begun; notes: (time [s], words)
    """

    series: Series
    error_k: float
    start_seen: bool
    warms_k_per_s: float
    notes: tuple[tuple[float, str], ...]
    learned_k: float = 0.0

    @property
    def began_c(self) -> float:
        """How warm it may have been when it went on, by its first reading and its error [degC]; -inf: none."""
        used = (self.series.marks == MEASURED) & (self.series.at_s >= 0.0) & (self.series.at_s <= SOON_S)
        return float(self.series.temp_c[int(np.argmax(used)), 0]) + self.error_k if used.any() else -np.inf

    @property
    def used_s(self) -> Floats:
        """Times of the readings that count [s]."""
        return np.asarray(self.series.at_s[self.series.marks == MEASURED])


def middle_of(heard: Heard, fastest_k_per_s: float, at_first_k_per_s: float) -> Middle | None:
    """The middle of a piece by its instruments; None: nothing was noted.

    A told start stands only where a reading of soon after bears it out; a reading that is warmer than it drops it. A
    start that nobody told never stands.

    heard: what was noted
    fastest_k_per_s: how fast the middle of this piece can warm [K/s]; at_first_k_per_s: soon after put-on
    """
    probe_s = np.asarray(heard.probe_s, dtype=np.float64)
    if not probe_s.size and not heard.spots:
        return None
    points: dict[float, tuple[float, str]] = {}
    notes: list[tuple[float, str]] = []
    if probe_s.size:
        sifted = sift_probe(
            *(probe_s, heard.probe.true_c(np.asarray(heard.probe_c, dtype=np.float64))),
            fastest_k_per_s=fastest_k_per_s,
            air=heard.air,
            rejected=heard.rejected,
            off_pit_s=heard.off_pit_s,
        )
        notes += sifted.notes
        marks = (
            sifted.series.marks
            if heard.probe.fit
            else np.where(sifted.series.marks == MEASURED, REJECTED, sifted.series.marks)
        )
        points = {
            float(t): (float(sifted.series.temp_c[i, 0]), str(marks[i])) for i, t in enumerate(sifted.series.at_s)
        }
    probe_used = any(mark == MEASURED for _, mark in points.values())
    spots = _spots(heard, points)
    points |= spots
    of_probe, of_hand = [heard.probe.error_k] * probe_used, [heard.hand.error_k] * bool(spots)
    error_k = max(of_probe + of_hand, default=heard.probe.error_k)
    without_k = max(of_probe + [each - heard.hand.learned_k for each in of_hand], default=heard.probe.error_k)
    for instrument, used in ((heard.probe, bool(probe_s.size)), (heard.hand, bool(heard.spots))):
        notes += [(0.0, words) for words in instrument.notes if used]
    start_seen = _began(heard, points, notes)
    times = sorted(points)
    series = Series.of(times, [points[t][0] for t in times], [points[t][1] for t in times])
    return Middle(series, error_k, start_seen, at_first_k_per_s, tuple(sorted(notes)), error_k - without_k)


def _spots(heard: Heard, points: dict[float, tuple[float, str]]) -> dict[float, tuple[float, str]]:
    """Spot temperatures that count: the lowest of several of one moment."""
    if not heard.hand.fit:
        return {}
    probe = [(at, value) for at, (value, mark) in points.items() if mark == MEASURED]
    out: dict[float, tuple[float, str]] = {}
    before = [(at_s, read_c) for at_s, read_c in heard.spots if -SOON_S <= at_s < 0.0]
    began = [(0.0, max(before)[1])] if before and not any(at_s == 0.0 for at_s, _ in heard.spots) else []
    for at_s, read_c in (*began, *heard.spots):
        value_c = float(heard.hand.true_c(np.array([read_c]))[0])
        near = [value for at, value in probe if abs(at - at_s) <= SAME_S]
        higher = bool(near) and value_c > max(near) + CONTACT_K
        if at_s >= 0.0 and not higher:
            same = [v for a, v in probe if a == at_s] + [v for a, (v, _) in out.items() if a == at_s]
            out[at_s] = (min([value_c, *same]), MEASURED)
    return out


def _began(heard: Heard, points: dict[float, tuple[float, str]], notes: list[tuple[float, str]]) -> bool:
    """Put the told start into the points if a reading bears it out; does one bear out what the members begin at?"""
    used = sorted((at, value) for at, (value, mark) in points.items() if mark == MEASURED and 0.0 <= at <= SOON_S)
    if not used:
        return False
    first_s, first_c = used[0]
    if heard.told_c is not None and first_s > 0.0:
        if first_c <= heard.told_c + CONTACT_K:
            points[0.0] = (max(heard.told_c, first_c), TOLD)  # it has only warmed since
        else:
            told, read = temperature(heard.told_c), temperature(first_c)
            notes.append((first_s, f"the told start of {told} is left out, as the first reading is {read}"))
    taken_c = heard.told_c if heard.taken_c is None else heard.taken_c
    return taken_c is not None and first_c <= taken_c + CONTACT_K
