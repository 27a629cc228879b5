"""What a house has learned of those who look: whose eye is darker, whose finger finds meat more tender than most.

And by how much the thermometer reads off that they take spot temperatures with.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from pitreckon.lessons.house.said import NINE_IN_TEN
from pitreckon.reckon.hands import THERMOMETER, usual
from pitreckon.reckon.learned import Lessons
from pitreckon.text.said import difference, said
from pitreckon.units import format_difference

STEP: Final = 0.25
"""From a word of a scale to the next, about: a swatch, or a word of feel."""
LITTLE: Final = 0.1
"""Part of a step that nobody sees."""
TRUE_K: Final = 0.3
"""A thermometer that is off by less is said to read true [K]."""
LEAST_TOLD: Final = 0.95
"""What is known no better than so many times the usual spread is not told as learned."""


@dataclass(frozen=True, slots=True)
class HandBelief:
    """What is known of a person's words on a scale. mean, sd: said less true, as levels; cooks: that it rests on

    kind: ``THERMOMETER``: of that person's thermometer, in kelvins
    beside: photos that taps were held against in them, or readings in ice or boiling water
    said: it rests on what a person said outright, too
    """

    by: str
    kind: str
    mean: float
    sd: float
    cooks: tuple[str, ...]
    beside: int = 0
    said: bool = False

    @property
    def words(self) -> str:
        """In words, without the person's name."""
        if self.kind == THERMOMETER:
            return self._thermometer
        step, give = f"{abs(self.mean) / STEP:.1f}", f"{NINE_IN_TEN * self.sd / STEP:.1f}"
        colour = self.kind == "colour"
        if self.beside:
            return self._beside(step, give)
        if abs(self.mean) < LITTLE * STEP:
            message = "sees colour as most do, give or take {give} of a swatch"
            return said(message if colour else "feels meat as most do, give or take {give} of a word", give=give)
        if colour:
            message = "sees colour {step} of a swatch darker than most, give or take {give}"
            if self.mean < 0.0:
                message = "sees colour {step} of a swatch paler than most, give or take {give}"
        else:
            message = "feels meat {step} of a word more tender than most, give or take {give}"
            if self.mean < 0.0:
                message = "feels meat {step} of a word less tender than most, give or take {give}"
        return said(message, step=step, give=give)

    @property
    def _thermometer(self) -> str:
        far, give = _apart(abs(self.mean)), _apart(NINE_IN_TEN * self.sd)
        if abs(self.mean) < TRUE_K:
            read = said("the thermometer reads true, give or take {give}", give=give)
        elif self.mean > 0.0:
            read = said("the thermometer reads {far} high, give or take {give}", far=far, give=give)
        else:
            read = said("the thermometer reads {far} low, give or take {give}", far=far, give=give)
        if not self.beside:
            return read
        if self.beside == 1:
            return said("{read}, after a check in ice or boiling water", read=read)
        return said("{read}, after {n} checks in ice or boiling water", read=read, n=self.beside)

    def _beside(self, step: str, give: str) -> str:
        """The same where photos measured what was tapped."""
        n = said("one photo") if self.beside == 1 else said("{n} photos", n=self.beside)
        message = "beside {photos} sees colour {step} of a swatch darker, give or take {give}"
        if self.mean < 0.0:
            message = "beside {photos} sees colour {step} of a swatch paler, give or take {give}"
        if abs(self.mean) < LITTLE * STEP:
            message = "beside {photos} sees colour as it is measured, give or take {give} of a swatch"
        return said(message, photos=n, step=step, give=give)


def hands_known(lessons: Lessons, at: datetime) -> list[HandBelief]:
    """Of everybody of whom something is known, by name and scale."""
    found, of_hands = [], lessons.of_hands()
    for (by, kind), bias in sorted(lessons.hands(at).items()):
        rests = {
            cook: told
            for (cook, *whose), (when, told) in of_hands.items()
            if (*whose,) == (by, kind) and not lessons.is_another(told, when, at)
        }
        beside = sum(each.beside for each in rests.values())
        said_so = kind == THERMOMETER and any(
            each.told is not None and each.whose == by and not lessons.is_another(each.told, each.at_utc, at)
            for each in lessons.thermometers
        )
        if bias.sd < LEAST_TOLD * usual(kind).sd or beside or said_so:
            cooks = dict.fromkeys(each.cook for each in lessons.lessons if each.cook in rests)
            found.append(HandBelief(by, kind, bias.mean, bias.sd, tuple(cooks), beside, said_so))
    return found


def _apart(size_k: float) -> str:
    return difference(size_k, format_difference(size_k, "F").lstrip("+"))
