"""The table of practice: set-ups (one cook each) and rows (one number of a cook as the trade reports it).

``setups.csv``: cut, mass, temperatures, pit by its own gauge, and a course in words: ``bare until 165 F; foil until
tender``. ``rows.csv``: what is measured on which set-up and the range for nine cooks in ten. A row of form "ratio" or
"less" compares its set-up with another one; its sign is a check of its own. Bands were written before any run and are
never changed after; a row that is known to be at odds with others has the status "conflict": scored, never fitted on.
``named.csv``: checks by name of the same form, not dealt.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from math import inf, isfinite
from pathlib import Path

HERE = Path(__file__).parent
STATES = ("bare", "foil", "paper", "tray", "glazed", "rest")
FORMS = ("value", "ratio", "less")
STATUSES = ("practice", "conflict")
UNITS = ("h", "min", "degF", "degF/h", "%", "1")
SUGAR = {"none": 0.0, "some": 0.5, "much": 1.0}
_UNTIL = re.compile(r"(\d+(\.\d+)? (F|min)|colour|tender|glaze|never)")


class TableError(ValueError):
    """A table of practice is at fault: file, line, column and remedy."""


@dataclass(frozen=True)
class Stretch:
    """A stretch of a course: ``state`` until ``until`` ("165 F", "60 min", "colour", "tender", "glaze", "never")."""

    state: str
    until: str


@dataclass(frozen=True)
class SetUp:
    """One cook, as a cook says it. thin: thickness over the usual [-]; hours: how far it is run."""

    key: str
    cut: str
    mass_lb: float
    thin: float
    start_f: float
    altitude_m: float
    pit: str
    gauge_f: float
    pan: bool
    sugar: float
    course: tuple[Stretch, ...]
    hours: float


@dataclass(frozen=True)
class Row:
    """One number of the trade.

    quantity: see ``measure``; form: the number itself, its "ratio" to that of ``against`` or how much it is "less" that
    of ``against``; low, high: the band in ``unit`` (inf where it has no end); sign: of a difference, or of a ratio less
    one: "+", "-" or ""; width: what the band means; status: "conflict" is scored and not fitted on
    """

    key: str
    setup: str
    quantity: str
    form: str
    against: str
    low: float
    high: float
    unit: str
    sign: str
    width: str
    status: str
    source: str
    note: str

    @property
    def setups(self) -> tuple[str, ...]:
        """The set-ups that it needs."""
        return (self.setup, self.against) if self.against else (self.setup,)

    @property
    def bounded(self) -> bool:
        """Has the band two ends?"""
        return isfinite(self.low) and isfinite(self.high)


@cache
def setups(path: Path = HERE / "setups.csv") -> Mapping[str, SetUp]:
    """Set-ups by key, in the order of the file. Raises TableError."""
    found: dict[str, SetUp] = {}
    for at, cells in _lines(path):
        key = cells["id"]
        if key in found:
            raise TableError(f"{at}: column id: '{key}' is there twice. Give every set-up a name of its own")
        found[key] = SetUp(
            key,
            cells["cut"],
            *(_number(cells, name, at, above=0.0) for name in ("mass_lb", "thin")),
            _number(cells, "start_f", at),
            _number(cells, "altitude_m", at),
            cells["pit"],
            _number(cells, "gauge_f", at, above=100.0),
            _one_of(cells, "pan", ("yes", "no"), at) == "yes",
            SUGAR[_one_of(cells, "sugar", tuple(SUGAR), at)],
            _course(cells["course"], at),
            _number(cells, "hours", at, above=0.0),
        )
    return found


@cache
def rows(path: Path = HERE / "rows.csv", of: Path = HERE / "setups.csv") -> tuple[Row, ...]:
    """Rows of a table, in the order of the file. Raises TableError."""
    known, seen, found = setups(of), set[str](), []
    for at, cells in _lines(path):
        row = Row(
            cells["id"],
            cells["setup"],
            cells["quantity"],
            _one_of(cells, "form", FORMS, at),
            cells["against"],
            -inf if cells["low"] == "" else _number(cells, "low", at),
            inf if cells["high"] == "" else _number(cells, "high", at),
            _one_of(cells, "unit", UNITS, at),
            _one_of(cells, "sign", ("+", "-", ""), at),
            cells["width"],
            _one_of(cells, "status", STATUSES, at),
            cells["source"],
            cells["note"],
        )
        if row.key in seen:
            raise TableError(f"{at}: column id: '{row.key}' is there twice. Give every row a name of its own")
        if not row.low < row.high:
            raise TableError(f"{at}: columns low, high: {row.low:g} is not below {row.high:g}. Swap or widen them")
        for key in row.setups:
            if key not in known:
                raise TableError(f"{at}: there is no set-up '{key}'. Add it to {of.name}")
        if (row.form == "value") is bool(row.against):
            raise TableError(f"{at}: column against: only a ratio or a difference has another set-up, and always")
        if not row.source:
            raise TableError(f"{at}: column source is empty. Say where the band is from")
        seen.add(row.key)
        found.append(row)
    return tuple(found)


def named() -> tuple[Row, ...]:
    """The checks by name."""
    return rows(HERE / "named.csv")


def _lines(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    with path.open(encoding="utf-8", newline="") as handle:
        reader = csv.DictReader(handle)
        for number, cells in enumerate(reader, start=2):
            at = f"{path.name}, line {number}"
            if None in cells or any(value is None for value in cells.values()):
                raise TableError(f"{at}: the line has not {len(reader.fieldnames or ())} cells. Count the commas")
            yield at, {name: value.strip() for name, value in cells.items()}


def _number(cells: Mapping[str, str], name: str, at: str, above: float = -inf) -> float:
    try:
        value = float(cells[name])
    except ValueError:
        raise TableError(f"{at}: column {name}: '{cells[name]}' is not a number. Write a plain one") from None
    if not (isfinite(value) and value > above):
        raise TableError(f"{at}: column {name}: {cells[name]} is out of range. Give a number above {above:g}")
    return value


def _one_of(cells: Mapping[str, str], name: str, allowed: tuple[str, ...], at: str) -> str:
    if cells[name] not in allowed:
        words = ", ".join(word or "(empty)" for word in allowed)
        raise TableError(f"{at}: column {name}: '{cells[name]}' is unknown. Use one of {words}")
    return cells[name]


def _course(text: str, at: str) -> tuple[Stretch, ...]:
    found = []
    for part in text.split(";"):
        state, _, until = part.strip().partition(" until ")
        if state not in STATES or not _UNTIL.fullmatch(until):
            raise TableError(
                f"{at}: column course: '{part.strip()}' is not understood. Write as in "
                "'bare until 165 F; foil until tender'"
            )
        found.append(Stretch(state, until))
    return tuple(found)
