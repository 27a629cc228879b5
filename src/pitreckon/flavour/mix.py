"""What a mix file says: a rub, a sauce or the like as the cook writes it, in weights, spoons or parts.

As in ``cook.py``, records check themselves. What the amounts come to is reckoned by ``pitreckon.flavour``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pitreckon.forms.checks import fault, is_label, kilograms, no_twins, number, one_of, price, within
from pitreckon.units import format_percent

MIX_USES: Final = ("rub", "binder", "wrap", "spritz", "sauce", "glaze", "brine")
DRY_USES: Final = ("rub",)
"""What goes on the meat by its amount, so that its weight may change; of the others the strength counts."""
MIX_BODIES: Final = ("thin", "syrup", "thick")
"""Runs like vinegar, runs like honey, or stands like ketchup, when hot."""
AMOUNT_KINDS: Final = ("weight", "spoons", "parts")
LABEL_GRAMS: Final = ("fat_g", "satfat_g", "carb_g", "fiber_g", "sugars_g", "added_g", "protein_g")
LABEL_MILLIGRAMS: Final = ("cholesterol_mg", "sodium_mg")


def _litres(volume_m3: float) -> str:
    """A volume as it can be typed; spoons of it are rounded."""
    return f"{number(1e3 * volume_m3)} l" if volume_m3 >= 1e-3 else f"{number(1e6 * volume_m3)} ml"


def _scoville(shu: float) -> str:
    return f"{number(shu)} SHU"


def _covered(value: float, what: str) -> str:
    return kilograms(value) if what == "weight" else f"{number(value)} {'m2' if what == 'area' else what}"


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of something, as written.

    kind: weight | spoons | parts; value: [kg], [m3] or [-] parts; above 0
    """

    kind: str
    value: float

    def __post_init__(self) -> None:
        one_of("amount", self.kind, AMOUNT_KINDS)
        if self.kind == "weight":
            within("amount", self.value, 1e-6, 1000.0, kilograms)
        elif self.kind == "spoons":
            within("amount", self.value, 1e-8, 1.0, _litres)
        else:
            within("amount", self.value, 1e-4, 10_000.0)

    def times(self, factor: float) -> Amount:
        """As much, so many times over."""
        return Amount(self.kind, self.value * factor)


@dataclass(frozen=True, slots=True)
class OwnFood:
    """A food of the cook's own or a bought mix, by its label: what one serving has.

    name: what the cook calls it; serving_kg: weight of one serving [kg], 0.1 g to 1 kg
    serving_m3: [m3] the same by the spoon; None: it cannot be measured so
    energy_kcal, fat_g ... sodium_mg: as the label gives them, rounded; None: it does not say
    water_g: of a serving; None: from the rest
    shu: Scoville heat units by dry mass, smallest and largest; None: not known
    acid: share of acid [-], smallest and largest; None: not known
    contains: allergens; added: do all of its sugars count as added where the label does not say
    measured: the numbers are as measured (a laboratory, a table), not rounded for a label
    """

    name: str
    serving_kg: float
    serving_m3: float | None = None
    energy_kcal: float | None = None
    fat_g: float | None = None
    satfat_g: float | None = None
    carb_g: float | None = None
    fiber_g: float | None = None
    sugars_g: float | None = None
    added_g: float | None = None
    protein_g: float | None = None
    cholesterol_mg: float | None = None
    sodium_mg: float | None = None
    water_g: float | None = None
    shu: tuple[float, float] | None = None
    acid: tuple[float, float] | None = None
    contains: tuple[str, ...] = ()
    added: bool = True
    measured: bool = False

    def __post_init__(self) -> None:
        is_label("name", self.name)
        within("serving_weight", self.serving_kg, 1e-4, 1.0, kilograms)
        serving_g = 1000.0 * self.serving_kg
        within("calories", self.energy_kcal, 0.0, 9.5 * serving_g + 5.0)
        for name in (*LABEL_GRAMS, "water_g"):  # a label's rounding may give a gram that is not there
            within(LABEL_KEYS[name], getattr(self, name), 0.0, serving_g + 1.0, "{:g} g".format)
        for name in LABEL_MILLIGRAMS:
            within(LABEL_KEYS[name], getattr(self, name), 0.0, 1000.0 * serving_g, "{:g} mg".format)
        for parts, whole in (("satfat_g", "fat_g"), ("sugars_g", "carb_g"), ("fiber_g", "carb_g")):
            part, all_of_it = getattr(self, parts), getattr(self, whole)
            if part is not None and all_of_it is not None and part > all_of_it + 1.0:
                trouble = f"{LABEL_KEYS[parts]} is {part:g} g, more than the {all_of_it:g} g of {LABEL_KEYS[whole]}"
                raise fault(LABEL_KEYS[parts], trouble, "Write both as on the label: it is a part of that")
        if self.shu is not None:
            within("pungency", self.shu[0], 0.0, 16e6, _scoville)
            within("pungency", self.shu[1], self.shu[0], 16e6, _scoville)
        if self.acid is not None:
            within("acid", self.acid[0], 0.0, 1.0, format_percent)
            within("acid", self.acid[1], self.acid[0], 1.0, format_percent)


