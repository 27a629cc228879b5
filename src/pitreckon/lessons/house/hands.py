"""What a house has learned of those who look: whose eye is darker, whose finger finds meat more tender than most."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from pitreckon.lessons.house.said import NINE_IN_TEN
from pitreckon.reckon.hands import usual
from pitreckon.reckon.learned import Lessons
from pitreckon.text.said import said

STEP: Final = 0.25
"""From a word of a scale to the next, about: a swatch, or a word of feel."""
LITTLE: Final = 0.1
"""Part of a step that nobody sees."""
LEAST_TOLD: Final = 0.95
"""What is known no better than so many times the usual spread is not told as learned."""


@dataclass(frozen=True, slots=True)
class HandBelief:
    """What is known of a person's words on a scale. mean, sd: said less true, as levels; cooks: that it rests on

    beside: photos that taps were held against in them
    """

    by: str
    kind: str
    mean: float
    sd: float
    cooks: tuple[str, ...]
    beside: int = 0

    @property
    def words(self) -> str:
        """In words, without the person's name."""
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
        if bias.sd < LEAST_TOLD * usual(kind).sd:
            told = (each.cook for each in lessons.lessons if any((h.by, h.kind) == (by, kind) for h in each.hands))
            beside = sum(each.beside for _, each in of_hands.values() if (each.by, each.kind) == (by, kind))
            found.append(HandBelief(by, kind, bias.mean, bias.sd, tuple(dict.fromkeys(told)), beside))
    return found
