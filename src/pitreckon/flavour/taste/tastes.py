"""What a mix tastes of, as numbers with their ranges: sweet, salt, hot, sour."""

from dataclasses import dataclass
from typing import Final

from pitreckon.catalog.foods import Range
from pitreckon.flavour.taste.sweetness import SHU_PER_PPM
from pitreckon.flavour.weigh.batch import Batch, Contents

TASTES: Final = ("sweet", "salt", "hot", "sour")


@dataclass(frozen=True, slots=True)
class Taste:
    """One taste of a mix.

    name: one of ``TASTES``; unit: of its values; value: smallest and largest
    not_known: foods of the mix for which the tables say nothing of it; the value is then a least one
    """

    name: str
    unit: str
    value: Range
    not_known: tuple[str, ...] = ()


def tastes_of(batch: Batch) -> tuple[Taste, ...]:
    """Each taste of a mix as it is.

    sweet: grams of sucrose in 100 g that would be as sweet; salt: all of its sodium as salt, g in 100 g;
    hot: Scoville heat units of the mix as it is, its water included; sour: grams of acid in 100 g.
    """
    return tuple(
        Taste(name, unit, _per(batch, name), _not_known(batch, name))
        for name, unit in zip(TASTES, ("g sugar/100 g", "g/100 g", "SHU", "g acid/100 g"), strict=True)
    )


def amount_of(contents: Contents, name: str) -> Range:
    """How much of a taste is in an amount: g of sucrose, g of salt, mg of capsaicin, g of acid."""
    return {
        "sweet": contents.sweet_g,
        "salt": contents.salt_g,
        "hot": contents.capsaicin_mg,
        "sour": contents.acid_g,
    }[name]


def scoville_by_dry_mass(batch: Batch) -> Range:
    """Scoville heat units of a mix by its dry mass, as pungency is published.

    A mix lies between the mildest and the hottest of what is in it.
    """
    contents = batch.contents
    shu = [portion.food.shu for portion in batch.portions if portion.mass_kg > 0.0]
    dry, hot = contents.dry_g, contents.capsaicin_mg
    if dry.high <= 0.0:
        return Range(0.0, 0.0)
    low = SHU_PER_PPM * 1000.0 * hot.low / dry.high
    high = SHU_PER_PPM * 1000.0 * hot.high / dry.low if dry.low > 0.0 else float("inf")
    return Range(max(low, min(each.low for each in shu)), min(high, max(each.high for each in shu)))


def _per(batch: Batch, name: str) -> Range:
    value = amount_of(_of_the_known(batch, name), name)
    return value.times((SHU_PER_PPM if name == "hot" else 0.1) / batch.mass_kg)


def _of_the_known(batch: Batch, name: str) -> Contents:
    """What is in the foods of which a taste is known; all of them where it is known of none."""
    known = [each for each in batch.ingredients if amount_of(each.contents, name).known]
    return Batch(batch.mix, tuple(known)).contents if known else batch.contents


def _not_known(batch: Batch, name: str) -> tuple[str, ...]:
    return tuple(each.name for each in batch.ingredients if not amount_of(each.contents, name).known)
