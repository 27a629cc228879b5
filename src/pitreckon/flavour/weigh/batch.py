"""A mix as weights: every amount in kilograms, with its spoons beside it, and what is in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import reduce
from types import MappingProxyType

from pitreckon import catalog
from pitreckon.catalog.foods import NUTRIENTS, Food, Range, foods
from pitreckon.errors import InputError
from pitreckon.flavour.mix import Amount, Cover, Mix, MixLine
from pitreckon.flavour.taste.sweetness import capsaicinoids_ppm, kinds_of_sugar, salt_from_sodium_mg, sweetness_of
from pitreckon.flavour.weigh.bought import food_of_label
from pitreckon.units import format_mass, shown


def factor_for(mix: Mix, wanted: Cover) -> float:
    """How many batches are wanted for so much [-]: straight in the amount, whatever it is counted in.

    Raises InputError: the mix does not say what a batch covers in that measure.
    """
    for cover in mix.covers:
        if cover.what == wanted.what:
            return wanted.value / cover.value
    known = ", ".join(covers_words(cover) for cover in mix.covers)
    measure = {"weight": "a weight of meat", "area": "an area"}.get(wanted.what, f"'{wanted.what}'")
    says = f"it says: {known}" if known else "it says nothing"
    raise InputError(
        f"'{mix.name}' does not say what a batch covers as {measure}; {says}",
        'Write it in the mix file, as in covers = ["2 racks", "2.5 kg", "0.4 m2"], or ask for batches',
    )


def covers_words(cover: Cover) -> str:
    """What a batch covers, as a cook reads it."""
    if cover.what == "weight":
        return format_mass(cover.value, "kg")
    if cover.what == "area":
        return f"{cover.value:.3g} m2"
    return f"{cover.value:.3g} {cover.what if cover.value == 1.0 else cover.what + 's'}"


def surface_m2(cut: str, pieces: float = 1.0, mass_kg: float | None = None, *, brushed: bool = False) -> float:
    """Surface that a mix goes on [m2]: all the outer faces of so many pieces of a cut.

    cut: catalog key; mass_kg: of one piece [kg]; None: as the cut usually comes; brushed: the upper faces alone

    The area grows with the 2/3 power of the weight, as the model scales a piece.

    Raises InputError: no such cut.
    """
    from pitreckon.section import material  # noqa: PLC0415  the model is loaded only where a surface is asked for
    from pitreckon.section.shapes import UPPER  # noqa: PLC0415

    known = catalog.cuts()
    if cut not in known:
        raise InputError(f"{shown(cut)} is no cut that we know", "'pitreckon cuts' lists all")
    each = known[cut]
    section = material.section_of(each)
    faces = section.outer_area[section.outer_group == UPPER] if brushed else section.outer_area
    per_kg = float(faces.sum()) / material.raw_mass_of(each, section)
    usual = each.shape.mass_kg.value
    mass = usual if mass_kg is None else mass_kg
    return pieces * per_kg * mass / each.scale(mass)


@dataclass(frozen=True, slots=True)
class Portion:
    """So much of one food [kg]."""

    food: Food
    mass_kg: float


@dataclass(frozen=True, slots=True)
class Contents:
    """What an amount of a mix has in it; every range is in the unit of its name.

    nutrients: each of ``NUTRIENTS``, of the whole amount
    sweet_g: sweetness as grams of sucrose; capsaicin_mg: as pungent as so much capsaicin; acid_g, dry_g, added_g
    sugars: grams of each kind of sugar, the middle
    """

    mass_kg: float
    nutrients: Mapping[str, Range]
    sweet_g: Range
    capsaicin_mg: Range
    acid_g: Range
    dry_g: Range
    added_g: Range
    sugars: Mapping[str, float]

    @property
    def salt_g(self) -> Range:
        """All of its sodium as salt."""
        sodium = self.nutrients["sodium_mg"]
        return Range(salt_from_sodium_mg(sodium.low), salt_from_sodium_mg(sodium.high))

    def __add__(self, other: Contents) -> Contents:
        return Contents(
            self.mass_kg + other.mass_kg,
            MappingProxyType({name: each + other.nutrients[name] for name, each in self.nutrients.items()}),
            self.sweet_g + other.sweet_g,
            self.capsaicin_mg + other.capsaicin_mg,
            self.acid_g + other.acid_g,
            self.dry_g + other.dry_g,
            self.added_g + other.added_g,
            MappingProxyType({kind: grams + other.sugars[kind] for kind, grams in self.sugars.items()}),
        )


def contents_of(portion: Portion) -> Contents:
    """What is in so much of a food."""
    food, hundreds = portion.food, portion.mass_kg * 10.0
    dry = food.dry
    # As pungent per dry mass; a wet food is less hot than its table says by its water.
    ppm = Range(capsaicinoids_ppm(food.shu.low), capsaicinoids_ppm(food.shu.high))
    return Contents(
        portion.mass_kg,
        MappingProxyType({name: food.per_100g[name].times(hundreds) for name in NUTRIENTS}),
        sweetness_of(food).times(hundreds),
        ppm.times_range(dry).times(portion.mass_kg),
        food.acid.times(hundreds),
        dry.times(1000.0 * portion.mass_kg),
        food.added_g.times(hundreds),
        MappingProxyType({kind: grams * hundreds for kind, grams in kinds_of_sugar(food).items()}),
    )


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One line of a mix, weighed.

    volume_m3: the same by the spoon; None: it cannot be measured so
    portions: the foods in it, one unless it is a mix
    """

    line: MixLine
    name: str
    mass_kg: float
    volume_m3: float | None
    portions: tuple[Portion, ...]
    contents: Contents = field(compare=False)

    @property
    def cost(self) -> float | None:
        """What it costs, in the mix's currency; of a mix, what is in it; None: its price is not known."""
        if self.line.price_per_kg is not None:
            return self.line.price_per_kg * self.mass_kg
        if self.line.mix is None:
            return None
        inner = batch_of(self.line.mix)
        return None if inner.cost is None else inner.cost * self.mass_kg / inner.mass_kg

    def times(self, factor: float) -> Ingredient:
        """As much, so many times over."""
        portions = tuple(Portion(each.food, each.mass_kg * factor) for each in self.portions)
        volume = None if self.volume_m3 is None else self.volume_m3 * factor
        return Ingredient(self.line, self.name, self.mass_kg * factor, volume, portions, _sum(portions))


