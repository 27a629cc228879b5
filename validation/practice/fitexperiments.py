"""Published experiments that are in the fit (``fit_experiments.csv``); the checks are those of ``validation.run``.

A check is reckoned by its own file with other constants in force; what that file has kept from a run is dropped.
"""

from __future__ import annotations

import csv
import importlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import nan

from validation import lab
from validation.check import Check
from validation.practice import adapter, table
from validation.practice.table import SetUp, Stretch


@dataclass(frozen=True)
class FitExperiment:
    """A check and, as a set-up, what of the catalog it rests on."""

    key: str
    check: Check
    rests_on: SetUp


@cache
def fit_experiments() -> tuple[FitExperiment, ...]:
    """All of them. Raises TableError where a name is unknown."""
    found = []
    with (table.HERE / "fit_experiments.csv").open(encoding="utf-8", newline="") as handle:
        for line, cells in enumerate(csv.DictReader(handle), start=2):
            group = importlib.import_module(f"validation.experiments.{cells['module']}").GROUP
            check = next((c for c in group.checks if c.key == cells["check"]), None)
            if check is None:
                raise table.TableError(
                    f"fit_experiments.csv, line {line}: {cells['module']} has no check '{cells['check']}'. "
                    f"It has {', '.join(c.key for c in group.checks)}"
                )
            course = (Stretch(cells["wrap"] or "bare", "never"),)
            key = f"{cells['module']}.{cells['check']}"
            on = SetUp(key, cells["cut"], 1.0, 1.0, 40.0, 0.0, cells["pit"], 300.0, False, 0.5, course, 1.0)
            found.append(FitExperiment(key, check, on))
    return tuple(found)


def reckon(experiment: FitExperiment, values: Mapping[str, float]) -> float:
    """The check's number with other constants; nan where its cook does not end."""
    lab.forget()
    try:
        with adapter.override(values):
            return experiment.check.measure()
    except (RuntimeError, IndexError):
        return nan
    finally:
        lab.forget()
