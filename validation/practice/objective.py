"""What the calibration makes small: the misfit of the fit half's rows and of the fit experiments, as standard numbers.

A band is the range for nine cooks in ten, so its half width is 1.645 standard deviations of a single telling. Rows of
one cook and of one cut share one memory: each counts as a quarter of a row, that is with twice that deviation. A number
that is never reached stands 4 half bands off, whatever the constants: it says nothing about which way to go.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from validation.practice import adapter, runs, table
from validation.practice.fitexperiments import FitExperiment, fit_experiments, reckon
from validation.practice.parameters import Parameter, values_of
from validation.practice.runs import Numbers, Store
from validation.practice.score import uncut_half_bands, value_of, wanted
from validation.practice.table import Row

Floats = NDArray[np.float64]

NINE_IN_TEN_SD = 1.645
ROW_WORTH = 0.25
NEVER_HALF_BANDS = 4.0


def standard(half_bands: float) -> float:
    """Misfit in standard deviations of a row that counts as a quarter."""
    reached = half_bands if isfinite(half_bands) else NEVER_HALF_BANDS
    return reached * NINE_IN_TEN_SD * ROW_WORTH**0.5


def fitted_rows(halves: Mapping[str, str], half: str = "fit") -> list[Row]:
    """Rows of a half that can be fitted on: no conflict, a band with two ends, in the catalog."""
    lacking = runs.waiting(table.rows())
    return [
        row
        for row in table.rows()
        if halves[row.key] == half and row.status == "practice" and row.bounded and row.key not in lacking
    ]


@dataclass
class Objective:
    """Misfits of points; cooks that a parameter cannot change are not cooked again."""

    parameters: Sequence[Parameter]
    rows: Sequence[Row]
    experiments: Sequence[FitExperiment] = field(default_factory=fit_experiments)
    store: Store | None = None
    say: Callable[[str], None] = lambda text: None
    cooked: int = 0
    _numbers: dict[tuple[str, tuple[float, ...]], Numbers] = field(default_factory=dict)
    _reckoned: dict[tuple[str, tuple[float, ...]], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Which parameters touch which cook."""
        setups = table.setups()
        self._asked = wanted(self.rows)
        self._touching = {
            key: [i for i, p in enumerate(self.parameters) if p.touches(setups[key])] for key in self._asked
        } | {e.key: [i for i, p in enumerate(self.parameters) if p.touches(e.rests_on)] for e in self.experiments}

    def __call__(self, points: Sequence[Floats]) -> list[Floats]:
        """Misfits of each point: rows in their order, then experiments."""
        every = [values_of(self.parameters, x) for x in points]
        self._cook(every)
        out = []
        for values in every:
            numbers: Numbers = {}
            for key in self._asked:
                numbers.update(self._numbers[self._key(key, values)])
            z = [standard(uncut_half_bands(row, value_of(row, numbers))) for row in self.rows]
            for e in self.experiments:
                middle, half = 0.5 * (e.check.low + e.check.high), 0.5 * (e.check.high - e.check.low)
                z.append(standard((self._reckon(e, values) - middle) / half))
            out.append(np.array(z))
        return out

    def _key(self, key: str, values: Mapping[str, float]) -> tuple[str, tuple[float, ...]]:
        return key, tuple(values[self.parameters[i].address] for i in self._touching[key])

    def _cook(self, every: Sequence[Mapping[str, float]]) -> None:
        new: dict[tuple[str, tuple[float, ...]], dict[str, float]] = {}
        for values in every:
            for key in self._asked:
                name = self._key(key, values)
                if name not in self._numbers:
                    new[name] = {a: values[a] for a in (self.parameters[i].address for i in self._touching[key])}
        names = list(new)
        numbers = runs.numbers_of([(new[name], [name[0]]) for name in names], self.rows, self.store)
        self._numbers.update(zip(names, numbers, strict=True))
        self.cooked += len(names)

    def _reckon(self, experiment: FitExperiment, values: Mapping[str, float]) -> float:
        name = self._key(experiment.key, values)
        if name not in self._reckoned:
            addresses = [self.parameters[i].address for i in self._touching[experiment.key]]
            text = repr((adapter.kernel_mark(), name, addresses))
            kept = f"experiment {sha256(text.encode()).hexdigest()}"
            found = self.store.get([kept]) if self.store else {}
            if kept not in found:
                found[kept] = reckon(experiment, dict(zip(addresses, name[1], strict=True)))
                if self.store:
                    self.store.put(found)
            self._reckoned[name] = found[kept]
        return self._reckoned[name]
