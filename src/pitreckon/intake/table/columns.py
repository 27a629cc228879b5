"""What the columns of a logger's table measure: told from their headers and cells, asked when unsure."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Literal

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.intake.reading import FAULT_CODES, Places
from pitreckon.intake.table.time import TimeColumns
from pitreckon.ledger.log.dates import Dates
from pitreckon.text.table import NO_VALUE, Shape, UnsureError, number_of
from pitreckon.units import Scale, celsius_from_fahrenheit, shown

_IN_HEADER: Final = re.compile(
    r"(?:[°º˚]|\bdeg(?:rees?)?\.?\s*|[(\[_/,\s-]\s*|^)(f|c|fahrenheit|celsius)\s*[)\]]?$", re.IGNORECASE
)
# Common practice, no source: pits are run between a cold smoke and a searing fire, most of the time near where they
# are set; raw meat is put on from half frozen to warm, and no meat holding water passes its boiling point by much.
_PIT_C: Final = (0.0, 330.0)
_NEAR_SET_K: Final = 70.0
_MEAT_C: Final = (-6.0, 110.0)
_RUNNING_C: Final = 60.0


@dataclass(frozen=True, slots=True)
class Series:
    """The first numbers of a column, and what it measures: ``set_c`` of the pit [°C], None for a probe."""

    header: str
    numbers: tuple[float, ...]
    set_c: float | None


def scale_in_header(header: str) -> Scale | None:
    """The scale that a header names, if it does.

    >>> scale_in_header("Pit (°F)"), scale_in_header("food_c"), scale_in_header("grill")
    ('F', 'C', None)
    """
    found = _IN_HEADER.search(header.strip())
    if found is None:
        return None
    return "F" if found[1][0] in "Ff" else "C"


def told_scale(series: Sequence[Series], cook: Cook, like: Collection[Scale] = ()) -> Scale:
    """The scale of a table's numbers, all of them alike.

    like: what is known of the other columns: where both would do, that is it

    Raises UnsureError: both would do, or neither.
    """
    scales: tuple[Scale, ...] = ("F", "C")
    can = [scale for scale in scales if all(_can_be(each, scale) for each in series)]
    if len(can) > 1 and len(like) == 1:
        can = list(like)
    if len(can) == 1:
        return can[0]
    names = ", ".join(f"'{each.header}' from {min(each.numbers):g} to {max(each.numbers):g}" for each in series[:4])
    trouble = "it cannot be told whether the numbers are in F or in C" if can else "the numbers fit neither F nor C"
    raise UnsureError(f"{trouble} ({names}; cook '{cook.name}')", "Say which", "unit", ("F", "C"))


def _can_be(series: Series, scale: Scale) -> bool:
    numbers = [n for n in series.numbers if n not in FAULT_CODES]
    if not numbers:
        return True
    celsius = [celsius_from_fahrenheit(n) if scale == "F" else n for n in numbers]
    ranked = sorted(celsius)
    # One reading, or one in twenty, may be an instrument's fault at either end; that is judged later, by itself.
    out = max(len(ranked) // 20, int(len(ranked) >= 5))
    low, high = ranked[out], ranked[-1 - out]
    if series.set_c is None:
        return _MEAT_C[0] <= low and high <= _MEAT_C[1]
    if not (_PIT_C[0] - 30.0 <= low and high <= _PIT_C[1]):
        return False
    middle = ranked[len(ranked) * 3 // 4]
    # A pit that is not lit yet says little; one that runs is somewhere near where it is set.
    return middle < _RUNNING_C or abs(middle - series.set_c) <= _NEAR_SET_K


LEAVE: Final = "leave"
_PIT_WORDS: Final = re.compile(r"\b(?:pit|grate|chamber|ambient|air|grill|smoker|cooker|oven|dome|barrel)\b")
_MEAT_WORDS: Final = re.compile(r"\b(?:probe|meat|food|core|internal)\b")
_OTHER_WORDS: Final = re.compile(
    r"\b(?:fan|blower|damper|humidity|rh|battery|volts?|rssi|signal|set|setpoint|target|alarm|goal|id|row|index|no|"
    r"outside|weather|elapsed|seconds|minutes|min|sec|time|date|percent|duty|output)\b|%"
)


@dataclass(frozen=True, slots=True)
class Answers:
    """What the cook has said about a file; anything left out is guessed.

    columns: header of a column -> name of a pit or an item, with a piece number behind it if meant ("racks 2"),
        or ``leave``
    """

    unit: Scale | None = None
    dates: Dates | None = None
    start_utc: datetime | None = None
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ValueColumn:
    """A column of readings, or one that is left out (``channel`` is None, ``why`` says so)."""

    at: int
    header: str
    channel: Literal["pit air", "probe"] | None
    on: str = ""
    piece: int | None = None
    unit: Scale = "C"
    why: str = ""


def value_columns(shape: Shape, time: TimeColumns, cook: Cook, answers: Answers) -> tuple[ValueColumn, ...]:
    """Every column beside those of the time.

    Raises InputError: an answer fits nothing. UnsureError: what a column measures, or its scale, has to be asked.
    """
    for header in answers.columns:
        if header not in shape.header:
            raise InputError(f"{shown(header)} is no column of it", f"Its columns are: {', '.join(shape.header)}")
    return _scaled(shape, _placed(shape, time, cook, answers), cook, answers.unit)


def _placed(shape: Shape, time: TimeColumns, cook: Cook, answers: Answers) -> list[ValueColumn]:
    places = Places.of(cook)
    columns = []
    for n, header in enumerate(shape.header):
        if n in time.at:
            continue
        said = answers.columns.get(header)
        if said is not None:
            columns.append(_said(n, header, said, places))
            continue
        cells = [row[n] for row in shape.rows if n < len(row)]
        values = [c for c in cells if c and not NO_VALUE.fullmatch(c)]
        numbers = [c for c in values if number_of(c, decimal_comma=shape.decimal_comma) is not None]
        if not numbers and header.startswith("column "):
            continue
        if len(numbers) * 2 <= len(values) or (not numbers and not _channel_words(header, places)):
            columns.append(ValueColumn(n, header, None, why="no numbers"))
        else:
            columns.append(_guessed(n, header, places))
    if not any(each.channel for each in columns):
        raise UnsureError(
            "no column is surely a pit's air or a probe", _which(places), _unclear(columns), _choices(places)
        )
    return columns


def _unclear(columns: Sequence[ValueColumn]) -> str:
    return next((each.header for each in columns if each.why != "no numbers"), "unit")


def _channel_words(header: str, places: Places) -> bool:
    plain = _words(header)
    return bool(_PIT_WORDS.search(plain) or _MEAT_WORDS.search(plain) or _labelled(plain, places))


def _words(header: str) -> str:
    split = re.sub(r"(?<=[a-z])(?=[A-Z0-9])", " ", header)
    plain = re.sub(r"[^\w%]+|_", " ", split).casefold()
    return " ".join(re.sub(r"\b(?:temp(?:erature)?|deg(?:rees)?|[fc]|fahrenheit|celsius)\b", " ", plain).split())


def _labelled(plain: str, places: Places) -> tuple[Literal["pit air", "probe"], str, int | None] | None:
    """The pit or item whose name stands in a header, the longest first, and the piece number behind it."""
    both = [(key, label, "pit") for key, label in places.pits.items()]
    both += [(key, label, "item") for key, label in places.items.items()]
    for key, label, what in sorted(both, key=lambda each: -len(each[0])):
        found = re.search(rf"\b{re.escape(_words(key) or key)}\b\s*([0-9]{{1,3}})?", plain)
        if found is None:
            continue
        if what == "pit":
            return "pit air", label, None
        piece = int(found[1]) if found[1] else None
        return "probe", label, piece if piece is None or 1 <= piece <= places.pieces[label] else None
    return None


def _guessed(n: int, header: str, places: Places) -> ValueColumn:
    plain = _words(header)
    if _OTHER_WORDS.search(plain):
        return ValueColumn(n, header, None, why="not a temperature of pit or meat, by its name")
    named = _labelled(plain, places)
    if named is not None:
        return ValueColumn(n, header, *named)
    if _PIT_WORDS.search(plain) and len(places.pits) == 1:
        return ValueColumn(n, header, "pit air", next(iter(places.pits.values())))
    if _MEAT_WORDS.search(plain) and len(places.items) == 1:
        item = next(iter(places.items.values()))
        number = re.search(r"\b([0-9]{1,3})$", plain)
        piece = int(number[1]) if number and 1 <= int(number[1]) <= places.pieces[item] else None
        return ValueColumn(n, header, "probe", item, piece)
    raise UnsureError(f"it cannot be told what {shown(header)} measures", _which(places), header, _choices(places))


def _which(places: Places) -> str:
    return f"Say which: {', '.join(_choices(places))} (a piece number may stand behind an item)"


def _choices(places: Places) -> tuple[str, ...]:
    return (*places.pits.values(), *places.items.values(), LEAVE)


def _said(n: int, header: str, said: str, places: Places) -> ValueColumn:
    if said.strip().casefold() == LEAVE:
        return ValueColumn(n, header, None, why="as you said")
    label, piece = said.strip(), None
    whole = label.casefold() in places.pits or label.casefold() in places.items
    behind = None if whole else re.fullmatch(r"(.+?)\s+([0-9]{1,5})", label)
    if behind:
        label, piece = behind[1], int(behind[2])
    channel: Literal["pit air", "probe"] = "pit air" if label.casefold() in places.pits else "probe"
    try:
        of_pit = channel == "pit air"
        on = places.label(label, of_pit=of_pit)
        return ValueColumn(n, header, channel, on, places.piece(piece, on, of_pit=of_pit))
    except InputError as fault:
        raise InputError(fault.trouble, _which(places)).at(field=header) from None


def _scaled(shape: Shape, columns: list[ValueColumn], cook: Cook, unit: Scale | None) -> tuple[ValueColumn, ...]:
    """Each column's scale: by its header, by the sign in its cells, as the cook said, or as the numbers tell."""
    told: dict[int, Scale] = {}
    open_columns = []
    for each in columns:
        if each.channel is None:
            continue
        cells = [row[each.at] for row in shape.rows if each.at < len(row)]
        found = [number for cell in cells if (number := number_of(cell, decimal_comma=shape.decimal_comma))]
        signs = {sign for _, sign in found if sign}
        own = scale_in_header(each.header)
        if unit is not None:
            told[each.at] = unit
        elif own is not None:
            told[each.at] = own
        elif len(signs) == 1:
            told[each.at] = "F" if "F" in signs else "C"
        elif found:
            set_c = cook.pit(each.on).set_c if each.channel == "pit air" else None
            open_columns.append((each.at, Series(each.header, tuple(number for number, _ in found), set_c)))
    if open_columns:
        same = told_scale([series for _, series in open_columns], cook, like=set(told.values()))
        told |= dict.fromkeys((at for at, _ in open_columns), same)
    left = next(iter(told.values()), None)
    out = []
    for each in columns:
        if each.channel is not None and each.at not in told and left is None:
            raise UnsureError(f"{shown(each.header)} has no numbers yet", "Say their unit", "unit", ("F", "C"))
        scale = told.get(each.at) or left or "C"
        out.append(ValueColumn(each.at, each.header, each.channel, each.on, each.piece, scale, each.why))
    return tuple(out)
