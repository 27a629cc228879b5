"""A rule as data: where it stands, what it is about, what it measures, and its limit."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.safety.rules.meat import STATES, Meat
from pitreckon.safety.rules.tables import DATA, Row, column, poultry
from pitreckon.units import celsius_from_fahrenheit

GROUPS: Final = (
    *("thawing", "cooking", "come-up", "hot holding", "time out", "cooling", "cold holding", "leftovers", "reheating"),
)
KINDS: Final = ("dwell", "come-up", "keep", "out", "cooling", "reach", "age", "start")
MEASURES: Final = ("coldest", "hottest", "outer", "surface if intact", "clock")
STATUSES: Final = ("seen", "memory")
STANDINGS: Final = ("rule", "advice", "practice")
HOUR_S: Final = 3600.0


@dataclass(frozen=True, slots=True)
class CoolingStage:
    """From a temperature down to another [degC], and the longest that it may take [s]."""

    from_c: float
    to_c: float
    most_s: float


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    source: with its section or page; status: seen or memory; standing: rule, advice or practice
    governs: it decides its group; what does not is shown beside it
    animals, states: to what it applies; measures: which place, or the clock
    kind: how it is judged; phases: over which phases of the piece's day
    rows, table, column: dwell and reach; low_c, high_c: a band [degC]; most_s: the longest [s]; soon_s: when it gets
    near [s]; at_least_c, at_most_c: [degC]; hot_air_c, hot_most_s: a shorter time in hot air; stages: of cooling
    marked: only where the time is written on the piece
    """

    key: str
    name: str
    group: str
    source: str
    status: str
    standing: str
    governs: bool
    animals: tuple[str, ...]
    states: tuple[str, ...]
    measures: str
    kind: str
    phases: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    table: str = ""
    column: str = ""
    low_c: float | None = None
    high_c: float | None = None
    most_s: float | None = None
    soon_s: float | None = None
    at_least_c: float | None = None
    at_most_c: float | None = None
    hot_air_c: float | None = None
    hot_most_s: float | None = None
    stages: tuple[CoolingStage, ...] = ()
    marked: bool = False
    note: str = ""

    def rows_for(self, meat: Meat) -> tuple[Row, ...]:
        """The rows that a piece has to meet one of."""
        if self.rows:
            return self.rows
        if self.table == "poultry":
            return poultry(meat.animal, meat.fat_percent)
        return column(self.table, self.column)

    def applies(self, meat: Meat) -> tuple[str, ...]:
        """The states that the piece may have and that the rule is about; none: it is not about this piece."""
        if meat.family not in self.animals or (self.marked and not meat.marked):
            return ()
        return tuple(state for state in meat.states if state in self.states)


@cache
def rules() -> tuple[Rule, ...]:
    """Every shipped rule in the order of a piece's day.

    Raises
    ------
    InputError: the data is at fault
    """
    path = DATA / "rules.toml"
    entries = tomllib.loads(path.read_text(encoding="utf-8"))["rule"]
    built = [_built(entry, path.name) for entry in entries]
    return tuple(sorted(built, key=lambda rule: GROUPS.index(rule.group)))


def rule(key: str) -> Rule:
    """The rule of a key.

    Raises
    ------
    InputError: there is none
    """
    found = next((each for each in rules() if each.key == key), None)
    if found is None:
        raise InputError(f"there is no rule '{key}'", f"Known are {', '.join(each.key for each in rules())}")
    return found


def _built(entry: dict[str, Any], file: str) -> Rule:
    key = str(entry.get("key", "?"))
    kept = dict(entry)
    for name in ("low_f", "high_f", "at_least_f", "at_most_f", "hot_air_f"):
        if name in kept:
            kept[f"{name[:-2]}_c"] = celsius_from_fahrenheit(kept.pop(name))
    for name in ("most_h", "soon_h", "hot_most_h"):
        if name in kept:
            kept[f"{name[:-2]}_s"] = kept.pop(name) * HOUR_S
    for name in ("animals", "states", "phases"):
        kept[name] = tuple(kept.get(name, ()))
    kept["rows"] = tuple(Row(float(temp_f), float(hold_s)) for temp_f, hold_s in kept.get("rows", ()))
    kept["stages"] = tuple(
        CoolingStage(celsius_from_fahrenheit(a), celsius_from_fahrenheit(b), h * HOUR_S)
        for a, b, h in kept.get("stages", ())
    )
    try:
        made = Rule(**kept)
    except TypeError as fault:
        raise InputError(f"rule '{key}': {fault}", "Give every field that its kind needs", Place(file)) from fault
    for field, known in (
        *(("group", GROUPS), ("kind", KINDS), ("measures", MEASURES)),
        *(("status", STATUSES), ("standing", STANDINGS)),
    ):
        if getattr(made, field) not in known:
            raise InputError(
                f"rule '{key}': {field} is {getattr(made, field)!r}", f"One of {', '.join(known)}", Place(file)
            )
    if not set(made.states) <= set(STATES) or not made.source:
        raise InputError(f"rule '{key}' has no source or an unknown state", "Name both", Place(file))
    return made
