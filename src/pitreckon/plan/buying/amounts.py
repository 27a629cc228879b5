"""How many pieces of what weight of each item: as the wishes say, else from the guests."""

from dataclasses import dataclass

from pitreckon.errors import InputError, Place
from pitreckon.plan.buying.quantities import ITEM_PIECES, quantities
from pitreckon.plan.wishes import Wishes


@dataclass(frozen=True, slots=True)
class Amount:
    """pieces: how many; mass_kg: [kg] of one as it goes on."""

    pieces: int
    mass_kg: float


def amounts_of(wishes: Wishes) -> tuple[Amount, ...]:
    """Pieces and weight of each item, in the order of the wishes.

    Raises InputError: an item would need more pieces than one item of a cook can have.
    """
    reckoned = quantities(wishes)
    for item in reckoned.items:
        if item.pieces > ITEM_PIECES:
            raise InputError(
                f"{item.pieces} pieces of '{item.label}' are needed, and an item has {ITEM_PIECES} at the most",
                "Split it into several items",
                Place(field="pieces"),
            )
    return tuple(Amount(item.pieces, item.piece.on_kg) for item in reckoned.items)
