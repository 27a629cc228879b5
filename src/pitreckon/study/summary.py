"""What a study says in short: for each value of what was varied, the spread of what was kept over all its pieces."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Bools, Floats
from pitreckon.extras import loading
from pitreckon.reckon.quantiles import LEVEL_NAMES, LEVELS, Quantiles
from pitreckon.study.outcomes import OUTCOMES, Outcome
from pitreckon.study.plan import Case, Study
from pitreckon.study.results import REACHED
from pitreckon.study.settings import SETTINGS, Setting
from pitreckon.units import Scale, format_duration, format_length, format_mass, format_percent, format_temperature

AnyFloats = NDArray[np.floating[Any]]
FILE: Final = "summary.csv"
PARTS: Final = 4
"""Of what was drawn between two numbers: so many equal parts of its draws are told apart."""
MOST_VALUES: Final = 24
"""Of numbers in a list; more are told in parts as well."""
ALL: Final = "all"
EACH_OF_THEM: Final = "each setting"
EACH: Final = 24
"""Of so many settings each is told by itself."""
ALL_OF_THEM: Final = 0.9995


@dataclass(frozen=True)
class Group:
    """Pieces of settings that have something in common.

    setting: what; None: they are all of the study, or a case; low, high: its value, or the ends of what was drawn
    [column's unit]
    cases: how many settings; spreads: of each outcome that is kept; of a yes or a no ``reached`` is the share of yes
    case: the one setting that they have, all that is varied taken together; None: another group
    """

    setting: Setting | None
    low: Any
    high: Any
    cases: int
    spreads: dict[str, Quantiles]
    case: Case | None = None

    @property
    def middle(self) -> Any:
        """Its value, or the middle of what was drawn."""
        return self.low if self.low == self.high else 0.5 * (self.low + self.high)


def groups_of(study: Study, results: Path) -> list[Group]:
    """All pieces, then those of each value of each setting that is varied, in the order of ``SETTINGS``.

    Where several are varied and no more than ``EACH`` settings come of it, then those of each by itself: what one value
    does may hang on another.
    One column is in memory at a time: a study of twenty million pieces takes some hundred megabytes.
    """
    with loading("pyarrow", "a study"):
        import pyarrow.parquet as pq  # noqa: PLC0415  an extra

    parts: list[tuple[Setting | None, Any, Any, Bools]] = [(None, None, None, np.ones(study.cases, dtype=bool))]
    cases = [dict(study.case(n).values) for n in range(study.cases)]
    for name in study.varied:
        setting = SETTINGS[name]
        cells = [setting.cell(given[name]) for given in cases]
        parts += [(setting, low, high, which) for low, high, which in _parted(study, setting, cells)]
    each = range(study.cases) if len(study.varied) > 1 and study.cases <= EACH else range(0)
    alone = np.eye(study.cases, dtype=bool) if each else None
    parts += [(None, n, n, alone[n]) for n in each if alone is not None]
    spreads: list[dict[str, Quantiles]] = [{} for _ in parts]
    for name in study.keep:
        column = OUTCOMES[name].column
        # Rows lie in the order of settings and members.
        values = pq.read_table(results, columns=[column])[column].to_numpy().reshape(study.cases, study.members)
        for own, (_, _, _, which) in zip(spreads, parts, strict=True):
            own[name] = _spread(OUTCOMES[name], values[which].ravel())
    first = len(parts) - len(each)
    return [
        Group(setting, low, high, int(which.sum()), own, study.case(n - first) if n >= first else None)
        for n, (own, (setting, low, high, which)) in enumerate(zip(spreads, parts, strict=True))
    ]


def _parted(study: Study, setting: Setting, cells: Sequence[Any]) -> Iterator[tuple[Any, Any, Bools]]:
    """Its values and the settings of each; what was drawn between two numbers, and a long list, in equal parts."""
    between = any(each.name == setting.name and not each.choices for each in study.drawn)
    if not between and (not setting.number or len(set(cells)) <= MOST_VALUES):
        for value in dict.fromkeys(cells):
            yield value, value, np.array([cell == value for cell in cells])
        return
    numbers: Floats = np.array(cells, dtype=np.float64)
    for part in np.array_split(np.unique(numbers), PARTS):
        if part.size:
            yield float(part[0]), float(part[-1]), (numbers >= part[0]) & (numbers <= part[-1])


def _spread(outcome: Outcome, values: AnyFloats) -> Quantiles:
    """The spread of an outcome over pieces that count alike; of a yes or a no the share of yes."""
    if outcome.kind == "yes":
        share = float(np.mean(values, dtype=np.float64))
        return Quantiles(share, share, share, share)
    return alike(values)


def spread_is_whole(spread: Quantiles) -> bool:
    """Did all pieces get there, as far as a whole per cent tells?"""
    return spread.reached >= ALL_OF_THEM


def alike(values: AnyFloats) -> Quantiles:
    """``quantiles_of`` for weights that are all the same; nothing but what it takes is put in order.

    values: (n,), nan: not reached; they are put into another order
    """
    n, reached = values.size, float(np.isfinite(values).mean())
    after = [min(max(math.ceil(level * n - 0.5), 0), n - 1) for level in LEVELS]
    values.partition(sorted({k for hi in after for k in (max(hi - 1, 0), hi)}))
    found = []
    for level, hi in zip(LEVELS, after, strict=True):
        before, there = float(values[max(hi - 1, 0)]), float(values[hi])
        if np.isfinite(there):
            share = min(max(level * n + 0.5 - hi, 0.0), 1.0)
            found.append(before + share * (there - before))
        else:
            found.append(before if hi and level <= reached else math.inf)
    return Quantiles(found[0], found[1], found[2], reached)


def as_csv(study: Study, groups: Sequence[Group]) -> str:
    """The groups as a table in the units of the results' columns; empty: not reached by so many."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = ["setting", "from", "to", "settings"]
    for name in study.keep:
        column = OUTCOMES[name].column
        yes = OUTCOMES[name].kind == "yes"
        head += [column] if yes else [f"{column}_{end}" for end in (*LEVEL_NAMES, REACHED)]
    writer.writerow(head)
    for group in groups:
        found_by = column_of(group)
        row = [ALL, "", ""] if found_by is None else [found_by, _cell(group.low), _cell(group.high)]
        row.append(str(group.cases))
        for name in study.keep:
            spread = group.spreads[name]
            if OUTCOMES[name].kind != "yes":
                row += [_cell(getattr(spread, level)) for level in LEVEL_NAMES]
            row.append(_cell(min(spread.reached, 1.0)))
        writer.writerow(row)
    return out.getvalue()


def part_of(group: Group) -> str:
    """What it is told under: the setting that it has a value of; all, or each setting."""
    if group.case is not None:
        return EACH_OF_THEM
    return ALL if group.setting is None else group.setting.name


def column_of(group: Group) -> str | None:
    """The column of the results by which its pieces are found; None: they are all of them."""
    if group.case is not None:
        return "case"
    return None if group.setting is None else group.setting.column


def _cell(value: Any) -> str:
    if isinstance(value, str):
        return value
    return f"{value:.6g}" if np.isfinite(value) else ""


def value_told(setting: Setting, value: Any, degrees: Scale) -> str:
    """A value of a setting as a reader has it."""
    if not setting.number:
        return str(value)
    if setting.column.endswith("_c"):
        return format_temperature(value, degrees)
    if setting.column.endswith("_kg"):
        return format_mass(value, "lb" if degrees == "F" else "kg")
    if setting.name == "altitude":
        return format_length(value, "ft" if degrees == "F" else "m")
    if setting.column.endswith("_m"):
        return format_length(value, "in" if degrees == "F" else "mm")
    if setting.name == "thinner":
        return format_percent(1.0 - value)
    return format_percent(value)


def group_told(group: Group, degrees: Scale) -> str:
    """What its pieces have in common."""
    if group.case is not None:
        known = ((SETTINGS[name], value) for name, value in group.case.values)
        return ", ".join(value_told(setting, setting.cell(value), degrees) for setting, value in known)
    if group.setting is None:
        return ALL
    ends = [value_told(group.setting, value, degrees) for value in (group.low, group.high)]
    return ends[0] if group.low == group.high else f"{ends[0]} to {ends[1]}"


def outcome_told(outcome: Outcome, value: float, degrees: Scale) -> str:
    """A value of an outcome as a reader has it."""
    if not np.isfinite(value):
        return "–"
    match outcome.kind:
        case "time":
            return format_duration(60.0 * round(value / 60.0))
        case "temperature":
            return format_temperature(value, degrees)
        case "weight":
            return format_mass(value, "lb" if degrees == "F" else "kg")
        case "share" | "yes":
            return format_percent(value)
        case _:
            return f"{value:.2f}"
