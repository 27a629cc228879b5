"""In which order a mix is sieved and mixed, by amount and by how each food lies. Common practice, no source."""

from collections.abc import Sequence
from functools import cache
from typing import Final

from pitreckon.catalog.foods import Food, read_table
from pitreckon.flavour.mix import DRY_USES
from pitreckon.flavour.sale.scale import Premix
from pitreckon.text.said import joined, said

WET_SHARE: Final = 0.15
"""A food with more water than this is wet."""


@cache
def _particles() -> dict[str, str]:
    return {row["key"]: row["particle"] for row in read_table("pitreckon.flavour", "particles.csv")}


def particle_of(food: Food) -> str:
    """``coarse``, ``fine``, ``sticky`` or ``wet``; "": the data do not say."""
    known = _particles().get(food.key)
    if known is not None:
        return known
    return "wet" if food.dry.known and 1.0 - food.dry.low > WET_SHARE else ""


def order_of(use: str, foods: Sequence[tuple[str, float, str]], premixes: Sequence[Premix]) -> tuple[str, ...]:
    """What to do, step by step. foods: what each is called when weighed, its weight [kg] and its particle"""
    by_amount = sorted(foods, key=lambda each: (each[1], each[0]))
    of = {kind: [name for name, _, its in by_amount if its == kind] for kind in ("coarse", "fine", "sticky", "wet", "")}
    steps = [
        said(
            "Premix: {own} into {carrier}, a little at a time, until the colour is even; sieve it twice.",
            own=each.of,
            carrier=each.carrier,
        )
        for each in premixes
    ]
    if use in DRY_USES and not of["wet"]:
        steps += _dry(of)
    else:
        steps += _wet(of)
    if of[""]:
        steps.append(said("How {names} lies is not in the data: sieve it if it has lumps.", names=_list(of[""])))
    return tuple(steps)


def _dry(of: dict[str, list[str]]) -> list[str]:
    steps = []
    if of["sticky"]:
        steps.append(said("Rub through a coarse sieve, no lumps: {names}.", names=_list(of["sticky"])))
    if of["fine"]:
        steps.append(said("Through a fine sieve: {names}.", names=_list(of["fine"])))
    small = of["fine"] + of[""]
    if len(small) > 1:
        steps.append(
            said(
                "Mix the smallest first, each time about as much again: {names}.",
                names=_list(small),
            )
        )
    if of["sticky"]:
        steps.append(said("Then what cakes, in three parts: {names}.", names=_list(of["sticky"])))
    if of["coarse"]:
        steps.append(said("Last what is coarse, and mix no longer than it takes: {names}.", names=_list(of["coarse"])))
    steps.append(said("Look at a spoonful from top, middle and bottom; fill at once: it parts on standing."))
    return steps


def _wet(of: dict[str, list[str]]) -> list[str]:
    dry = of["fine"] + of["sticky"] + of["coarse"]
    steps = []
    if of["wet"]:
        steps.append(said("Begin with the largest of the wet: {names}.", names=_list(of["wet"][::-1])))
    if dry:
        steps.append(said("Sieve and whisk in by amount, the smallest first: {names}.", names=_list(dry)))
    steps.append(said("Stir from the bottom, and on while it is filled: it settles."))
    return steps


def _list(names: Sequence[str]) -> str:
    return joined("; ", names)
