"""A rule as data: where it stands, what it is about, what it measures, and its limit."""

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.safety.rules.meat import STATES, Meat
from pitreckon.safety.rules.tables import DATA, Row, column, poultry
from pitreckon.units import celsius_from_fahrenheit, fahrenheit_from_celsius

GROUPS: Final = (
    *("thawing", "cooking", "come-up", "hot holding", "time out", "cooling", "cold holding", "leftovers", "reheating"),
)
KINDS: Final = ("dwell", "come-up", "keep", "out", "cooling", "reach", "age", "start")
MEASURES: Final = ("coldest", "hottest", "outer", "surface if intact", "clock")
SETS: Final = {"us": "rules.toml", "canada": "rules-canada.toml", "uk": "rules-uk.toml"}
"""Whose rules, and their file. One set is used, whole: none is stricter than another everywhere."""
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
    animals, states: to what it applies, animals by their kind or as meat or poultry; not_animals: but not to these
    cuts, not_cuts: only to these cuts of the catalog, or to all others; measures: which place, or the clock
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
    not_animals: tuple[str, ...] = ()
    cuts: tuple[str, ...] = ()
    not_cuts: tuple[str, ...] = ()
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
        mine = {meat.family, meat.animal} & set(self.animals) and meat.animal not in self.not_animals
        if not mine or (self.marked and not meat.marked):
            return ()
        if (self.cuts and meat.cut not in self.cuts) or meat.cut in self.not_cuts:
            return ()
        return tuple(state for state in meat.states if state in self.states)


@cache
def rules(which: str = "us") -> tuple[Rule, ...]:
    """Every shipped rule of a set in the order of a piece's day.

    Raises InputError: no such set; the data is at fault
    """
    if which not in SETS:
        raise InputError(f"there are no rules of '{which}'", f"Write one of {', '.join(SETS)}", Place(field="rules"))
    path = DATA / SETS[which]
    entries = tomllib.loads(path.read_text(encoding="utf-8"))["rule"]
    built = [_built(entry, path.name) for entry in entries]
    return tuple(sorted(built, key=lambda rule: GROUPS.index(rule.group)))


def rule(key: str, which: str = "us") -> Rule:
    """The rule of a key in a set.

    Raises InputError: there is none
    """
    found = next((each for each in rules(which) if each.key == key), None)
    if found is None:
        raise InputError(f"there is no rule '{key}'", f"Known are {', '.join(each.key for each in rules(which))}")
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
    for name in ("animals", "states", "phases", "not_animals", "cuts", "not_cuts"):
        kept[name] = tuple(kept.get(name, ()))
    rows_f = [(float(temp_f), float(hold_s)) for temp_f, hold_s in kept.get("rows", ())]
    rows_f += [(fahrenheit_from_celsius(temp_c), float(hold_s)) for temp_c, hold_s in kept.pop("rows_c", ())]
    kept["rows"] = tuple(Row(temp_f, hold_s) for temp_f, hold_s in rows_f)
    stages = [(celsius_from_fahrenheit(a), celsius_from_fahrenheit(b), h) for a, b, h in kept.get("stages", ())]
    kept["stages"] = tuple(CoolingStage(a, b, h * HOUR_S) for a, b, h in (*stages, *kept.pop("stages_c", ())))
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
