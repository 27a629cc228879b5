"""Mixes of our own for the tests of flavour, made from weights."""

from __future__ import annotations

from pitreckon.flavour.mix import Amount, Cover, Mix, MixLine, OwnFood
from pitreckon.flavour.weigh.batch import Batch, batch_of

HAND_RUB = {"brown-sugar": 100.0, "salt": 60.0, "paprika": 40.0, "cayenne": 10.0}
"""Grams; its sums are worked out by hand in the tests."""


def mix(
    grams: dict[str, float], use: str = "rub", *, covers: tuple[Cover, ...] = (), own: tuple[OwnFood, ...] = ()
) -> Mix:
    """A mix of foods by weight; a name among ``own`` is that food."""
    names = {each.name for each in own}
    lines = tuple(
        MixLine(Amount("weight", value / 1000.0), own=name) if name in names
        else MixLine(Amount("weight", value / 1000.0), food=name)
        for name, value in grams.items()
    )  # fmt: skip
    return Mix("trial", use, lines, covers=covers, foods=own)


def batch(grams: dict[str, float], use: str = "rub", *, covers: tuple[Cover, ...] = ()) -> Batch:
    """The same, weighed."""
    return batch_of(mix(grams, use, covers=covers))
