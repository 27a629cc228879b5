"""The mixes of a recipe card: weighed for the meat that it is about, and the plate's label with all of them on it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from pitreckon import catalog
from pitreckon.catalog.buying import buying, portions
from pitreckon.catalog.meats import meats
from pitreckon.errors import InputError
from pitreckon.flavour.label import Label, label_of
from pitreckon.flavour.mix import Amount, Cover, Mix, MixLine, Plate
from pitreckon.flavour.weigh.batch import Batch, batch_of, factor_for, surface_m2
from pitreckon.units import round_half_up

STAYS: Final = {"rub": 1.0, "binder": 1.0, "glaze": 1.0, "sauce": 1.0, "wrap": 0.3, "spritz": 0.5, "brine": 0.05}
"""Share of a mix that is eaten where its file does not say: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Meal:
    """The meat that a card is about. cut: catalog key; word: for pieces, as ``rack``; mass_kg: of one, raw [kg]"""

    cut: str
    pieces: int
    mass_kg: float
    word: str = "piece"

    @property
    def raw_kg(self) -> float:
        """All of it [kg]."""
        return self.pieces * self.mass_kg


@dataclass(frozen=True, slots=True)
class Weighed:
    """A mix, weighed for a meal. by: what it was scaled by: weight | area | pieces; "": its file does not say, as is"""

    batch: Batch
    by: str


def weighed_for(mixes: Sequence[Mix], meal: Meal) -> tuple[Weighed, ...]:
    """Every mix scaled by the weight of the meat, else its surface, else the pieces, as its file says what it covers.

    Raises InputError: something in a mix has no weight by the spoon.
    """
    return tuple(_weighed(mix, meal) for mix in mixes)


def _weighed(mix: Mix, meal: Meal) -> Weighed:
    batch = batch_of(mix)
    said = {cover.what for cover in mix.covers}
    if "weight" in said:
        return Weighed(batch.times(factor_for(mix, Cover(meal.raw_kg, "weight"))), "weight")
    if "area" in said:
        area = surface_m2(meal.cut, meal.pieces, meal.mass_kg, brushed=mix.use in {"glaze", "sauce"})
        return Weighed(batch.times(factor_for(mix, Cover(area, "area"))), "area")
    for word in (meal.word, "piece"):
        if word in said:
            return Weighed(batch.times(factor_for(mix, Cover(float(meal.pieces), word))), "pieces")
    return Weighed(batch, "")


def serves_of(meal: Meal) -> int:
    """How many heads so much raw meat serves, by the catalog's yields and portions; 1 or more."""
    buy = buying(meal.cut)
    eaten = 1.0 - buy.not_eaten_share.value - buy.beyond_water_share.value - buy.water_share.value
    return max(int(round_half_up(meal.raw_kg * eaten / portions().adult_kg.value)), 1)


def plate_label(weighed: Sequence[Weighed], meal: Meal, serves: float, rules: str = "us") -> Label | None:
    """The label of a serving of the meat with all its mixes on it; None: no table has this meat, or there is no mix.

    Of each mix the share that is eaten, as its file says, else by its use. rules: whose allergens, ``us`` | ``eu``.

    Raises InputError: nobody to serve.
    """
    if serves <= 0.0:
        raise InputError("a card serves nobody", "Write how many it serves, 1 or more")
    meat = next((key for key, each in meats().items() if meal.cut in {key, *each.also}), None)
    if meat is None or not weighed:
        return None
    lines = tuple(_eaten(each.batch, f"mix {n}") for n, each in enumerate(weighed, 1))
    name = catalog.cut(meal.cut).name
    whole = Mix(name, "rub", lines, plate=Plate(meat, meal.raw_kg, serves))
    return label_of(batch_of(whole), rules)


def _eaten(batch: Batch, name: str) -> MixLine:
    """name: of its own within the plate, as two mixes may be called alike."""
    mix = batch.mix
    stays = mix.plate.stays if mix.plate is not None else STAYS[mix.use]
    return MixLine(Amount("weight", max(stays * batch.mass_kg, 1e-6)), mix=replace(mix, name=name))
