"""The acts in a log: what each may carry, and which of them need the meat on the pit first."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.names import KnownNames, label_of
from pitreckon.ledger.events import Act
from pitreckon.units import (
    format_local,
    format_temperature,
    parse_duration,
    parse_mass,
    parse_temperature,
    shown,
)

_NEEDS_MEAT_ON: Final = {"wrapped", "unwrapped", "sauced", "took off", "moved", "rest", "hold", "served"}
_SET_RANGE_C: Final = (10.0, 400.0)
_HOLD_RANGE_C: Final = (-40.0, 120.0)


class ActReader:
    """Reads acts in order of time, remembering what has been done to each item."""

    def __init__(self, cook: Cook, known: KnownNames, pits: Mapping[str, str]) -> None:
        self._cook = cook
        self._known = known
        self._pits = pits
        self._put_on: set[str] = set()
        self._done: dict[str, tuple[str, int]] = {}  # the first act on each item that needs it on the pit

    def read(self, at_utc: datetime, on: str, what: str, value: str, *, piece: int | None, line: int, note: str) -> Act:
        """One act. Raises InputError: its value is wrong, or it comes before the meat is put on."""
        self._check_order(at_utc, on, what, line)
        detail, air_c, duration_s, fuel_kg = "", None, None, None
        if what == "wrapped":
            detail = self._known.wrap(value) if value else ""
        elif what == "moved":
            detail = label_of(value, self._pits, "pit")
        elif what == "set pit":
            air_c = _air(value, *_SET_RANGE_C)
        elif what == "hold":
            air_c = _air(value, *_HOLD_RANGE_C) if value else None
        elif what == "lid open":
            duration_s = parse_duration(value) if value else None
        elif what == "fed the fire":
            fuel_kg = parse_mass(value) if value else None
        elif value:
            raise InputError(f"'{what}' takes no value, and {shown(value)} is given", "Put it under note")
        return Act(at_utc, on, what, detail, piece, air_c, duration_s, fuel_kg, line, note)

    def _check_order(self, at_utc: datetime, on: str, what: str, line: int) -> None:
        if what == "put on":
            if on not in self._put_on and on in self._done:
                done, done_line = self._done[on]
                raise InputError(
                    f"'{on}' is put on here, but line {done_line} says '{done}' before it",
                    "Put the rows in their right order, or correct their times",
                ).at(field="what")
            self._put_on.add(on)
        elif what in _NEEDS_MEAT_ON:
            planned_utc = self._cook.item(on).put_on_utc
            if on not in self._put_on and at_utc < planned_utc:
                planned = format_local(planned_utc, self._cook.zone_info)
                raise InputError(
                    f"'{what}' comes before '{on}' is put on (planned for {planned})",
                    "Add a row with the act 'put on' before it, or correct the time",
                ).at(field="what")
            self._done.setdefault(on, (what, line))


def _air(text: str, low_c: float, high_c: float) -> float:
    air_c = parse_temperature(text)
    if not low_c <= air_c <= high_c:
        ends = f"{format_temperature(low_c)} to {format_temperature(high_c)}"
        raise InputError(f"{shown(text)} is no temperature for that", f"Write one from {ends}")
    return air_c