@dataclass(frozen=True, slots=True)
class Batch:
    """A mix, weighed. The volume is the sum of the spoonfuls: what is shaken together may take a little less."""

    mix: Mix
    ingredients: tuple[Ingredient, ...]

    @property
    def mass_kg(self) -> float:
        """Weight of the batch."""
        return sum(each.mass_kg for each in self.ingredients)

    @property
    def volume_m3(self) -> float | None:
        """By the spoon; None: one of its ingredients cannot be measured so."""
        volumes = [each.volume_m3 for each in self.ingredients if each.volume_m3 is not None]
        return sum(volumes) if len(volumes) == len(self.ingredients) else None

    @property
    def contents(self) -> Contents:
        """What is in it."""
        return reduce(Contents.__add__, (each.contents for each in self.ingredients))

    @property
    def portions(self) -> tuple[Portion, ...]:
        """Every food in it, those of the mixes in it included."""
        return tuple(portion for each in self.ingredients for portion in each.portions)

    @property
    def cost(self) -> float | None:
        """What it costs; None: a price is not known."""
        costs = [each.cost for each in self.ingredients if each.cost is not None]
        return sum(costs) if len(costs) == len(self.ingredients) else None

    def times(self, factor: float) -> Batch:
        """So many batches."""
        return Batch(self.mix, tuple(each.times(factor) for each in self.ingredients))

    def weighing(self, amount: Amount) -> float:
        """Weight of so much of this mix [kg]. Raises InputError: by the spoon, and it cannot be measured so."""
        if amount.kind == "weight":
            return amount.value
        volume = self.volume_m3
        if volume is None:
            raise InputError(
                f"nothing says what a spoonful of '{self.mix.name}' weighs", "Write its weight instead of spoons"
            )
        return amount.value * self.mass_kg / volume


def batch_of(mix: Mix) -> Batch:
    """A mix, weighed.

    Raises InputError: a spoonful of something that nobody knows the weight of.
    """
    return Batch(mix, tuple(_weighed(mix, line) for line in mix.lines))


def _weighed(mix: Mix, line: MixLine) -> Ingredient:
    amount = line.amount
    if amount.kind == "parts":
        if mix.part is None:
            raise InputError("amounts are in parts, and nothing says what a part is", 'Write part = "1 tbsp"')
        amount = mix.part.times(amount.value)
    if line.mix is not None:
        inner = batch_of(line.mix)
        whole = inner.times(inner.weighing(amount) / inner.mass_kg)
        return Ingredient(line, line.mix.name, whole.mass_kg, whole.volume_m3, whole.portions, whole.contents)
    food = food_of_label(mix.own(line.own)) if line.own is not None else foods()[line.food or ""]
    density = food.density_kg_m3
    if amount.kind == "spoons" and density is None:
        raise InputError(f"nothing says what a spoonful of '{food.name}' weighs", "Write its weight instead of spoons")
    mass = amount.value if amount.kind == "weight" else amount.value * (density or 0.0)
    portion = Portion(food, mass)
    return Ingredient(line, food.name, mass, mass / density if density else None, (portion,), contents_of(portion))


def _sum(portions: tuple[Portion, ...]) -> Contents:
    return reduce(Contents.__add__, (contents_of(each) for each in portions))
