"""How much to buy: from the guests back to pieces, with the chance that nobody goes short."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools, Floats
from pitreckon.catalog.buying import Portions, buying, portions
from pitreckon.errors import InputError, Place
from pitreckon.plan.buying.portions import DRAWS, eaten_kg, norm_kg, taste
from pitreckon.plan.buying.yields import Piece, Pieces, eaten_share, piece_of, trimmed
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.reckon.quantiles import LEVELS, Quantiles

MOST_PIECES: Final = 50_000
HALVINGS: Final = 40
"""Of the weight in all, until it is known better than to a piece of anything."""
ITEM_PIECES: Final = 500
"""An item of a cook takes no more, see ItemPlan."""


@dataclass(frozen=True, slots=True)
class Chance:
    """pieces: how many; enough: [-] chance that nobody goes short of this item with them."""

    pieces: int
    enough: float


@dataclass(frozen=True, slots=True)
class ItemQuantity:
    """How much of one item.

    label, cut: as in the wish; cut_name: what the trade calls it
    given: the cook said how many, so that only the chances are reckoned
    pieces: how many to buy and put on; piece: one of them
    bought_kg, on_kg: [kg] in all as bought, and as it goes on; mean
    edible_kg: [kg] cooked and without bone, its spread
    wanted_kg: [kg] what is eaten of it, its spread, without what is to be left over; None: no guests
    enough: [-] chance that nobody goes short of it; None: no guests
    chances: that for a piece fewer, for these and for a piece more; empty: no guests
    leftovers_kg: [kg] mean of what is over; None: no guests
    price: what it costs, in the currency of the whole; None: no price known
    edible_share: [-] of what is bought that is eaten, mean
    """

    label: str
    cut: str
    cut_name: str
    given: bool
    pieces: int
    piece: Piece
    bought_kg: float
    on_kg: float
    edible_kg: Quantiles
    wanted_kg: Quantiles | None
    enough: float | None
    chances: tuple[Chance, ...]
    leftovers_kg: float | None
    price: float | None
    edible_share: float


@dataclass(frozen=True, slots=True)
class Quantities:
    """How much of everything.

    items: in the order of the wishes; currency: of the prices
    edible_kg: [kg] of all items; wanted_kg: [kg] what all eat; leftovers_kg: [kg] mean; None: no guests
    norm_kg: [kg] what the portion norm alone says
    enough: [-] chance that no item runs out; enough_meat: [-] chance that there is meat enough in all, whoever has to
        take another kind; None: no guests
    price: of all items whose price is known; unpriced: labels of the others
    notes: what else there is to know, in plain sentences
    """

    items: tuple[ItemQuantity, ...]
    currency: str
    edible_kg: Quantiles
    wanted_kg: Quantiles | None
    norm_kg: float | None
    leftovers_kg: float | None
    enough: float | None
    enough_meat: float | None
    price: float | None
    unpriced: tuple[str, ...]
    notes: tuple[str, ...]

    def item(self, label: str) -> ItemQuantity:
        """The item of this label. Raises KeyError when there is none."""
        for each in self.items:
            if each.label == label:
                return each
        raise KeyError(label)


def quantities(
    wishes: Wishes,
    *,
    losses: Mapping[str, Sequence[float]] | None = None,
    sides: str | None = None,
    together: bool | None = None,
    norms: Portions | None = None,
    seed: int = 1,
    draws: int = DRAWS,
) -> Quantities:
    """How many pieces of each item, and how sure it is that nobody goes short.

    The number is the smallest with which the item lasts with the asked chance (``guests.sure``), what is to be left
    over included; the chances shown leave that out.

    wishes: whom to feed with what; an item that says how many keeps its number
    losses: by label, the water that each member of a run has lost [-], see ``yields.loss_of``; others: the catalog's
    sides: none | usual | many; other courses count as sides; None: as the guests have it
    together: be sure of the meat in all instead, parted by share, so that whoever finds no rack left takes pork;
        with several items that takes much less meat
    norms: how much people eat; by default the catalog's
    seed, draws: of the draws; the same ones give the same answer

    Raises InputError: an unknown cut, a loss for no item or out of range, fewer than 100 draws, more than 50000 pieces
    """
    if draws < 100:
        raise InputError(f"{draws} draws are too few for a chance", "Ask for 100 or more", Place(field="draws"))
    given = losses or {}
    labels = [item.label for item in wishes.items]
    for label in given:
        if label not in labels:
            raise InputError(f"there is no item '{label}' to lose anything", f"Use one of {', '.join(labels)}")
    people = norms or portions()
    if wishes.guests is not None:
        sides = wishes.guests.sides if sides is None else sides
        together = wishes.guests.together if together is None else together
    sides = sides or "usual"
    eaten = None if wishes.guests is None else eaten_kg(wishes.guests, people, sides, seed, draws)
    shares = sum(item.share for item in wishes.items)
    parts = [
        _Part(
            item, given.get(item.label), None if eaten is None else eaten * (item.share / shares), wishes, people, seed
        )
        for item in wishes.items
    ]
    if together and eaten is not None and wishes.guests is not None:
        counts = _together(parts, eaten * (1.0 + wishes.guests.leftovers), wishes.guests.sure)
    else:
        counts = [part.needed() if part.item.pieces is None else part.item.pieces for part in parts]
    items = tuple(part.answer(count) for part, count in zip(parts, counts, strict=True))
    edible = np.sum([part.edible(each.pieces) for part, each in zip(parts, items, strict=True)], axis=0)
    lasts = np.all([part.lasts(each.pieces) for part, each in zip(parts, items, strict=True)], axis=0)
    prices = [each.price for each in items if each.price is not None]
    return Quantities(
        items=items,
        currency=wishes.currency,
        edible_kg=_spread(edible),
        wanted_kg=None if eaten is None else _spread(eaten),
        norm_kg=None if wishes.guests is None else norm_kg(wishes.guests, people, sides),
        leftovers_kg=None if eaten is None else float(np.mean(np.maximum(edible - eaten, 0.0))),
        enough=None if eaten is None else float(np.mean(lasts)),
        enough_meat=None if eaten is None else float(np.mean(edible >= eaten)),
        price=sum(prices) if prices else None,
        unpriced=tuple(each.label for each in items if each.price is None),
        notes=tuple(_notes(items)),
    )


def _together(parts: list[_Part], wanted: Floats, sure: float) -> list[int]:
    """The fewest pieces, parted by share, with which the meat in all is enough with that chance."""
    open_shares = sum(part.item.share for part in parts if part.item.pieces is None)

    def counts(all_kg: float) -> list[int]:
        return [
            part.pieces_for(all_kg * part.item.share / open_shares) if part.item.pieces is None else part.item.pieces
            for part in parts
        ]

    def enough(all_kg: float) -> bool:
        edible = np.sum([part.edible(n) for part, n in zip(parts, counts(all_kg), strict=True)], axis=0)
        return float(np.mean(edible >= wanted)) >= sure

    if not open_shares:
        return counts(0.0)
    low, high = 0.0, float(np.mean(wanted))
    while not enough(high):
        low, high = high, 2.0 * high
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if enough(middle) else (middle, high)
    return counts(high)


class _Part:
    """One item in the drawing."""

    def __init__(
        self,
        item: ItemWish,
        loss: Sequence[float] | None,
        eaten: Floats | None,
        wishes: Wishes,
        norms: Portions,
        seed: int,
    ) -> None:
        self.item, self.wishes = item, wishes
        self.cut = catalog.cut(item.cut)
        buy = buying(self.cut.key)
        self.piece = piece_of(item, self.cut, buy)
        draws = DRAWS if eaten is None else eaten.size
        self._share = eaten_share(buy, item.label, loss, seed, draws) * trimmed(item, buy, seed, draws)
        self._pieces = Pieces(self.piece, item.label, seed, draws)
        self._wanted = (
            None if eaten is None else eaten * taste(item.label, norms, seed, draws, alone=len(wishes.items) == 1)
        )

    def edible(self, count: int) -> Floats:
        return np.asarray(self._pieces.on_kg(count) * self._share)

    def lasts(self, count: int, over: float = 0.0) -> Bools:
        edible = self.edible(count)
        return np.ones(edible.size, bool) if self._wanted is None else edible >= self._wanted * (1.0 + over)

    def pieces_for(self, edible_kg: float) -> int:
        """How many give that much to eat in the mean; at least one. Raises InputError where that is too many."""
        count = max(math.ceil(edible_kg / (self.piece.on_kg * float(np.mean(self._share)))), 1)
        if count > MOST_PIECES:
            raise self._too_many()
        return count

    def _too_many(self) -> InputError:
        return InputError(
            f"'{self.item.label}' would take more than {MOST_PIECES} pieces",
            "Take a larger piece, fewer guests, or be content with being less sure",
            Place(field="share"),
        )

    def needed(self) -> int:
        """The fewest with which this item lasts as surely as the cook wants."""
        guests = self.wishes.guests
        assert guests is not None

        def sure(count: int) -> bool:
            return float(np.mean(self.lasts(count, guests.leftovers))) >= guests.sure

        low, high = 0, 1
        while not sure(high):
            low, high = high, high * 2
            if high > 2 * MOST_PIECES:
                raise self._too_many()
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if sure(middle) else (middle, high)
        return high

    def answer(self, count: int) -> ItemQuantity:
        """What is said of that many pieces."""
        item, piece = self.item, self.piece
        edible = self.edible(count)
        wanted = self._wanted
        near = () if wanted is None else tuple(n for n in (count - 1, count, count + 1) if n > 0)
        bought_kg = count * piece.bought_kg
        return ItemQuantity(
            label=item.label,
            cut=self.cut.key,
            cut_name=self.cut.name,
            given=item.pieces is not None,
            pieces=count,
            piece=piece,
            bought_kg=bought_kg,
            on_kg=count * piece.on_kg,
            edible_kg=_spread(edible),
            wanted_kg=None if wanted is None else _spread(wanted),
            enough=None if wanted is None else float(np.mean(edible >= wanted)),
            chances=tuple(Chance(n, float(np.mean(self.lasts(n)))) for n in near),
            leftovers_kg=None if wanted is None else float(np.mean(np.maximum(edible - wanted, 0.0))),
            price=None if item.price_per_kg is None else bought_kg * item.price_per_kg,
            edible_share=float(np.mean(edible)) / bought_kg,
        )


def _spread(values: Floats) -> Quantiles:
    low, middle, high = np.quantile(values, LEVELS)
    return Quantiles(float(low), float(middle), float(high), 1.0)


def _notes(items: tuple[ItemQuantity, ...]) -> list[str]:
    return [
        f"{each.label}: {each.pieces} pieces are more than the {ITEM_PIECES} of one item; write it as several"
        for each in items
        if each.pieces > ITEM_PIECES
    ]
