"""What to buy: only what follows from numbers."""

import math
from dataclasses import dataclass

from pitreckon import catalog
from pitreckon.catalog import Cut, Shape
from pitreckon.catalog.buying import BeforeFire, before_fire, buying
from pitreckon.catalog.shapes import Ball, Bird, Drum
from pitreckon.cook import StagePlan
from pitreckon.plan.buying.quantities import ItemQuantity, Quantities
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.reckon.around import GLAZE_KG_M2
from pitreckon.units import format_mass, format_percent

GROUPS = ("meat", "rub", "wraps", "glaze")
USUAL_WRAP = "foil"


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """One thing to buy.

    group: meat | rub | wraps | glaze; what: in plain words; why: what it is for and how it was reckoned
    amount, unit: kg of a weight, m of a length, pieces of a number
    pieces: of meat; low_kg, high_kg: [kg] of one piece, what to ask the butcher for; None: not meat
    price: in the currency of the list; None: not known
    """

    group: str
    what: str
    amount: float
    unit: str
    why: str
    pieces: int | None = None
    low_kg: float | None = None
    high_kg: float | None = None
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Shopping:
    """lines: what to buy, by group; price: of all meat whose price is known, in the currency; unpriced: the others."""

    lines: tuple[ShoppingLine, ...]
    currency: str
    price: float | None
    unpriced: tuple[str, ...]

    def of(self, group: str) -> tuple[ShoppingLine, ...]:
        """The lines of one group."""
        return tuple(line for line in self.lines if line.group == group)


def shopping(wishes: Wishes, amounts: Quantities) -> Shopping:
    """The shopping list of a plan.

    Raises InputError: an unknown cut or wrap.
    """
    kitchen = before_fire()
    meat, sheets, coats = [], dict[str, float](), list[ShoppingLine]()
    salt_kg = rub_kg = 0.0
    wrapped: dict[str, list[str]] = {}
    for item in wishes.items:
        cut, much = catalog.cut(item.cut), amounts.item(item.label)
        meat.append(_meat(item, cut, much, wishes))
        dose = kitchen.salt_g_per_kg.value if item.salt_g_per_kg is None else item.salt_g_per_kg
        salt_kg += much.on_kg * dose / 1000.0
        rub_kg += much.on_kg * kitchen.rub_g_per_kg.value / 1000.0
        for wrap in wraps_of(item, cut):
            named = catalog.wrap(wrap)
            if named.key in {"foil", "paper"}:
                sheets[named.key] = sheets.get(named.key, 0.0) + much.pieces * sheet_m(cut, much.piece.on_kg, kitchen)
            elif named.key == "tray":
                sheets[named.key] = sheets.get(named.key, 0.0) + much.pieces
            else:
                continue
            wrapped.setdefault(named.key, []).append(item.label)
        coat = _glaze(item, cut, much)
        if coat is not None:
            coats.append(coat)
    lines = [*meat, *_rub(salt_kg, rub_kg, kitchen)]
    for key, amount in sheets.items():
        unit = "pieces" if key == "tray" else "m"
        why = f"for {', '.join(dict.fromkeys(wrapped[key]))}"
        if unit == "m":
            why += (
                f"; {kitchen.layers.value:.0f} sheets on another from a roll of {kitchen.roll_m.value * 100:.0f} cm, "
                f"with {kitchen.fold_m.value * 100:.0f} cm for the folds (common practice, no source)"
            )
        lines.append(ShoppingLine("wraps", catalog.wrap(key).name.partition(",")[0], amount, unit, why))
    return Shopping((*lines, *coats), amounts.currency, amounts.price, amounts.unpriced)


def wraps_of(item: ItemWish, cut: Cut) -> tuple[str, ...]:
    """Catalog keys of the wraps that may be needed for one piece of an item, one for each wrapping."""
    if item.stages:
        return tuple(stage.wrap for stage in item.stages if stage.kind == "wrapped" and stage.wrap)
    own = tuple(stage.wrap for stage in cut.course if stage.do == "wrapped")
    if item.wrapping == "without":
        return ()
    if item.wrapping in {"with", "either"}:
        return (item.wrap,) if item.wrap else own or (USUAL_WRAP,)
    return own


