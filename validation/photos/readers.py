"""Made-up readers who send a photo with their words: does it narrow what went wrong, and do the odds come true?

Readers are those of ``validation.readers.selfcheck``: drawn from the model with other seeds, so that this checks the
reckoning against itself. Their photos err by another law than the reckoning has: heavy tails, an error told too small
or too large, a stray in fifteen, and for every second reader a glaze whose browning is not seen at all. ``PLATE_SD``
and ``STRAY`` of ``lessons.diagnosis.seen`` were chosen on the cuts of ``FIT``; ``TEST`` was dealt before.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.lessons.diagnosis.causes import causes
from pitreckon.lessons.diagnosis.diagnose import Odds, weigh
from pitreckon.lessons.diagnosis.report import Report
from validation.photos.study import stream
from validation.readers.selfcheck import SimulatedReader, simulated_readers

FIT: Final = ("st-louis-ribs", "chicken-thigh")
TEST: Final = ("boston-butt", "back-ribs", "chicken-half")
LEAST: Final = 1e-3
GROUPS: Final = ("all", "said dark or pale", "said bitter", "said neither")
"""Readers by what they said of the plate, beside all of them."""


def photographed(reader: SimulatedReader, rng: np.random.Generator) -> tuple[float, float]:
    """Level and standard error that the reader's photo would give."""
    seen = reader.level if rng.random() < 0.5 else reader.shown
    sd = float(rng.uniform(0.07, 0.18))
    if rng.random() < 1.0 / 15.0:
        return float(rng.uniform(0.0, 1.4)), sd
    off = 0.09 * rng.standard_normal() + 0.8 * sd * rng.standard_t(4)
    return float(np.clip(seen + off, 0.0, 1.45)), sd


@dataclass(frozen=True, slots=True)
class Scores:
    """Of readers, each cause counted by its share. words, photo: without the photo and with it

    log: mean logarithm of the odds of the true cause; error: standard error of what the photo adds to it
    first, two: share where it stands first, among the first two
    spread: mean number of causes that hold the odds, as the exponential of their entropy
    said, true: mean of the odds of 0.5 and more, and how often they came true
    """

    readers: int
    log: tuple[float, float]
    error: float
    first: tuple[float, float]
    two: tuple[float, float]
    spread: tuple[float, float]
    said: tuple[float, float]
    true: tuple[float, float]


def scores(cuts: tuple[str, ...], each: int, seed: int) -> dict[str, Scores]:
    """Of the readers of some cuts, ``each`` drawn of every cause; by group."""
    rows, weight, groups = [], [], []
    for cut in cuts:
        weighed = weigh(Report(cut=cut, faults=("tough",), pit="kettle"))
        rng = stream("photographed", cut, seed)
        for reader in simulated_readers(cut, each, seed, tells=False):
            faults, photo = reader.report.faults, photographed(reader, rng)
            both = weighed.odds(faults), weighed.odds(faults, photo)
            rows.append([_row(odds, reader.cause) for odds in both])
            weight.append(causes()[reader.cause].share)
            coloured = bool({"too dark", "too pale"} & set(faults))
            groups.append(GROUPS[1] if coloured else GROUPS[2] if "bitter" in faults else GROUPS[3])
    table, share, group = np.array(rows), np.array(weight), np.array(groups)
    every = np.ones(group.size, dtype=bool)
    return {name: _scores(table[which], share[which]) for name, which in _each(group, every)}


def _each(group: np.ndarray, every: np.ndarray) -> list[tuple[str, np.ndarray]]:
    return [(name, every if name == "all" else group == name) for name in GROUPS]


def _scores(table: np.ndarray, share: np.ndarray) -> Scores:
    def mean(column: int) -> tuple[float, float]:
        of = np.average(table[:, :, column], axis=0, weights=share)
        return float(of[0]), float(of[1])

    def of_sure(column: int) -> tuple[float, float]:
        sure = table[:, :, 4] >= 0.5
        parts = [np.average(table[sure[:, k], k, column], weights=share[sure[:, k]]) for k in (0, 1)]
        return float(parts[0]), float(parts[1])

    gain = table[:, 1, 0] - table[:, 0, 0]
    error = float(np.sqrt(np.average((gain - np.average(gain, weights=share)) ** 2, weights=share) / len(gain)))
    return Scores(len(table), mean(0), error, mean(1), mean(2), mean(3), of_sure(4), of_sure(1))


def _row(odds: tuple[Odds, ...], cause: str) -> list[float]:
    chance = np.array([each.chance for each in odds])
    keys = [each.cause.key for each in odds]
    entropy = -float((chance * np.log(np.maximum(chance, 1e-12))).sum())
    own = chance[keys.index(cause)] if cause in keys else 0.0
    return [float(np.log(max(own, LEAST))), keys[0] == cause, cause in keys[:2], float(np.exp(entropy)), chance[0]]
