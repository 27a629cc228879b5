"""Time-temperature tables of the official guidelines: looked up, never fitted and never interpolated."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, floor, isfinite
from pathlib import Path

from pitreckon.errors import InputError
from pitreckon.units import celsius_from_fahrenheit

DATA = Path(__file__).parents[1] / "data"
UNKNOWN_FAT = 12.0
"""Fat of poultry that nobody knows, and the most that the tables have [%]: FSIS-GD-2021-14, p. 39."""
CHICKEN, TURKEY = "fsis2021_chicken_time_temperature", "fsis2021_turkey_time_temperature"


@dataclass(frozen=True, slots=True)
class Row:
    """A temperature [degF] and how long all parts must stay at or above it [s]; 0: reaching it is enough."""

    temp_f: float
    hold_s: float

    @property
    def temp_c(self) -> float:
        """The temperature, exactly [degC]."""
        return celsius_from_fahrenheit(self.temp_f)


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of a shipped table by column, as printed."""
    text = (DATA / f"{name}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple(csv.DictReader(lines))


@cache
def source_of(name: str) -> str:
    """Where a shipped table is from, and what is said of it."""
    text = (DATA / f"{name}.csv").read_text(encoding="utf-8")
    lines = [line.removeprefix("#").strip() for line in text.splitlines() if line.startswith("#")]
    return " ".join(lines).removeprefix("Source: ")


@cache
def column(name: str, hold: str) -> tuple[Row, ...]:
    """One column of a table as rows, the coldest first."""
    return tuple(Row(float(each["temp_f"]), float(each[hold])) for each in table(name))


@cache
def poultry(species: str, fat_percent: float | None = None) -> tuple[Row, ...]:
    """Rows for a bird of so much fat.

    species: "chicken", "turkey", or anything else for other and mixed species: the longer time of the two tables
    fat_percent: 0 to 100 [%]; None: not known, as 12. Above 12 counts as 12, below 1 as 1. Between two columns the
        longer time of both counts, because a few printed cells fall as fat rises

    Raises InputError: a fat content that cannot be
    """
    fat = UNKNOWN_FAT if fat_percent is None else fat_percent
    if not isfinite(fat) or not 0.0 <= fat <= 100.0:
        raise InputError(f"a fat content of {fat:g} % cannot be", "Write 0 to 100, or leave it out")
    fat = min(max(fat, 1.0), UNKNOWN_FAT)
    names = {"chicken": (CHICKEN,), "turkey": (TURKEY,)}.get(species, (CHICKEN, TURKEY))
    columns = [column(name, f"fat{each}_s") for name in names for each in {floor(fat), ceil(fat)}]
    return tuple(Row(rows[0].temp_f, max(row.hold_s for row in rows)) for rows in zip(*columns, strict=True))


def least_hold_s(rows: Sequence[Row], temp_f: float) -> float:
    """How long a piece that stays at a temperature must stay there [s]; inf below the table.

    Between two rows the lower one counts.

    >>> least_hold_s(column("fsis2021_meat_time_temperature", "t_6p5log_s"), 145.9)
    240.0
    """
    below = [row.hold_s for row in rows if row.temp_f <= temp_f]
    return min(below, default=float("inf"))