def lengths_m(shape: Shape, scale: float) -> tuple[float, float, float]:
    """Thickness, width and length of the smallest box round a piece [m], each times scale."""
    if isinstance(shape, Ball):
        sides = (shape.diameter_m.value,) * 3
    elif isinstance(shape, Drum):
        sides = (shape.height_m.value, shape.diameter_m.value, shape.diameter_m.value)
    elif isinstance(shape, Bird):
        sides = (shape.diameter_m.value, shape.diameter_m.value, shape.length_m.value)
    else:
        sides = (shape.thickness_m.value, shape.width_m.value, shape.length_m.value)
    low, middle, high = sorted(side * scale for side in sides)
    return low, middle, high


def whole_m(cut: Cut, mass_kg: float) -> tuple[float, float, float]:
    """Thickness, width and length of a whole piece [m], with its thin ends where the cut's file tells of them."""
    scale = cut.scale(mass_kg)
    thick, wide, long = lengths_m(cut.shape, scale)
    if cut.lies is not None:
        wide, long = sorted((cut.lies.width_m.value * scale, cut.lies.length_m.value * scale))
    return thick, wide, long


def sheet_m(cut: Cut, mass_kg: float, kitchen: BeforeFire) -> float:
    """Foil or paper that one piece takes [m]: round its girth and folded, as often as the roll is too narrow."""
    thick, wide, long = whole_m(cut, mass_kg)
    girth = 2.0 * (thick + wide) + kitchen.fold_m.value
    side_by_side = math.ceil((long + thick) / kitchen.roll_m.value)
    return girth * side_by_side * kitchen.layers.value


def _meat(item: ItemWish, cut: Cut, much: ItemQuantity, wishes: Wishes) -> ShoppingLine:
    why = f"{item.label}: {format_percent(much.edible_share)} of it ends on the plates"
    guests = wishes.guests
    if guests is not None and much.enough is not None:
        sure = format_percent(min(much.enough, 0.99))
        more = " or more" if much.enough > 0.99 else ""
        why += f"; {sure}{more} sure that nobody of {guests.count} goes short of it"
        if guests.leftovers:
            why += f", with {format_percent(guests.leftovers)} meant to be over"
    what = f"{cut.name}: {buying(cut.key).ask_for}" if buying(cut.key).key == cut.key else cut.name
    piece = much.piece
    if item.trimmed:
        what += ", trimmed"
    return ShoppingLine(
        *("meat", what, much.bought_kg, "kg", why),
        *(much.pieces, piece.low_kg, piece.high_kg, much.price),
    )


def _rub(salt_kg: float, rub_kg: float, kitchen: BeforeFire) -> list[ShoppingLine]:
    per_kg = f"{kitchen.rub_g_per_kg.value:g} g for each kilogram of meat (common practice, no source)"
    lines = [
        ShoppingLine("rub", "Salt", salt_kg, "kg", "as each item says, else by the usual dose for a kilogram of meat"),
        ShoppingLine("rub", "The rest of the rub", rub_kg, "kg", per_kg),
    ]
    return [line for line in lines if line.amount > 0]


def _glaze(item: ItemWish, cut: Cut, much: ItemQuantity) -> ShoppingLine | None:
    given = [stage for stage in item.stages if stage.kind == "sauced"]
    if item.stages and not given:
        return None
    if not item.stages and not any(stage.do == "sauced" for stage in cut.course):
        return None
    one_kg = sum(_coat_kg(stage, cut, much.piece.on_kg) for stage in given) if given else _usual_coat_kg(cut, much)
    why = f"{item.label}: {format_mass(one_kg, 'kg')} brushed on each of {much.pieces}"
    return ShoppingLine("glaze", "Glaze", one_kg * much.pieces, "kg", why)


def _coat_kg(stage: StagePlan, cut: Cut, mass_kg: float) -> float:
    return GLAZE_KG_M2 * _upper_m2(cut, mass_kg) if stage.glaze_kg is None else stage.glaze_kg


def _usual_coat_kg(cut: Cut, much: ItemQuantity) -> float:
    return GLAZE_KG_M2 * _upper_m2(cut, much.piece.on_kg)


def _upper_m2(cut: Cut, mass_kg: float) -> float:
    _, wide, long = whole_m(cut, mass_kg)
    return wide * long * (math.pi / 4.0 if isinstance(cut.shape, Drum | Ball) else 1.0)
