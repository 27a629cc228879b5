"""The constants that are fitted, as data (``parameters.csv``), and their way to and from standard numbers.

A parameter stands as ``x``: how many prior standard deviations its value (or its logarithm) is from the prior's middle.
Kinds stand apart: "universal" is the model's own, "cut" what a cut of meat is, "pit" how a kind of cooker heats. A
parameter without a prior value has today's value for it. Several addresses in a row of names: the first one that the
kernel offers counts; a parameter that is not offered at all is reported by ``match``, never dropped in silence.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from validation.practice import adapter, table
from validation.practice.table import SetUp, TableError

Floats = NDArray[np.float64]
KINDS = ("universal", "pit", "cut")


@dataclass(frozen=True)
class Parameter:
    """One constant. prior, sd: middle and spread (of the logarithm where scale is "log"); low, high: its bounds."""

    name: str
    kind: str
    scale: str
    prior: float
    sd: float
    low: float
    high: float
    address: str
    note: str

    def value(self, x: float) -> float:
        """The constant itself."""
        raw = self.prior * exp(self.sd * x) if self.scale == "log" else self.prior + self.sd * x
        return min(max(raw, self.low), self.high)

    def x(self, value: float) -> float:
        """The standard number of a value."""
        return log(value / self.prior) / self.sd if self.scale == "log" else (value - self.prior) / self.sd

    def touches(self, setup: SetUp) -> bool:
        """Can it change this cook? False is certain, True is not."""
        kind, _, rest = self.address.partition(":")
        key = rest.partition(".")[0]
        if kind == "wrap":
            tented = {"foil": ("foil", "rest")}.get(key, (key,))  # foil is laid over what rests
            return any(stretch.state in tented for stretch in setup.course)
        if kind in {"pit", "cut"}:
            return adapter.key_of(kind, getattr(setup, kind)) == key
        return True


def read(path: Path = table.HERE / "parameters.csv") -> list[tuple[Parameter, tuple[str, ...]]]:
    """Every parameter with its possible addresses; ``prior`` is nan where it is today's. Raises TableError."""
    found = []
    with path.open(encoding="utf-8", newline="") as handle:
        for line, cells in enumerate(csv.DictReader(handle), start=2):
            at = f"{path.name}, line {line}"
            if cells["kind"] not in KINDS or cells["scale"] not in {"log", "linear"}:
                raise TableError(f"{at}: kind is one of {', '.join(KINDS)}, scale is log or linear")
            try:
                prior = float(cells["prior"] or "nan")
                sd, low, high = (float(cells[name]) for name in ("sd", "low", "high"))
            except ValueError:
                raise TableError(f"{at}: prior, sd, low and high are plain numbers. Mend them") from None
            if not (sd > 0.0 and low < high):
                raise TableError(f"{at}: sd has to be above 0 and low below high. Mend them")
            addresses = tuple(cells["address"].split("|"))
            held = Parameter(cells["name"], cells["kind"], cells["scale"], prior, sd, low, high, "", cells["note"])
            found.append((held, addresses))
    return found


def match(around_today: bool = False) -> tuple[list[Parameter], list[str]]:
    """Parameters that the kernel and the catalog offer today, and the names of those that they do not.

    around_today: priors stand about today's values (for a kernel that has not the laws the priors were set for)
    """
    offered, missing = [], []
    for parameter, addresses in read():
        values = {address: adapter.offered(address) for address in addresses}
        address = next((a for a in addresses if values[a] is not None), None)
        if address is None:
            missing.append(f"{parameter.name} ({' or '.join(addresses)})")
            continue
        today = values[address]
        assert today is not None
        prior = today if around_today or np.isnan(parameter.prior) else parameter.prior
        offered.append(replace(parameter, prior=prior, address=address))
    return offered, missing


def today(parameters: Sequence[Parameter]) -> Floats:
    """Standard numbers of the values that kernel and catalog have now."""
    values = [adapter.offered(p.address) for p in parameters]
    assert all(value is not None for value in values)
    return np.array([p.x(float(value)) for p, value in zip(parameters, values, strict=True)])  # type: ignore[arg-type]


def values_of(parameters: Sequence[Parameter], x: Floats) -> dict[str, float]:
    """Constants by address at a point."""
    return {p.address: p.value(float(xi)) for p, xi in zip(parameters, x, strict=True)}


def used(parameters: Iterable[Parameter], setups: Mapping[str, SetUp], keys: Iterable[str]) -> list[Parameter]:
    """Those that can change any of these cooks: a pit or a cut that no row of the fit has stays as it is."""
    cooks = [setups[key] for key in keys]
    return [p for p in parameters if any(p.touches(cook) for cook in cooks)]
