"""Colours that were tapped and measured at about the same time: what a hand's taps can be held against."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from pitreckon.cook.levels import level_error
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger.events import Ledger, Look

CLOSE: Final = timedelta(minutes=10)
"""A colour hardly goes on within that."""


@dataclass(frozen=True, slots=True)
class BothWays:
    """One tap and the photo nearest to it. levels of one scale [-]; sd: standard error of the measured one

    apart: how much later the photo was
    """

    tap: Look
    photo: Look
    apart: timedelta

    @property
    def tapped(self) -> float:
        """As it was tapped."""
        return self.tap.value

    @property
    def measured(self) -> float:
        """As it was measured."""
        return self.photo.value

    @property
    def sd(self) -> float:
        """Of the measured one."""
        return level_error(self.photo.text)


def tapped_and_measured(ledger: Ledger) -> tuple[BothWays, ...]:
    """Each tap of a colour with the photo of the same item and piece that is nearest in time, by the tap's time.

    A tap of no piece and a photo of one may be of two pieces, so they are not held against each other.
    """
    return tuple(_pairs(ledger))


def _pairs(ledger: Ledger) -> Iterator[BothWays]:
    photos = [look for look in ledger.looks() if LOOK_KINDS[look.kind].measured_on]
    for tap in ledger.looks():
        same = [
            photo
            for photo in photos
            if LOOK_KINDS[photo.kind].measured_on == tap.kind
            and (photo.on, photo.piece) == (tap.on, tap.piece)
            and abs(photo.at_utc - tap.at_utc) <= CLOSE
        ]
        if same:
            nearest = min(same, key=lambda photo: abs(photo.at_utc - tap.at_utc))
            yield BothWays(tap, nearest, nearest.at_utc - tap.at_utc)
