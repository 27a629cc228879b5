"""A ledger with no more readings than anything that is reckoned can use.

A live channel may send many readings a second; air and meat do not change in that time. Of each stretch of
``EVERY_S`` the first reading of a series is kept, whatever comes after it, so that a ledger cut off at a moment and
then condensed is the condensed ledger cut off there, and condensing twice changes nothing.
"""

from collections.abc import Iterable
from typing import Final

from pitreckon.ledger.events import Event, Ledger, Reading

EVERY_S: Final = 10.0
"""Common practice, no source: an instrument in air or meat settles within tens of seconds."""

_Key = tuple[str, str, int | None, bool, int]


class Condenser:
    """Takes readings one after the other, in any order, and keeps those that count."""

    def __init__(self) -> None:
        self._first: dict[_Key, Reading] = {}
        self._whole: list[Reading] = []

    def add(self, reading: Reading) -> None:
        """Take one more. One from a file is kept whatever comes near it: its line tells of a clock put back."""
        if reading.source_line is not None:
            self._whole.append(reading)
            return
        stretch = int(reading.at_utc.timestamp() // EVERY_S)
        key = (reading.channel, reading.on, reading.piece, reading.rejected is None, stretch)
        there = self._first.get(key)
        if there is None or reading.at_utc < there.at_utc:
            self._first[key] = reading

    @property
    def readings(self) -> list[Reading]:
        """What is kept; in no order of time."""
        return [*self._whole, *self._first.values()]


def condensed(ledger: Ledger) -> Ledger:
    """The ledger with the readings that count; its looks and acts are all there."""
    condenser = Condenser()
    for reading in ledger.all_readings:
        condenser.add(reading)
    others: Iterable[Event] = (*ledger.all_looks, *ledger.all_acts)
    return Ledger.of([*condenser.readings, *others])
