"""A batch for sale, reckoned: weights, order, jars, cost, date, and what its label says."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from pitreckon.catalog.foods import read_table
from pitreckon.errors import InputError
from pitreckon.flavour.declared import DeclaredLine, declared_of, missing_of
from pitreckon.flavour.label import allergens_of
from pitreckon.flavour.mix import DRY_USES, Mix
from pitreckon.flavour.sale.cost import Bought, Cost, cost_of
from pitreckon.flavour.sale.fill import FILLINGS, LOSSES, MARKETS, Fill, fill_of, jars_filled, mass_for
from pitreckon.flavour.sale.lots import BestBefore, Lot, best_before, check_lot_code, lot_code
from pitreckon.flavour.sale.net import net_words
from pitreckon.flavour.sale.order import order_of, particle_of
from pitreckon.flavour.sale.scale import UNITS, Weights, weights_of
from pitreckon.flavour.weigh.batch import Batch, Ingredient, batch_of
from pitreckon.forms.checks import fault, one_of, within
from pitreckon.units import format_percent

MOST_JARS: Final = 100_000
_MEASURED: Final = ("packed", "loose", "flakes", "rolled", "granulated", "table")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for.

    unit: in which the scale shows, one of ``UNITS``
    jars, fill_kg: so many of so much; market: one of ``MARKETS``; step_kg: of the scale
    loss: [-] None: as usual for what it is; spread: of a jar's weight [-]; most_kg: mixed at one time, None: all
    container: what an empty jar costs; margin: share of the price [-]; made: the day
    maker: name and place of business, for the label; lot: "": made of name and day
    nutrition: the labels also say what 100 g have, as in the EU and the UK
    """

    jars: int
    fill_kg: float
    made: date
    market: str = "us"
    step_kg: float = 0.001
    loss: float | None = None
    spread: float = FILLINGS["hand"]
    most_kg: float | None = None
    container: float = 0.0
    margin: float | None = None
    lot: str = ""
    unit: str = "g"
    maker: str = ""
    nutrition: bool = False

    def __post_init__(self) -> None:
        one_of("market", self.market, MARKETS)
        one_of("unit", self.unit, tuple(UNITS))
        within("jars", self.jars, 1, MOST_JARS)
        if len(self.maker) > 120 or not self.maker.isprintable():
            raise InputError("the maker is too long or not plain text", "Write name and place on one line")
        within("loss", self.loss, 0.0, 0.4, format_percent)
        if self.nutrition and self.market == "us":
            trouble = "nutrition facts of the United States have a form of their own, which is not made here"
            raise fault("nutrition", trouble, "Leave it out, or name the market eu or uk")


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that is weighed: a food, or a mix that is bought ready. names: all that it may be called"""

    name: str
    mass_kg: float
    particle: str
    price_per_kg: float | None
    pack_kg: float | None
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sale:
    """A batch for sale.

    batch: the mix as so much; jars: filled with 95, 50 and 5 in 100 chances; loss_usual: nobody said another
    ingredients: for the label, by weight, those of bought mixes not apart; allergenic: those that have an allergen
    bought_mixes: whose labels name the rest; declared: what 100 g have, by the rules of the EU and the UK; (): us
    """

    asked: Asked
    batch: Batch
    lot: str
    loss: float
    loss_usual: bool
    fill: Fill
    parts: tuple[Part, ...]
    weights: Weights
    order: tuple[str, ...]
    jars: tuple[int, int, int]
    cost: Cost
    lots: tuple[Lot, ...]
    date: BestBefore
    net: str
    ingredients: tuple[str, ...]
    bought_mixes: tuple[str, ...]
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    allergenic: frozenset[str]
    declared: tuple[DeclaredLine, ...]

    @property
    def mass_kg(self) -> float:
        """What is weighed in, as the scale shows it."""
        return self.weights.mass_kg


def names_of(mix: Mix) -> tuple[tuple[str, ...], ...]:
    """Of each thing that goes in all that it may be called."""
    return tuple(part.names for part in _parts(batch_of(mix)))


def sale_of(mix: Mix, asked: Asked, lots: Sequence[Lot] = ()) -> Sale:
    """Reckon a batch.

    Raises InputError: nothing can be filled so (fill, loss, scale, margin), or the mix cannot be weighed.
    """
    if mix.plate is not None or mix.use == "brine":
        what = "a brine" if mix.use == "brine" else "a mix with its plate of meat"
        raise InputError(f"{what} is not filled into jars", "Name a rub, binder, sauce, glaze, wrap or spritz")
    one = batch_of(mix)
    dry = mix.use in DRY_USES
    loss = LOSSES["dry" if dry else "wet"] if asked.loss is None else asked.loss
    fill = fill_of(asked.fill_kg, asked.market, asked.spread)
    wanted = mass_for(asked.jars, fill, loss)
    whole = one.times(wanted / one.mass_kg)
    parts = _parts(whole)
    weights = weights_of([(part.name, part.mass_kg) for part in parts], asked.step_kg, asked.most_kg)
    jars = tuple(jars_filled(weights.mass_kg, fill, loss, chance) for chance in (0.95, 0.5, 0.05))
    premixed = {each.of: each for each in weights.premixes}
    lies = [
        (premixed[part.name].name, weights.rounds * premixed[part.name].taken_kg, "fine" if dry else part.particle)
        if part.name in premixed
        else (part.name, part.mass_kg, part.particle)
        for part in parts
    ]
    rules = "us" if asked.market == "us" else "eu"
    contains, may_contain = allergens_of(whole, rules)
    needs = _needs(weights)
    bought = [Bought(part.name, needs[part.name], part.price_per_kg, part.pack_kg) for part in parts]
    return Sale(
        asked=asked,
        batch=whole,
        lot=check_lot_code(asked.lot or lot_code(mix.name, asked.made)),
        loss=loss,
        loss_usual=asked.loss is None,
        fill=fill,
        parts=parts,
        weights=weights,
        order=order_of(mix.use, lies, weights.premixes),
        jars=(jars[0], jars[1], jars[2]),
        cost=cost_of(bought, asked.jars, asked.container, asked.margin, mix.currency),
        lots=tuple(lots),
        date=best_before([part.name for part in parts], lots),
        net=net_words(asked.fill_kg, asked.market),
        ingredients=_by_weight(whole),
        bought_mixes=tuple(dict.fromkeys(_bought_mixes(mix))),
        contains=contains,
        may_contain=may_contain,
        allergenic=frozenset(_allergenic(whole, rules)),
        declared=_declared(whole, asked),
    )


def _declared(batch: Batch, asked: Asked) -> tuple[DeclaredLine, ...]:
    """Raises InputError: it is wanted on the label, and too little is known of it."""
    if asked.market == "us":
        return ()
    lines = declared_of(batch)
    missing = ", ".join(missing_of(lines))
    if asked.nutrition and missing:
        remedy = "Write what the labels of bought foods say into the mix file, or leave it out"
        raise fault("nutrition", f"too little is known of what is in 100 g: {missing}", remedy)
    return lines


def _needs(weights: Weights) -> dict[str, float]:
    """What is taken from the packs of each food [kg], what is left of a premix with it."""
    needs = {each.name: weights.rounds * each.shown_kg for each in weights.weighed}
    for each in weights.premixes:
        needs[each.of] = each.own_kg
        needs[each.carrier] += each.carrier_kg
    return needs


def _parts(batch: Batch) -> tuple[Part, ...]:
    """Everything that is weighed, each food once; a mix in the mix as what is in it, unless it has a price itself."""
    found: dict[str, Part] = {}
    for part in _leaves(batch):
        had = found.get(part.name)
        if had is not None:
            price = had.price_per_kg if had.price_per_kg is not None else part.price_per_kg
            pack = had.pack_kg if had.pack_kg is not None else part.pack_kg
            part = Part(part.name, had.mass_kg + part.mass_kg, part.particle, price, pack, part.names)  # noqa: PLW2901
        found[part.name] = part
    return tuple(found.values())


def _leaves(batch: Batch) -> list[Part]:
    out: list[Part] = []
    for each in batch.ingredients:
        inner = each.line.mix
        if inner is not None and each.line.price_per_kg is None:
            one = batch_of(inner)
            out += _leaves(one.times(each.mass_kg / one.mass_kg))
        else:
            out.append(_part(each))
    return out


def _part(each: Ingredient) -> Part:
    food = each.portions[0].food if each.line.mix is None else None
    particle = "" if food is None else particle_of(food)
    names = (each.name,) if food is None else tuple(dict.fromkeys((food.name, food.key, *food.also)))
    return Part(each.name, each.mass_kg, particle, each.line.price_per_kg, each.line.pack_kg, names)


def _by_weight(batch: Batch) -> tuple[str, ...]:
    """Foods by falling weight, each once (21 CFR 101.4, Regulation (EU) 1169/2011 article 18, from memory)."""
    masses: dict[str, float] = {}
    for portion in batch.portions:
        name = _label_name(portion.food.name)
        masses[name] = masses.get(name, 0.0) + portion.mass_kg
    return tuple(sorted((name for name, mass in masses.items() if mass > 0.0), key=lambda name: (-masses[name], name)))


def _allergenic(batch: Batch, rules: str) -> list[str]:
    named = {row["word"] for row in read_table("pitreckon.catalog", "foods/allergens.csv") if row[rules]}
    return [_label_name(each.food.name) for each in batch.portions if named & set(each.food.contains)]


def _label_name(name: str) -> str:
    """A food's name without how it is measured: ``Brown sugar, packed`` is brown sugar."""
    head, _, tail = name.rpartition(", ")
    return head if tail in _MEASURED else name


def _bought_mixes(mix: Mix) -> list[str]:
    out: list[str] = []
    for line in mix.lines:
        if line.own is not None:
            out.append(line.own)
        elif line.mix is not None:
            out += _bought_mixes(line.mix)
    return out