LABEL_KEYS: Final = {
    "energy_kcal": "calories",
    "fat_g": "fat",
    "satfat_g": "saturated_fat",
    "carb_g": "carbohydrate",
    "fiber_g": "fibre",
    "sugars_g": "sugars",
    "added_g": "added_sugars",
    "protein_g": "protein",
    "cholesterol_mg": "cholesterol",
    "sodium_mg": "sodium",
    "water_g": "water",
}
"""How a mix file calls what a label gives."""


@dataclass(frozen=True, slots=True)
class MixLine:
    """One ingredient: a food of the catalog by key, one of the cook's own by name, or a mix; exactly one of them.

    amount: how much; price_per_kg: in the mix's currency; None: not known
    pack_kg: it is bought in whole packs of so much; None: by weight
    """

    amount: Amount
    food: str | None = None
    own: str | None = None
    mix: Mix | None = None
    price_per_kg: float | None = None
    pack_kg: float | None = None

    def __post_init__(self) -> None:
        if sum(each is not None for each in (self.food, self.own, self.mix)) != 1:
            raise fault("food", "an ingredient is one food or one mix", "Write food = or mix =, not both")
        within("price", self.price_per_kg, 0.0, 100_000.0, price)
        within("pack", self.pack_kg, 0.001, 1000.0, kilograms)

    @property
    def label(self) -> str:
        """Key of the food or name of the mix."""
        return self.food or self.own or (self.mix.name if self.mix else "")


@dataclass(frozen=True, slots=True)
class Cover:
    """What one batch is for. what: ``weight`` [kg], ``area`` [m2], or a word for pieces, as ``racks``."""

    value: float
    what: str

    def __post_init__(self) -> None:
        is_label("covers", self.what)
        within("covers", self.value, 1e-6, 1e6, lambda value: _covered(value, self.what))


@dataclass(frozen=True, slots=True)
class Plate:
    """The meat that a batch is served with, for its label.

    meat: words of a meat of the table, cooked; raw_kg: [kg] as bought; serves: how many servings it makes
    yield_share: [-] cooked weight over bought weight, bone in; None: from the tables
    stays: [-] share of the mix that is eaten, 0 to 1
    """

    meat: str
    raw_kg: float
    serves: float
    yield_share: float | None = None
    stays: float = 1.0

    def __post_init__(self) -> None:
        within("raw", self.raw_kg, 0.01, 1000.0, kilograms)
        within("serves", self.serves, 0.1, 10_000.0)
        within("yield", self.yield_share, 0.05, 1.0, format_percent)
        within("stays", self.stays, 0.0, 1.0, format_percent)


@dataclass(frozen=True, slots=True)
class Mix:
    """A mix as written.

    name: what the cook calls it; use: one of ``MIX_USES``
    part: what one part is, a weight or spoons; None: no amount is in parts
    covers: what one batch is for; foods: the cook's own
    serving: size of a serving; None: its reference amount
    plate: the meat it is served with; body: one of ``MIX_BODIES``; None: by what is in it; currency: of its prices
    """

    name: str
    use: str
    lines: tuple[MixLine, ...]
    part: Amount | None = None
    covers: tuple[Cover, ...] = ()
    foods: tuple[OwnFood, ...] = ()
    serving: Amount | None = None
    plate: Plate | None = None
    body: str | None = None
    currency: str = "USD"

    def __post_init__(self) -> None:
        is_label("name", self.name)
        one_of("use", self.use, MIX_USES)
        if self.body is not None:
            one_of("body", self.body, MIX_BODIES)
        if not self.lines:
            raise fault("ingredient", "the mix has no ingredients", "Add an [[ingredient]] with a food and an amount")
        in_parts = any(line.amount.kind == "parts" for line in self.lines)
        if in_parts and self.part is None:
            raise fault(
                "part", "amounts are in parts, and nothing says what a part is", 'Write part = "1 tbsp" or "10 g"'
            )
        if self.part is not None and self.part.kind == "parts":
            raise fault("part", "a part cannot be in parts", 'Write part = "1 tbsp" or part = "10 g"')
        no_twins("food", [food.name for food in self.foods])
        labels = [line.label.casefold() for line in self.lines]
        for n, label in enumerate(labels):
            if label in labels[:n]:
                trouble = f"'{label}' is in the mix twice"
                raise fault("food", trouble, "Write it once, with the whole amount", ("ingredient", n))
        seen: set[str] = set()
        for cover in self.covers:
            if cover.what in seen:
                raise fault("covers", f"covers gives {cover.what} twice", "Write it once")
            seen.add(cover.what)
        if self.serving is not None and self.serving.kind == "parts":
            raise fault("serving", "a serving cannot be in parts", 'Write serving = "2 tbsp" or serving = "30 g"')

    def own(self, name: str) -> OwnFood:
        """The cook's own food of this name. Raises KeyError when there is none."""
        for each in self.foods:
            if each.name == name:
                return each
        raise KeyError(name)
